"""Cut lists of glued-up segments: worked by hand, laid out with shapely, and every wood accounted for."""

import math
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import affinity
from shapely.geometry import Polygon, box

from estimating.errors import InvalidInput
from estimating.piece import Laminate
from estimating.shape.laminates import CutList, cut_list
from tests.estimating.sheets import modest
from tests.estimating.test_laminates import Size, laid

STEEP = Laminate("zigzag", math.radians(30), (("maple", 10.0), ("walnut", 10.0), ("maple", 10.0)))


def steep_list(**changes: Any) -> CutList:
    asked: dict[str, Any] = {
        "segments": 12, "length": 40.0, "inner_length": 30.0, "height": 10.0, "width": 20.0, "kerf": 2.0,
        "hold": 50.0, "longest": 300.0, "flatten": 0.5, "sanding": 1.0,
    }  # fmt: skip
    return cut_list(changes.pop("laminate", STEEP), **{**asked, **changes})


def test_a_slanted_cut_list_is_as_worked_by_hand() -> None:
    found = steep_list()
    # sin 30 = 1/2: a slice of 10 + 1 and a kerf of 2 advance 26; a cut takes 4; the slanted ends 30 cot 30 = 51.96;
    # 300 - 51.96 - 50 - 4 has room for seven of 26, so twelve need two panels of six
    long = 30 * math.sqrt(3) + 50 + 4 + 6 * 26
    assert [(panel.count, panel.pieces) for panel in found.panels] == [(2, 6)]
    assert found.panels[0].length == pytest.approx(long)
    strips = [(s.wood, s.width, s.thickness, s.count) for s in found.strips]
    assert strips == [("maple", 10.0, 21.0, 4), ("walnut", 10.0, 21.0, 2)]
    assert {s.length for s in found.strips} == {found.panels[0].length}
    assert found.slicing is not None
    slicing = found.slicing
    assert (slicing.count, slicing.stop) == (12, 11.0)
    assert (slicing.advance, slicing.length, math.degrees(slicing.saw_angle)) == pytest.approx(
        (26.0, 60.0, 60.0)
    )
    assert found.miter == pytest.approx(math.atan(5 / 20))
    assert found.glue_area == pytest.approx(2 * 2 * long * 21)
    walnut = found.woods["walnut"]
    assert walnut.strips == pytest.approx(2 * 10 * 21 * long)
    assert walnut.flattening == pytest.approx(2 * 10 * 1 * long)
    assert walnut.kerf == pytest.approx(14 * 4 * 10 * 20)
    assert walnut.trimming == pytest.approx(2 * (30 * math.sqrt(3) + 50) * 10 * 20)
    assert walnut.sanding == pytest.approx(12 * 2 * 10 * 20)
    assert found.total.segments == pytest.approx(12 * 35 * 20 * 10)


def test_thirteen_slices_are_seven_and_six() -> None:
    found = steep_list(segments=13)
    assert [(panel.count, panel.pieces) for panel in found.panels] == [(1, 7), (1, 6)]
    assert [(s.wood, s.count) for s in found.strips] == [
        ("maple", 2),
        ("walnut", 1),
        ("maple", 2),
        ("walnut", 1),
    ]


def test_diamonds_take_two_slices_of_half_the_height_and_glue_between_them() -> None:
    found = steep_list(laminate=Laminate("diamond", STEEP.angle, STEEP.strips), longest=1000.0)
    assert found.slicing is not None
    assert (found.slicing.count, found.slicing.stop) == (24, 6.0)
    run = sum(panel.count * panel.length for panel in found.panels)
    assert found.glue_area == pytest.approx(2 * run * 21 + 12 * 60 * 20)


def test_lying_stripes_are_crosscut_from_the_panel_like_a_plain_strip() -> None:
    lying = Laminate("stripes", 0.0, (("ash", 6.0), ("oak", 6.0)))
    found = steep_list(laminate=lying, longest=600.0, sanding=0.0)
    kerf = 2 / math.cos(math.atan(5 / 20))
    long = 12 * 35 + 13 * kerf + 5 + 50
    assert found.slicing is None
    assert [(panel.count, panel.pieces) for panel in found.panels] == [(1, 12)]
    assert found.panels[0].length == pytest.approx(long)
    # the panel is 12 wide and the ring 10 tall: a millimetre goes from either edge
    ash = found.woods["ash"]
    assert ash.trimming == pytest.approx(1 * 20 * long)
    assert ash.crosscut == pytest.approx(5 * 20 * (13 * kerf + 5 + 50))
    assert ash.segments == pytest.approx(12 * 35 * 20 * 5)


def lists(laminates: st.SearchStrategy[tuple[Laminate, Size]]) -> st.SearchStrategy[tuple[Any, ...]]:
    """A laminate with its segment, how many segments, kerf, hold, room in panels, flatten, sanding."""
    amounts = (
        st.integers(1, 48),
        st.floats(0, 4),
        st.floats(0, 80),
        st.floats(1, 4),
        st.floats(0, 1),
        st.floats(0, 1),
    )
    return st.tuples(laminates, *amounts)


some_lists = lists(laid())


def listed(case: tuple[Any, ...]) -> CutList:
    (laminate, size), segments, kerf, hold, room, flatten, sanding = case
    one = cut_list(
        laminate, segments=1, kerf=kerf, hold=hold, longest=1e9, flatten=flatten, sanding=sanding, **size
    )
    return cut_list(
        laminate, segments=segments, kerf=kerf, hold=hold, longest=one.panels[0].length * room, flatten=flatten,
        sanding=sanding, **size,
    )  # fmt: skip


@modest
@given(some_lists)
def test_strips_are_segments_and_waste_exactly_for_each_wood(case: tuple[Any, ...]) -> None:
    found = listed(case)
    for wood, use in found.woods.items():
        cut = sum(s.width * s.thickness * s.length * s.count for s in found.strips if s.wood == wood)
        assert use.strips == pytest.approx(cut, rel=1e-12)
        assert use.segments + use.waste == pytest.approx(use.strips, rel=1e-12)
        parts = (use.flattening, use.trimming, use.kerf, use.sanding, use.crosscut)
        assert min(parts) >= -1e-9 * use.strips
    assert found.total.strips == pytest.approx(sum(use.strips for use in found.woods.values()), rel=1e-12)


@modest
@given(some_lists)
def test_panels_are_the_fewest_and_give_every_slice(case: tuple[Any, ...]) -> None:
    (laminate, size), segments, kerf, hold, room, _, sanding = case
    one = cut_list(laminate, segments=1, kerf=kerf, hold=hold, longest=1e9, sanding=sanding, **size)
    longest, found = one.panels[0].length * room, listed(case)
    assert sum(panel.count * panel.pieces for panel in found.panels) == segments * laminate.parts
    assert max(panel.length for panel in found.panels) <= longest + 1e-6
    count = sum(panel.count for panel in found.panels)
    if count > 1:  # one panel fewer, and the fullest is too long
        fullest = math.ceil(segments * laminate.parts / (count - 1))
        panel = found.panels[0]
        mean = (size["length"] + size["inner_length"]) / 2
        step = found.slicing.advance if found.slicing else mean + kerf / math.cos(found.miter)
        assert panel.length + (fullest - panel.pieces) * step > longest - 1e-6
    assert max(panel.pieces for panel in found.panels) - min(panel.pieces for panel in found.panels) <= 1


@modest
@given(some_lists.filter(lambda case: bool(case[0][0].angle > 0)))
def test_slices_laid_out_on_a_panel_fit_with_their_kerfs_and_the_hold(case: tuple[Any, ...]) -> None:
    """Each slice a parallelogram across the panel, a kerf from the next; each holds its segment's face."""
    (laminate, size), _, kerf, hold, _, _, sanding = case
    found, across, angle = listed(case), laminate.panel_width, laminate.angle
    assert found.slicing is not None
    tall, lean = found.slicing.stop, across / math.tan(angle)
    panel = found.panels[0]
    slices = []
    for k in range(panel.pieces):
        start = (kerf + k * (tall + kerf)) / math.sin(angle)
        end = start + tall / math.sin(angle)
        slices.append(Polygon([(start, 0), (end, 0), (end + lean, across), (start + lean, across)]))
    assert slices[-1].bounds[2] + kerf / math.sin(angle) + hold == pytest.approx(panel.length, rel=1e-9)
    for one, two in pairwise(slices):
        assert one.distance(two) == pytest.approx(kerf, abs=1e-9)
    assert slices[0].area == pytest.approx(tall * found.slicing.length, rel=1e-9)
    part = size["height"] / laminate.parts
    face = affinity.rotate(
        box(-size["length"] / 2, -part / 2, size["length"] / 2, part / 2), angle, (0, 0), use_radians=True
    )
    middle = slices[0].centroid
    placed = affinity.translate(face, middle.x, middle.y)
    assert placed.difference(slices[0]).area <= 1e-6 * placed.area
    assert tall == pytest.approx(part + sanding, rel=1e-12)


@modest
@given(lists(laid(angles=st.just(0.0))))
def test_lying_segments_laid_head_to_tail_fit_with_their_kerfs_and_the_hold(case: tuple[Any, ...]) -> None:
    (_, size), _, kerf, hold, _, _, _ = case
    found, taper = listed(case), (size["length"] - size["inner_length"]) / 2
    along, placed = kerf / math.cos(found.miter), []
    panel = found.panels[0]
    mean = (size["length"] + size["inner_length"]) / 2
    for k in range(panel.pieces):
        middle = along + taper / 2 + mean / 2 + k * (mean + along)
        low, high = (size["length"] / 2, size["inner_length"] / 2)[:: 1 if k % 2 == 0 else -1]
        wide = size["width"]
        placed.append(
            Polygon([(middle - low, 0), (middle + low, 0), (middle + high, wide), (middle - high, wide)])
        )
    for one, two in pairwise(placed):
        assert one.distance(two) == pytest.approx(kerf, abs=1e-6)
    reach = max(polygon.bounds[2] for polygon in placed)
    assert min(polygon.bounds[0] for polygon in placed) == pytest.approx(along, abs=1e-6)
    assert reach + along + hold == pytest.approx(panel.length, rel=1e-9)


def test_a_panel_no_board_is_long_enough_for_is_refused() -> None:
    with pytest.raises(
        InvalidInput, match=r"piece\.strips: need a panel 131\.9. mm long .* longest is 131 mm"
    ):
        steep_list(longest=131.0, place="piece.")
    assert steep_list(longest=132.0, segments=2).panels[0].count == 2
