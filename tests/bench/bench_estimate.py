"""Timings of the estimate, the sawing plan apart: medians of 20 runs against their targets, and the ratio to a mesh."""

import math
import statistics
import time
from collections.abc import Callable
from typing import Any
from unittest.mock import patch

from estimating import estimate as pipeline
from estimating.answer import as_json
from estimating.picture.drawing import draw_piece
from estimating.picture.subject import subjects_of
from estimating.piece import Sheet
from estimating.sheet import read_sheet

RUNS = 20
STRAIGHT = [[0, 60], [90, 100], [200, 80], [300, 110]]


def piece(*, layers: int = 60, segments: int = 24, smooth_wall: bool = False) -> dict[str, Any]:
    """A vase of cut layers in two woods, each half a segment on; the stack fits it exactly."""
    height = 300.0
    form: dict[str, Any] = {"outer": STRAIGHT, "curve": "straight"}
    form["inside"] = {"kind": "curve", "inner": [[10, 50], [90, 90], [200, 70], [300, 100]]}
    if smooth_wall:
        form |= {"curve": "smooth", "inside": {"kind": "wall", "wall": 7, "floor": 10}}
    band = {"layers": layers, "thickness": height / layers, "segments": segments, "offset": 0.5}
    return {
        "title": "Vase",
        "unit": "mm",
        "form": form,
        "allowance": {"outside": 3, "inside": 3},
        "bands": [{**band, "woods": ["maple", "walnut"]}],
    }


def median_ms(work: Callable[[], object]) -> float:
    """Median processor time of 20 runs after one to warm up, ms: other jobs on the machine do not count."""
    work()
    times = []
    for _ in range(RUNS):
        start = time.process_time()
        work()
        times.append(time.process_time() - start)
    return 1000 * statistics.median(times)


def estimate_ms(data: dict[str, Any]) -> float:
    """The estimate of a sheet that is read, its sawing plan made beforehand."""
    sheet = read_sheet(data)
    plan = pipeline.estimate(sheet).cutting
    with patch.object(pipeline, "plan_all", lambda **_: plan):
        return median_ms(lambda: pipeline.estimate(sheet))


def whole_ms(data: dict[str, Any]) -> float:
    """Reading the sheet, the estimate and its JSON form, the sawing plan made beforehand."""
    plan = pipeline.estimate(read_sheet(data)).cutting
    with patch.object(pipeline, "plan_all", lambda **_: plan):
        return median_ms(lambda: as_json(pipeline.estimate(read_sheet(data))))


def mesh_ms(data: dict[str, Any]) -> float:
    """The volumes of the same piece by solids: the revolved form cut with every segment's prism, once, no median."""
    import numpy as np
    import trimesh
    from shapely.geometry import Polygon

    sheet: Sheet = read_sheet(data)
    (shape,) = pipeline.estimate(sheet).shapes
    inner = [
        (0.0, sheet.parts[0].form.inside.inner[0][0]),
        *((r, h) for h, r in sheet.parts[0].form.inside.inner),
    ]
    outer = [(0.0, 0.0), *((r, h) for h, r in sheet.parts[0].form.outer)]
    profile = np.array([*outer, *inner[::-1]])

    def cut() -> float:
        form = trimesh.creation.revolve(profile, sections=96)
        volume = 0.0
        for layer, ring_index in enumerate(shape.ring_of):
            ring = shape.rings[ring_index]
            outside, inside = ring.corner_radius, ring.inner_radius
            for segment in range(ring.segments):
                middle = float(shape.stack.angle[layer]) + segment * 2 * math.pi / ring.segments
                angles = (middle - ring.miter, middle + ring.miter)
                corners = [(outside * math.cos(a), outside * math.sin(a)) for a in angles]
                corners += [(inside * math.cos(a), inside * math.sin(a)) for a in reversed(angles)]
                prism = trimesh.creation.extrude_polygon(
                    Polygon(corners).buffer(0), float(shape.stack.thickness[layer])
                )
                prism.apply_translation([0, 0, float(shape.stack.bottom[layer])])
                volume += trimesh.boolean.intersection([form, prism], engine="manifold").volume
        return volume

    start = time.process_time()
    cut()
    return 1000 * (time.process_time() - start)


def draw_ms(data: dict[str, Any]) -> float:
    """The working drawing of the piece."""
    found = pipeline.estimate(read_sheet(data))
    colours = {key: wood.colour for key, wood in found.workshop.woods.items()}
    return median_ms(
        lambda: draw_piece(subjects=subjects_of(found.shapes, colours=colours, shop=found.sheet.shop))
    )


def line(what: str, value: float, target: str, *, good: bool) -> None:
    print(f"{what:<66} {value:>9.2f}  {target:<8} {'met' if good else 'MISSED'}")


def main() -> None:
    """Print each timing with its target."""
    print(f"Estimate, sawing plan apart: median of {RUNS}, ms of processor time")
    plain = estimate_ms(piece())
    line("60 layers x 24 segments, two woods, ms", plain, "< 10", good=plain < 10)
    smooth = estimate_ms(piece(smooth_wall=True))
    line("the same with a smooth curve and a wall, ms", smooth, "< 15", good=smooth < 15)
    ratio = estimate_ms(piece(segments=240)) / plain
    line("240 segments a layer to 24, times", ratio, "<= 1.5", good=ratio <= 1.5)
    ratio = estimate_ms(piece(layers=600)) / plain
    line("600 layers to 60, times", ratio, "<= 12", good=ratio <= 12)
    ratio = mesh_ms(piece()) / plain
    line("a mesh boolean of the same piece (all its segments), times", ratio, ">= 500", good=ratio >= 500)
    drawing = draw_ms(piece(smooth_wall=True))
    line("drawing it, with a smooth curve and a wall, ms", drawing, "< 50", good=drawing < 50)
    print(f"{'reading the sheet and writing the answer too, ms':<66} {whole_ms(piece()):>9.2f}")


if __name__ == "__main__":
    main()
