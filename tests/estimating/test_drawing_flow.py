"""The flow picture, measured in its own coordinates: widths in proportion, nothing hidden, words that can be read."""

import re
import xml.etree.ElementTree as ET
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from estimating.picture.flow import Branch, Strand, draw_flow

SVG = "{http://www.w3.org/2000/svg}"
NAMES = ("back on the rack", "ripping, planing", "crosscuts, spares", "slicing, flattening", "turned away")
BRANCHES = [
    Branch((name, f"{at} dm³", "12 % · $20.11"), (f"step {at}", "3.32 dm³"), is_loss=at > 0)
    for at, name in enumerate(NAMES)
]
ASH = Strand("#d8c7a0", (300.0, 900.0, 500.0, 60.0, 700.0), 500.0)
WALNUT = Strand("#5b3a24", (0.0, 200.0, 100.0, 10.0, 200.0), 150.0)


def picture(*strands: Strand, upright: bool = False, **words: str) -> ET.Element:
    said = {"title": "Where the wood goes", "description": "Of 3.62 dm³ of boards", **words}
    svg = draw_flow(strands, BRANCHES, begins=("boards", "3.62 dm³"), upright=upright, **said)
    return ET.fromstring(svg)


def numbers(path: ET.Element) -> list[float]:
    return [float(found) for found in re.findall(r"-?\d+(?:\.\d+)?", path.get("d", ""))]


def ends(path: ET.Element, *, upright: bool) -> tuple[float, float]:
    """How wide a ribbon that leaves is where it ends: its two points farthest across the flow."""
    points = re.findall(r"L(-?[\d.]+),(-?[\d.]+)", path.get("d", ""))[:2]
    at = 1 if upright else 0
    return float(points[0][at]), float(points[1][at])


def branches(root: ET.Element) -> dict[int, list[ET.Element]]:
    return {
        int(group.get("data-branch", "0")): group.findall(f"{SVG}path")
        for group in root.iter(f"{SVG}g")
        if group.get("data-branch")
    }


def bands(root: ET.Element) -> list[ET.Element]:
    (group,) = [g for g in root.findall(f"{SVG}g") if not g.get("data-branch")]
    return group.findall(f"{SVG}path")


volumes = st.floats(0, 1e6).map(lambda value: value if value > 1e3 else 0.0)
strands = st.builds(Strand, st.just("#aabbcc"), st.tuples(*[volumes] * len(NAMES)), st.floats(1e4, 1e6))


@settings(max_examples=40, deadline=None, derandomize=True)
@given(st.lists(strands, min_size=1, max_size=4), st.booleans())
def test_every_ribbon_is_as_wide_as_its_volume_on_one_scale(woods: list[Strand], upright: bool) -> None:
    root = picture(*woods, upright=upright)
    total = sum(sum(wood.leaves) + wood.left for wood in woods)
    first = [numbers(band) for band in bands(root)]
    at = 0 if upright else 1
    # A band's path begins at the boards on its near side, and ends there on its far side.
    width = max(coordinates[-2:][at] for coordinates in first) - min(band[:2][at] for band in first)
    scale = width / total
    drawn = branches(root)
    for branch in range(len(NAMES)):
        leaving = sum(wood.leaves[branch] for wood in woods)
        if not leaving:
            assert branch + 1 not in drawn
            continue
        ribbons = drawn[branch + 1]
        measured = sum(abs(a - b) for a, b in (ends(path, upright=upright) for path in ribbons))
        assert measured == pytest.approx(leaving * scale, abs=0.02 * len(ribbons))
        assert sum(float(path.get("data-volume", "0")) for path in ribbons) == pytest.approx(leaving)
    for wood, coordinates in zip(woods, first, strict=True):
        mine = coordinates[-2:][at] - coordinates[:2][at]
        assert mine == pytest.approx((sum(wood.leaves) + wood.left) * scale, abs=0.03)


def test_what_is_left_at_the_end_is_as_wide_as_the_piece() -> None:
    root = picture(ASH)
    (band,) = bands(root)
    points = re.findall(r"L(-?[\d.]+),(-?[\d.]+)", band.get("d", ""))
    last = max(float(x) for x, _ in points)
    across = [float(y) for x, y in points if float(x) == last]
    # 500 of 2960 boards, at 230 for all of them.
    assert max(across) - min(across) == pytest.approx(230 * 500 / 2960, abs=0.02)


def test_losses_are_hatched_and_only_wood_has_a_colour() -> None:
    root = picture(ASH, WALNUT)
    drawn = branches(root)
    assert [path.get("fill") for path in drawn[1]] == ["#d8c7a0"]  # walnut keeps nothing
    for branch in (2, 3, 4, 5):
        assert [path.get("fill") for path in drawn[branch]] == ["url(#fl-loss)"]
    assert [band.get("fill") for band in bands(root)] == ["#d8c7a0", "#5b3a24"]
    assert root.find(f"{SVG}defs/{SVG}pattern") is not None
    assert {text.get("fill") for text in root.iter(f"{SVG}text")} == {"currentColor"}


@pytest.mark.parametrize("upright", [False, True])
def test_everything_lies_inside_the_picture_and_no_words_lie_on_others(upright: bool) -> None:
    root = picture(ASH, WALNUT, upright=upright)
    x, y, width, height = map(float, root.get("viewBox", "").split())
    for path in root.iter(f"{SVG}path"):
        if path.get("data-volume") or path in bands(root):
            for across, along in re.findall(r"[ML ](-?[\d.]+),(-?[\d.]+)", path.get("d", "")):
                assert x <= float(across) <= x + width
                assert y <= float(along) <= y + height
    boxes = []
    for text in root.iter(f"{SVG}text"):
        size, rows = float(text.get("font-size", "0")), text.findall(f"{SVG}tspan")
        left, top = float(text.get("x", "0")), float(text.get("y", "0")) - 0.75 * size
        reach = max(len(row.text or "") for row in rows) * 0.5 * size
        boxes.append((left, top, left + reach, top + size * (1 + 1.25 * (len(rows) - 1))))
    for number, one in enumerate(boxes):
        assert x <= one[0]
        assert one[2] <= x + width
        assert y <= one[1]
        assert one[3] <= y + height
        for other in boxes[number + 1 :]:
            apart = one[2] <= other[0] or other[2] <= one[0] or one[3] <= other[1] or other[3] <= one[1]
            assert apart, (one, other)


def test_the_upright_picture_is_narrow_enough_to_be_read_on_a_telephone() -> None:
    """At 360 CSS pixels its words, 14.5 high in the picture, are still 11 px: WCAG names no size; common practice."""
    width = float(picture(ASH, WALNUT, upright=True).get("viewBox", "").split()[2])
    assert 14.5 * 340 / width >= 11


def test_branches_follow_one_another_along_the_flow() -> None:
    drawn = branches(picture(ASH, WALNUT))
    places = [ends(drawn[branch][-1], upright=False) for branch in sorted(drawn)]
    for (_, before), (after, _) in pairwise([tuple(sorted(place)) for place in places]):
        assert before < after


def test_words_are_escaped_and_read_out_in_their_place() -> None:
    root = picture(ASH, title="<script>ash</script>", description='"& all of it"')
    title, description = root.find(f"{SVG}title"), root.find(f"{SVG}desc")
    assert title is not None
    assert description is not None
    assert (title.text, description.text) == ("<script>ash</script>", '"& all of it"')
    assert root.get("role") == "img"
    assert root.get("aria-labelledby") == "fl-title fl-desc"


def test_a_colour_that_is_none_is_never_put_in_a_fill() -> None:
    root = picture(Strand('red" onload="', ASH.leaves, ASH.left))
    assert re.fullmatch("#[0-9a-f]{6}", bands(root)[0].get("fill", ""))


def test_a_wood_that_loses_nothing_is_one_plain_band() -> None:
    root = picture(Strand("#d8c7a0", (0.0,) * 5, 10.0))
    assert branches(root) == {}
    assert len(bands(root)) == 1


def test_no_wood_or_a_strand_without_every_branch_is_refused() -> None:
    with pytest.raises(ValueError, match="needs wood"):
        picture(Strand(None, (0.0,) * 5, 0.0))
    with pytest.raises(ValueError, match="every branch"):
        picture(Strand(None, (1.0,), 1.0))
