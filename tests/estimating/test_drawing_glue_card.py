"""The drawing of a glue-up: marks where the piece has them, coated faces, dry ones, halves and their spacers."""

import math
import re
from xml.etree import ElementTree

import pytest

from estimating.estimate import estimate
from estimating.picture.glue_card import MOST_ROWS, draw_ring_halves, draw_stack
from estimating.sheet import read_sheet
from tests.estimating.kinds import built, cut
from tests.estimating.sheets import Json
from tests.estimating.test_assembly import tube
from tests.estimating.test_cards import flared
from tests.estimating.test_parts import jar

SVG = "{http://www.w3.org/2000/svg}"
COLOURS = {"maple": "#e3c99a", "walnut": "#5b4030"}


def drawn(sheet: Json, kind: str = "stack", **options: bool) -> ElementTree.Element:
    found = estimate(read_sheet(sheet))
    glue_up = next(one for one in found.glue_ups if one.kind == kind)
    svg = draw_stack(found.shapes, glue_up.layers, from_rim=glue_up.from_rim, colours=COLOURS, **options)
    return ElementTree.fromstring(svg)


def of_class(svg: ElementTree.Element, name: str) -> list[ElementTree.Element]:
    return [one for one in svg.iter() if one.get("class") == name]


def words(svg: ElementTree.Element) -> list[str]:
    return [text.text or "" for text in svg.iter(f"{SVG}text")]


def mark_angles(svg: ElementTree.Element) -> dict[str, float]:
    """Degrees anticlockwise from the top, of each mark by its layer's number."""
    found = {}
    for mark in of_class(svg, "dw-mark"):
        path, text = mark.find(f"{SVG}path"), mark.find(f"{SVG}text")
        assert path is not None
        assert text is not None
        *_, (x, y) = re.findall(r"(-?[\d.]+),(-?[\d.]+)", path.get("d", ""))
        found[text.text or ""] = math.degrees(math.atan2(-float(x), -float(y)))
    return found


def test_the_upper_course_s_mark_stands_its_turn_on_from_the_lower_one_s() -> None:
    assert mark_angles(drawn(flared())) == {"1": pytest.approx(0, abs=0.1), "2": pytest.approx(15, abs=0.1)}


@pytest.mark.parametrize(("end", "pair"), [("foot", {"1": 0, "2": -15}), ("rim", {"4": 0, "3": -15})])
def test_a_stack_is_drawn_as_it_is_held(end: str, pair: dict[str, int]) -> None:
    band = cut(layers=4, woods=["maple", "walnut"], offset=[0.5, -0.5])
    form = {"outer": [[0, 60], [40, 60]], "inside": {"kind": "wall", "wall": 8, "floor": 8}}
    svg = drawn(built(band, form=form, build_from=end))
    assert mark_angles(svg) == {layer: pytest.approx(turn, abs=0.1) for layer, turn in pair.items()}
    rows = [word for word in words(svg) if word in set("1234")]
    assert rows[-4:] == (
        ["1", "2", "3", "4"] if end == "foot" else ["4", "3", "2", "1"]
    )  # from the lowest up


def test_every_joint_is_coated_on_both_sides_and_the_outer_faces_are_dry() -> None:
    svg = drawn(flared())
    assert len(of_class(svg, "dw-coat")) == 2 * 3
    assert words(svg).count("dry") == 2
    assert len(of_class(svg, "dw-course")) == 4


def test_of_a_very_tall_run_the_lowest_courses_are_drawn() -> None:
    sheet = tube(layers=40, shop={"layers_per_glue_up": 40, "pot_life_min": 200})
    svg = drawn(sheet)
    assert len(of_class(svg, "dw-course")) == MOST_ROWS
    assert words(svg).count("dry") == 1  # the topmost is not in the picture


def test_segments_lie_the_other_way_round_in_a_stack_held_rim_down() -> None:
    """The second of three woods round the ring: to the left of the mark upright, to the right rim down."""

    def second(end: str) -> float:
        band = cut(layers=2, thickness=14, woods=["maple", "walnut", "cherry"])
        svg = drawn(built(band, form={"outer": [[0, 60], [28, 60]]}, build_from=end))
        (below,) = of_class(svg, "dw-below")
        walnut = next(path for path in below if path.get("fill") == COLOURS["walnut"])
        points = re.findall(r"(-?[\d.]+),(-?[\d.]+)", walnut.get("d", ""))
        return sum(float(x) for x, _ in points)

    assert second("foot") < 0 < second("rim")
    assert second("foot") == pytest.approx(-second("rim"), abs=0.1)


def test_parts_on_one_another_stand_as_they_look_best() -> None:
    svg = drawn(jar(), "join", turned=False)
    assert not of_class(svg, "dw-mark")
    assert "layer 9 on layer 8, as it looks best" in words(svg)


@pytest.mark.parametrize(("spacers", "coats", "gaps"), [(True, 0, 2), (False, 2, 0)])
def test_a_ring_in_halves_shows_its_spacers_or_the_joints_to_coat(
    spacers: bool, coats: int, gaps: int
) -> None:
    ring = estimate(read_sheet(flared())).rings[1]
    svg = ElementTree.fromstring(draw_ring_halves(ring, spacers=spacers, colours=COLOURS))
    assert (len(of_class(svg, "dw-coat")), len(of_class(svg, "dw-spacer"))) == (coats, gaps)
    (halves,) = of_class(svg, "dw-halves")
    segments = [path for path in halves if path.get("fill") in COLOURS.values()]
    assert len(segments) == 12
    middles = [
        sum(float(y) for _, y in re.findall(r"(-?[\d.]+),(-?[\d.]+)", path.get("d", ""))) for path in segments
    ]
    assert [middle < 0 for middle in middles] == [True] * 6 + [False] * 6


def test_it_stays_in_its_frame_and_says_in_words_what_it_shows() -> None:
    for sheet in (flared(), tube(layers=9)):
        svg = drawn(sheet)
        x, y, width, height = map(float, svg.get("viewBox", "").split())
        for text in svg.iter(f"{SVG}text"):
            assert x <= float(text.get("x", "0")) <= x + width
            assert y <= float(text.get("y", "0")) <= y + height
        described = svg.find(f"{SVG}desc")
        assert described is not None
        assert "in the order they go on" in (described.text or "")
