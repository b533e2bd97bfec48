"""Laminated segments on the full-size paper: strips at their angle over the face, and how slices are sawn."""

from math import pi, tan
from typing import Any

import pytest
from shapely import box
from shapely.affinity import rotate, translate

from estimating.estimate import estimate
from estimating.picture.full_size import FullSize, full_size_sheets
from estimating.picture.plates import DrawnPart, full_size_pen
from estimating.picture.templates_laminates import laminate_plates
from estimating.picture.templates_rings import ring_plates
from estimating.picture.templates_section import section_plate
from estimating.picture.templates_segments import segment_plates
from estimating.sheet import read_sheet
from projects.papers.fullsize import drawn_parts
from tests.estimating.drawn import COLOURS, SVG, of_class, parsed, polygons
from tests.estimating.kinds import ZIGZAG, Json, built, cut, disc, in_parts, part

SHEET = '<svg xmlns="http://www.w3.org/2000/svg">{}</svg>'
PEN = full_size_pen(unit="mm", inches="fraction")
STRIPES = {"kind": "stripes", "angle": 0, "strips": [{"wood": w, "width": 10} for w in ("maple", "walnut")]}


def drawn(*bands: Json, **laminates: Json) -> DrawnPart:
    sheet = built(*bands, laminates=laminates)
    (found,) = drawn_parts(estimate(read_sheet(sheet)), colours=COLOURS)
    return found


def paths(drawing: str, name: str) -> list[Any]:
    return of_class(parsed(SHEET.format(drawing)), name)


def test_a_zigzag_segment_shows_each_strip_between_lines_at_its_angle() -> None:
    found = drawn(cut(woods=["zig"], thickness=14), zig=ZIGZAG)
    (plate,) = laminate_plates(found, found.subject.rings, pen=PEN)
    (ring,) = found.subject.rings
    long, high = 2 * ring.outer_apothem * tan(pi / 12), ring.height
    face = box(0, -high, long, 0)
    # The panel's middle is the face's; strips are laid side by side square to their length, which runs at 45 degrees.
    at = -38.0  # half of 30 + 6 + 40 mm
    expected = {}
    for wood, width in (("maple", 30), ("walnut", 6), ("cherry", 40)):
        band = rotate(box(at, -500, at + width, 500), -45, origin=(0, 0))
        expected[COLOURS[wood]] = translate(band, long / 2, -high / 2).intersection(face).area
        at += width
    shown = {path.get("fill"): polygons(path)[0] for path in paths(plate.drawing, "dw-strip")}
    assert {fill: shape.area for fill, shape in shown.items()} == pytest.approx(
        {fill: area for fill, area in expected.items() if area > 0}, abs=0.2
    )
    assert sum(shape.area for shape in shown.values()) == pytest.approx(long * high, abs=0.2)
    assert "Every second segment the other way round" in plate.notes


@pytest.mark.parametrize(("degrees", "said"), [(30, "60°"), (45, "45°"), (70, "20°")])
def test_the_saw_is_set_to_what_the_strips_lack_of_a_right_angle(degrees: float, said: str) -> None:
    found = drawn(cut(woods=["zig"], thickness=14), zig={**ZIGZAG, "angle": degrees})
    (plate,) = laminate_plates(found, found.subject.rings, pen=PEN)
    assert any(note.startswith(f"Slices: saw {said} off square") for note in plate.notes)


def test_lying_stripes_are_crosscut_and_no_segment_is_turned() -> None:
    found = drawn(cut(woods=["lie"]), cut(), cut(), lie=STRIPES)
    (plate,) = laminate_plates(found, found.subject.rings, pen=PEN)
    assert "Segments crosscut from the panel itself" in plate.notes
    assert not any("other way round" in note for note in plate.notes)


def test_the_plan_of_a_laminated_ring_shows_its_strips_over_every_segment() -> None:
    found = drawn(cut(woods=["zig", "maple"], thickness=14), zig=ZIGZAG)
    (plate,) = ring_plates(found, found.subject.rings, pen=PEN)
    (ring,) = found.subject.rings
    shown = sum(shape.area for path in paths(plate.drawing, "dw-strip") for shape in polygons(path))
    assert shown == pytest.approx(
        6 * (ring.outer_apothem**2 - ring.inner_apothem**2) * tan(pi / 12), rel=1e-3
    )


def test_a_laminated_segment_s_pattern_has_the_tint_of_no_wood() -> None:
    found = drawn(cut(woods=["zig"], thickness=14), zig=ZIGZAG)
    (plate,) = segment_plates(found, found.subject.rings, pen=PEN)
    assert [path.get("fill") for path in paths(plate.drawing, "dw-segment")] == ["none"]


def test_the_faces_are_among_the_patterns_that_are_printed() -> None:
    found = drawn(cut(woods=["zig"], thickness=14), cut(), zig=ZIGZAG)
    wanted = FullSize(section=False, rings=False, disc=False)
    sheets = full_size_sheets([found], wanted=wanted, paper="a4")
    assert any("Zig, face of ring 1" in sheet.description for sheet in sheets)


def test_the_section_of_a_bored_floor_has_its_hole() -> None:
    found = drawn(cut(bore=20), cut(), cut())
    assert found.subject.bore_radius(0) == 10
    assert found.subject.bore_radius(1) == 0


def test_a_lid_s_section_counts_its_layers_on_from_the_body_s() -> None:
    lid = part("lid", built(disc(), cut()), sits={"on": "body"})
    sheet = in_parts(part("body", built(cut(bore=20), cut(), cut())), lid)
    body, drawn_lid = drawn_parts(estimate(read_sheet(sheet)), colours=COLOURS)
    for found, layers in ((body, {"1", "2", "3"}), (drawn_lid, {"4", "5"})):
        drawing = parsed(SHEET.format(section_plate(found, pen=PEN).drawing))
        assert {one.get("data-layer") for one in drawing.iter()} - {None} == layers
        assert {text.text for text in drawing.iter(f"{SVG}text")} >= layers
