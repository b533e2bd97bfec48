"""Full-size drawings before they meet paper: patterns, saw lines, alignment marks, heights, how numbers are said."""

from itertools import pairwise
from math import asin, atan, atan2, cos, degrees, hypot, pi, sin, tan
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimating.errors import InvalidInput
from estimating.picture.full_size import FullSize, boreless_discs, full_size_sheets
from estimating.picture.plates import DrawnPart, Plate, full_size_pen, said_numbers
from estimating.picture.sheets import PAPERS, packed_sheets
from estimating.picture.subject import subject_of
from estimating.picture.templates_disc import cycle_of, disc_plate, marks_of
from estimating.picture.templates_rings import alike, ring_plates
from estimating.picture.templates_section import section_plate
from estimating.picture.templates_segments import BLADE, saw_plates, segment_plates
from estimating.piece import Allowance, Band, FormSheet, Inside, Part, ShopSettings, Sits
from estimating.shape.build import build_shapes
from tests.estimating.drawn import COLOURS, PIECES, SVG, of_class, parsed, piece, points_of, subject

PEN = full_size_pen(unit="mm", inches="fraction")


def drawn(of: dict[str, Any], name: str = "") -> DrawnPart:
    return DrawnPart(subject(of), name)


def tube(*, segments: int = 12, layers: int = 4, offsets: tuple[float, ...] = (0.5,)) -> dict[str, Any]:
    """An upright tube 120 across with a wall of 10, and 3 left on outside and inside: flats 126, corners inside 94."""
    return piece(
        outer=[(0, 60), (10.0 * layers, 60)],
        inside=Inside("curve", inner=((0, 50), (10.0 * layers, 50))),
        allowance=Allowance(3, 3, 0, 0),
        bands=[Band("all", layers, 10, segments, ("maple", "walnut"), offsets)],
    )


def elements(drawing: str) -> Any:
    return parsed(f'<svg xmlns="http://www.w3.org/2000/svg">{drawing}</svg>')


def test_a_segment_pattern_has_the_edges_of_the_printed_formula() -> None:
    # A regular polygon of n sides about a circle of radius a has sides 2 a tan(pi/n); its corners lie a/cos(pi/n) out.
    part = drawn(tube(segments=12))
    (plate,) = segment_plates(part, part.subject.rings, pen=PEN)
    (path,) = of_class(elements(plate.drawing), "dw-segment")
    (corners,) = points_of(path.get("d", ""))
    (x0, y0), (x1, _), (x2, y2), (x3, _) = corners
    assert x1 - x0 == pytest.approx(2 * 63 * tan(pi / 12), abs=0.011)
    assert x2 - x3 == pytest.approx(2 * 47 * cos(pi / 12) * tan(pi / 12), abs=0.011)
    assert y0 - y2 == pytest.approx(63 - 47 * cos(pi / 12), abs=0.011)
    assert "Saw 15°, 12 to a ring" in plate.notes
    assert "24 maple, 24 walnut" in plate.notes


@pytest.mark.parametrize(("segments", "angle"), [(6, 30.0), (12, 15.0), (18, 10.0), (24, 7.5)])
def test_the_saws_line_leans_by_the_miter_angle(segments: int, angle: float) -> None:
    # 180 degrees over the segments, as every table of miter angles has it.
    (plate,) = saw_plates(drawn(tube(segments=segments)).subject.rings, pen=PEN)
    (blade,) = of_class(elements(plate.drawing), "dw-blade")
    (((x0, y0), (x1, y1)),) = points_of(blade.get("d", ""))
    assert degrees(atan2(x0 - x1, y0 - y1)) == pytest.approx(angle, abs=0.01)
    assert hypot(x1 - x0, y1 - y0) == pytest.approx(BLADE, abs=0.01)


def test_rings_alike_share_a_plan_and_others_have_their_own() -> None:
    part = drawn(PIECES["open bowl"]())
    groups = alike(part.subject.rings)
    plates = ring_plates(part, part.subject.rings, pen=PEN)
    assert len(plates) == len(groups)
    assert sorted(ring.number for group in groups for ring in group) == [r.number for r in part.subject.rings]
    same = drawn(tube(layers=4))
    (only,) = ring_plates(same, same.subject.rings, pen=PEN)
    assert only.title == "Rings 1–4"
    assert "Across the flats 126" in " ".join(only.notes)


def test_a_brick_pattern_has_two_marks_half_a_segment_apart() -> None:
    part = drawn(tube(segments=12, layers=4, offsets=(0.5, -0.5)))
    marks = marks_of(part)
    assert [mark.layers for mark in marks] == [(1, 3), (2, 4)]
    assert degrees(abs(marks[1].angle - marks[0].angle)) == pytest.approx(345, abs=1e-6) or degrees(
        marks[1].angle
    ) == pytest.approx(15, abs=1e-6)
    assert cycle_of(part) == 2


def test_a_spiral_comes_round_after_as_many_layers_as_make_a_turn() -> None:
    # A quarter of a twelfth of a turn a layer: 48 layers to a turn.
    part = drawn(tube(segments=12, layers=96, offsets=(0.25,)))
    marks = marks_of(part)
    assert len(marks) == 48
    assert marks[0].layers == (1, 49)
    assert cycle_of(part) == 48


@given(st.lists(st.sampled_from([-1.0, -0.5, -0.25, 0.0, 0.25, 0.5, 1.0, 0.3]), min_size=1, max_size=6))
def test_every_layer_has_its_mark_where_the_sum_of_the_offsets_puts_it(offsets: list[float]) -> None:
    part = drawn(tube(segments=12, layers=12, offsets=tuple(offsets)))
    placed = {layer: mark.angle for mark in marks_of(part) for layer in mark.layers}
    assert sorted(placed) == list(range(1, 13))
    turned = 0.0
    for layer in range(2, 13):
        turned += offsets[(layer - 1) % len(offsets)] * 2 * pi / 12
        away = (placed[layer] - placed[1] - turned + pi) % (2 * pi) - pi
        assert abs(away) < 1e-5


def test_marks_of_many_layers_are_lettered_and_listed_below() -> None:
    part = drawn(tube(segments=12, layers=40, offsets=(0.5, -0.5, 1.0, 0.0, -1.0)))
    plate = disc_plate(part, pen=PEN)
    assert "Mark a: layers" in plate.drawing
    assert all(str(layer) in plate.listed for layer in (1, 2))


def test_the_sections_scale_has_every_layer_and_the_height_of_the_stack() -> None:
    part = drawn(tube(layers=4))
    plate = section_plate(part, pen=PEN)
    (scale,) = of_class(elements(plate.drawing), "dw-heights")
    words = ["".join(text.itertext()) for text in scale.iter("{http://www.w3.org/2000/svg}text")]
    assert words == ["0", "10", "20", "30", "40", "1", "2", "3", "4"]


def test_thin_layers_keep_their_lines_though_not_every_figure_has_room() -> None:
    part = drawn(PIECES["vase"]())
    plate = section_plate(part, pen=PEN, sides="right")
    (scale,) = of_class(elements(plate.drawing), "dw-heights")
    lines = next(scale.iter("{http://www.w3.org/2000/svg}path")).get("d", "")
    assert lines.count("h4") == len(part.subject.stack) + 1
    texts = list(scale.iter("{http://www.w3.org/2000/svg}text"))
    heights = [float(text.get("y", "0")) for text in texts if text.get("text-anchor") == "end"]
    assert 10 < len(heights) <= len(part.subject.stack) + 1
    assert all(below - above >= 2.9 for below, above in pairwise(heights))


def test_a_right_half_keeps_to_the_right_of_the_axis() -> None:
    part = drawn(tube())
    both, right = (section_plate(part, pen=PEN, sides=sides) for sides in ("both", "right"))
    assert right.box[0] > -6 > both.box[0]


@pytest.mark.parametrize("name", sorted(PIECES))
@pytest.mark.parametrize("paper", sorted(PAPERS))
def test_every_piece_is_drawn_on_sheets_that_are_xml_and_the_papers_size(name: str, paper: str) -> None:
    sheets = full_size_sheets([drawn(PIECES[name]())], wanted=FullSize(), paper=paper)  # type: ignore[arg-type]
    for sheet in sheets:
        root = parsed(sheet.svg)
        assert root.get("width") == f"{PAPERS[paper].width:g}mm"  # type: ignore[index]
        assert len(of_class(root, "dw-check")) == 1
        assert sheet.description


def test_a_drawing_with_no_room_for_its_caption_stands_alone_with_its_notes_at_the_head() -> None:
    _, height = PAPERS["a4"].window
    tall = Plate("Tall", ("its note",), "", (0, 0, 20, height - 5))
    small = Plate("Small", ("its own note",), "", (0, 0, 20, 20))
    sheets = list(packed_sheets("Patterns", [tall, small, small], paper=PAPERS["a4"], pen=PEN))
    assert [(sheet.heading, sheet.notes) for sheet in sheets] == [("Tall", "its note."), ("Patterns", "")]
    assert sheets[1].svg.count("its own note") >= 2
    assert "its note" not in "".join(text.text or "" for text in parsed(sheets[0].svg).iter(f"{SVG}text"))


def test_parts_are_told_apart_by_name() -> None:
    parts = [drawn(tube(), "body"), drawn(tube(), "lid")]
    sheets = full_size_sheets(parts, wanted=FullSize(rings=False, segments=False), paper="a4")
    chapters = {sheet.chapter for sheet in sheets}
    assert {"Body: section", "Lid: section", "Alignment discs"} <= chapters


def test_markup_in_a_name_stays_text() -> None:
    sheets = full_size_sheets([drawn(tube(), "<script>")], wanted=FullSize(), paper="a4")
    for sheet in sheets:
        assert not list(parsed(sheet.svg).iter("{http://www.w3.org/2000/svg}script"))


def test_nothing_asked_for_is_refused() -> None:
    with pytest.raises(InvalidInput, match="at least one drawing"):
        full_size_sheets(
            [drawn(tube())],
            wanted=FullSize(section=False, rings=False, segments=False, disc=False),
            paper="a4",
        )


@given(st.sets(st.integers(1, 300), min_size=1, max_size=40))
def test_numbers_said_short_are_the_same_numbers(numbers: set[int]) -> None:
    said: set[int] = set()
    for part in said_numbers(numbers).replace(" … ", "…").split(", "):
        if "–" in part:
            first, last = part.split("–")
            said |= set(range(int(first), int(last) + 1))
        elif "…" in part:
            second, last = map(int, part.split("…"))
            said |= set(range(second, last + 1, second - max(said)))
        else:
            said.add(int(part))
    assert said == numbers


# Parts, discs and staves


JAR: list[Part] = [
    Part(
        name="body",
        form=FormSheet(((0, 40), (10, 44), (110, 60)), "straight", Inside("wall", wall=7, floor=10)),
        allowance=Allowance(3, 3, 0, 0),
        bands=(
            Band("foot", 1, 10, 1, ("walnut",), made="solid"),
            Band("staves", 1, 100, 12, ("maple",), made="staves"),
        ),
    ),
    Part(
        name="lid",
        form=FormSheet(((0, 56), (20, 50)), "straight"),
        allowance=Allowance(2, 0, 0, 0),
        bands=(
            Band("plate", 1, 10, 12, ("walnut",), bore=30.0, plug="maple"),
            Band("top", 1, 10, 1, ("maple",), made="solid"),
        ),
        sits=Sits("on", "body"),
    ),
]


def jar() -> list[DrawnPart]:
    return [
        DrawnPart(subject_of(shape, colours=COLOURS), shape.part.name)
        for shape in build_shapes(JAR, shop=ShopSettings())
    ]


def test_a_stave_lies_as_long_as_its_slant_and_as_wide_as_the_polygon_s_sides_at_its_ends() -> None:
    body, _ = jar()
    stave = next(ring for ring in body.subject.rings if ring.made == "staves")
    assert stave.lean is not None
    (plate,) = segment_plates(body, body.subject.rings, pen=PEN)
    (path,) = of_class(elements(plate.drawing), "dw-segment")
    (((x0, y0), (x1, _), (x2, y2), (x3, _)),) = points_of(path.get("d", ""))
    # Sides 2 a tan(pi/n) of the polygons at both ends; the slant by Pythagoras from the height and how far they lean.
    (lower, _), (upper, _) = stave.face(top=False), stave.face(top=True)
    assert x1 - x0 == pytest.approx(2 * max(lower, upper) * tan(pi / 12), abs=0.011)
    assert x2 - x3 == pytest.approx(2 * min(lower, upper) * tan(pi / 12), abs=0.011)
    assert y0 - y2 == pytest.approx(hypot(stave.lean.height, upper - lower), abs=0.011)


def test_the_lines_for_staves_lean_by_the_compound_miter_and_tilt() -> None:
    # miter = arctan(sin f tan(pi/n)), tilt = arcsin(cos f sin(pi/n)), f from the axis, as in the tables of compound
    # miters; f from the face's own apothems.
    body, _ = jar()
    stave = next(ring for ring in body.subject.rings if ring.lean)
    assert stave.lean is not None
    flare = atan2(stave.face(top=True)[0] - stave.face(top=False)[0], stave.lean.height)
    plates = saw_plates(body.subject.rings, pen=PEN)
    leans = []
    for plate in plates:
        (blade,) = of_class(elements(plate.drawing), "dw-blade")
        (((x0, y0), (x1, y1)),) = points_of(blade.get("d", ""))
        leans.append(atan2(x0 - x1, y0 - y1))
    expected = [atan(sin(flare) * tan(pi / 12)), asin(cos(flare) * sin(pi / 12))]
    assert leans == pytest.approx(expected, abs=1e-4)
    assert [plate.title.split()[0] for plate in plates] == ["Saw", "Blade"]


def test_discs_are_circles_without_segments_or_marks() -> None:
    body, lid = jar()
    foot = ring_plates(body, body.subject.rings[:1], pen=PEN)[0]
    (disc,) = of_class(elements(foot.drawing), "dw-disc")
    # The foot widens from 40 to 44, and 3 are allowed.
    assert float(disc.get("r", "0")) == pytest.approx(47, abs=1e-3)
    assert segment_plates(lid, lid.subject.rings[1:], pen=PEN) == []
    assert [mark.layers for part in (body, lid) for mark in marks_of(part)] == [(2,), (3,)]


def test_a_bore_and_its_plug_stand_in_the_plan() -> None:
    _, lid = jar()
    plate = ring_plates(lid, lid.subject.rings[:1], pen=PEN)[0]
    assert "bored 30 and plugged with maple" in " ".join(plate.notes)
    radii = [circle.get("r") for circle in elements(plate.drawing).iter(f"{SVG}circle")]
    assert "15" in radii


def test_rings_and_layers_are_numbered_through_all_the_parts() -> None:
    sheets = full_size_sheets(jar(), wanted=FullSize(), paper="letter")
    headings = {sheet.heading for sheet in sheets if sheet.chapter == "Ring plans"}
    words = " ".join(sheet.description for sheet in sheets)
    assert headings
    assert "Lid: ring 3, at full size. Layer 3: 12 segments, saw 15°." in words
    assert "Lid: ring 4, at full size. Layer 4: maple disc." in words


def test_a_pin_jig_is_for_the_solid_discs_without_a_bore() -> None:
    # The foot with its allowance, 2 x 47; the lid's top where it is widest, half way down its slope, 2 x (53 + 2).
    assert boreless_discs(jar()) == pytest.approx((110.0, 94.0), abs=1e-6)
