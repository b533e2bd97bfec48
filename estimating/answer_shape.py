"""What the answer says of parts, plugs, fits, thick rings, turning and laminates: mm, mm3, degrees, g."""

from collections.abc import Iterator
from math import degrees
from typing import Any

from estimating.estimate import Estimate
from estimating.shape.build import Shape
from estimating.shape.laminates import CutList
from estimating.shape.seats import fits_of
from estimating.wood.account import mass_g
from estimating.work.turning import turning_steps


def answer_shape(estimate: Estimate) -> dict[str, Any]:
    """Sections that are there only where a piece has such a thing."""
    sections: dict[str, list[dict[str, Any]]] = {
        "parts": [_part(shape, estimate) for shape in estimate.shapes] if len(estimate.shapes) > 1 else [],
        "fits": [
            {
                "part": fit.part,
                "in": fit.within,
                "opening_diameter": fit.opening_diameter,
                "flange_diameter": fit.flange_diameter,
                "gap": fit.gap,
                "clearance": fit.clearance,
            }
            for fit in fits_of(estimate.shapes)
        ],
        "plugs": [plug for shape in estimate.shapes for plug in _plugs(shape)],
        "slicing": [grouping for shape in estimate.shapes for grouping in _slicing(shape)],
        "turning": [
            {"part": step.part, "step": step.step, "layers": list(step.layers), "words": step.words}
            for step in turning_steps(estimate.shapes)
        ],
        "laminates": [_laminate(one.ring, one.key, one.cuts) for one in estimate.needs.laminated],
    }
    return {name: section for name, section in sections.items() if section}


def _part(shape: Shape, estimate: Estimate) -> dict[str, Any]:
    return {
        "name": shape.part.name,
        "base": shape.base,
        "height": shape.form.height,
        "largest_diameter": shape.form.largest_diameter,
        "volume": shape.form.volume,
        "mass_g": mass_g(shape, estimate.workshop.woods),
        "layers": [shape.layers[0], shape.layers[-1]],
    }


def _plugs(shape: Shape) -> Iterator[dict[str, Any]]:
    for plug in shape.plugs:
        yield {
            "part": shape.part.name,
            "band": shape.bands[plug.band].name,
            "wood": plug.wood,
            "diameter": plug.diameter,
            "length": plug.length,
            "layers": list(plug.layers),
        }


def _slicing(shape: Shape) -> Iterator[dict[str, Any]]:
    for band, grouping in shape.groupings.items():
        yield {
            "part": shape.part.name,
            "band": shape.bands[band].name,
            "rings": [ring.number for ring in shape.rings if ring.band == band],
            "volume": grouping.volume,
            "bound": grouping.bound,
            "proven": grouping.proven,
        }


def _laminate(ring: int, key: str, cuts: CutList) -> dict[str, Any]:
    answer: dict[str, Any] = {
        "ring": ring,
        "laminate": key,
        "segments": cuts.segments,
        "strips": [
            {
                "wood": strip.wood,
                "width": strip.width,
                "thickness": strip.thickness,
                "length": strip.length,
                "count": strip.count,
            }
            for strip in cuts.strips
        ],
        "panels": [
            {"count": panel.count, "pieces": panel.pieces, "length": panel.length} for panel in cuts.panels
        ],
        "miter_deg": degrees(cuts.miter),
        "length": cuts.length,
    }
    if cuts.slicing:
        answer["slices"] = {
            "count": cuts.slicing.count,
            "saw_deg": degrees(cuts.slicing.saw_angle),
            "stop": cuts.slicing.stop,
            "advance": cuts.slicing.advance,
            "length": cuts.slicing.length,
        }
    return answer
