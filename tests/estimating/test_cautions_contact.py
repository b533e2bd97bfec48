"""What open segments stand on: held to shapely's overlaps of the unrolled courses, and to figures by hand."""

from math import pi

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from estimating.estimate import estimate
from estimating.shape.contact import open_contact, open_joints
from estimating.sheet import read_sheet
from tests.estimating.sheets import Json, bowl, modest, round_to


def arcs(segments: int, half: float, turned: float) -> list[shapely.Geometry]:
    """The segments of a course on the circle unrolled to a strip one wide, cut where it wraps."""
    found = []
    for number in range(segments):
        start = (turned + 2 * pi * number / segments - half) % (2 * pi)
        whole = shapely.box(start, 0, start + 2 * half, 1)
        first = shapely.intersection(whole, shapely.box(0, 0, 2 * pi, 1))
        rest = shapely.intersection(whole, shapely.box(2 * pi, 0, 4 * pi, 1))
        found.append(shapely.union(first, shapely.affinity.translate(rest, -2 * pi)))
    return found


@modest
@given(
    lower=st.integers(3, 24),
    upper=st.integers(3, 24),
    gaps=st.tuples(round_to(0.02, 0.9), round_to(0.02, 0.9)),
    turned=round_to(-9, 9, places=3),
)
def test_the_arcs_of_open_courses_are_those_of_shapely(
    lower: int, upper: int, gaps: tuple[float, float], turned: float
) -> None:
    halves = pi * (1 - gaps[0]) / lower, pi * (1 - gaps[1]) / upper
    found = open_contact(below=(lower, halves[0]), above=(upper, halves[1]), turned=np.array([turned]))
    below = arcs(lower, halves[0], 0.0)
    sides, shared = [], 0.0
    for segment in arcs(upper, halves[1], turned):
        on = [area for other in below if (area := shapely.intersection(segment, other).area) > 1e-9]
        sides.append(0.0 if not on else min(on) / 2 if len(on) == 1 else min(on))
        shared += sum(on)
    assert found.least[0] == pytest.approx(min(sides), abs=1e-8)
    wood = min(sum(a.area for a in below), 2 * upper * halves[1])
    assert found.share[0] == pytest.approx(shared / wood, abs=1e-7)


def test_many_joints_at_once_are_as_one_by_one() -> None:
    turned = np.linspace(-3, 3, 50)
    below, above = (12, 0.2), (18, 0.15)
    together = open_contact(below=below, above=above, turned=turned)
    alone = [open_contact(below=below, above=above, turned=turned[i : i + 1]) for i in range(50)]
    assert together.least.tolist() == [one.least[0] for one in alone]
    assert together.share.tolist() == [one.share[0] for one in alone]


def lattice(*, gap: float, offset: float = 0.5, segments: int = 12) -> Json:
    """An open cylinder, its wall 10 mm about a circle of 55 mm."""
    sheet = bowl(form={"outer": [[0, 60], [40, 60]], "inside": {"kind": "wall", "wall": 10, "floor": 10}})
    sheet["bands"][1] |= {"woods": ["maple"], "gap": gap, "offset": offset, "segments": segments}
    return sheet


def test_half_turned_rows_touch_by_half_a_pitch_less_the_gap_each_side() -> None:
    """Pitch 30 degrees on a circle of 55: 28.798 mm; half of it less 0.2 of it is 8.639 mm."""
    (shape,) = estimate(read_sheet(lattice(gap=0.2))).shapes
    joints = open_joints(shape)
    assert [joint.layer for joint in joints] == [3, 4]  # the foot below layer 2 is closed
    assert [joint.contact for joint in joints] == pytest.approx([28.7979 * 0.3] * 2, abs=1e-3)
    assert [joint.share for joint in joints] == pytest.approx([0.6 / 0.8] * 2)


def test_columns_of_open_segments_stand_on_one_alone_and_each_half_of_it_is_a_side() -> None:
    (shape,) = estimate(read_sheet(lattice(gap=0.2, offset=0))).shapes
    assert open_joints(shape)[0].contact == pytest.approx(28.7979 * 0.4, abs=1e-3)
    assert open_joints(shape)[0].share == pytest.approx(1.0)


def test_closed_layers_have_no_open_joints() -> None:
    (shape,) = estimate(read_sheet(bowl())).shapes
    assert open_joints(shape) == []
