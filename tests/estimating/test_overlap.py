"""Wood on wood between two layers, against shapely's polygons laid on one another."""

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from shapely import Point

from estimating.shape.overlap import Course, contact_areas
from tests.estimating import reference
from tests.estimating.sheets import modest

Layer = tuple[int, float, float, float, float]
"""Segments, gap, outer radius, inner radius, angle in degrees."""

some_layers = st.tuples(
    st.integers(3, 40),
    st.sampled_from([0.0, 0.0, 0.1, 0.5]),
    st.floats(20, 120),
    st.sampled_from([0.0, 5.0, 19.0]),
    st.floats(-400, 400),
)


def course(layer: Layer) -> Course:
    segments, gap, outer, inner, angle = layer
    miter = math.pi * (1 - gap) / segments
    return Course(
        segments=segments,
        half_angle=miter,
        outer_apothem=np.array([outer]),
        inner_apothem=np.array([inner * math.cos(miter)]),
        angle=np.array([math.radians(angle)]),
    )


def shape(layer: Layer) -> object:
    segments, gap, outer, inner, angle = layer
    phi = math.pi * (1 - gap) / segments
    return reference.face({"segments": segments, "phi": phi, "outer": outer, "inner": inner}, angle)


def contact(below: Layer, above: Layer) -> float:
    return float(contact_areas(course(below), course(above))[0])


@modest
@given(some_layers, some_layers)
@example((12, 0.0, 100.0, 80.0, 0.0), (12, 0.0, 100.0, 80.0, 15.0))  # half a segment turned
@example((12, 0.0, 100.0, 80.0, 0.0), (18, 0.0, 95.0, 70.0, 7.0))  # no common pitch
@example((12, 0.3, 100.0, 80.0, 0.0), (12, 0.3, 100.0, 80.0, 15.0))  # open, bridging
@example((24, 0.6, 100.0, 80.0, 0.0), (24, 0.6, 100.0, 80.0, 7.5))  # open, over the gaps: nothing touches
@example((7, 0.0, 50.0, 0.0, 3.0), (31, 0.1, 60.0, 49.0, 200.0))
def test_contact_is_what_shapely_cuts_out(below: Layer, above: Layer) -> None:
    expected = shape(below).intersection(shape(above)).area  # type: ignore[attr-defined]
    # shapely's union of touching segments leaves slivers of rounding size; a thousand millionth of the disc
    assert contact(below, above) == pytest.approx(expected, rel=1e-9, abs=1e-9 * math.pi * 120**2)


@modest
@given(some_layers, some_layers, st.floats(-360, 360))
def test_contact_is_the_same_upside_down_and_turned_together(below: Layer, above: Layer, turn: float) -> None:
    def turned(layer: Layer) -> Layer:
        return (*layer[:4], layer[4] + turn)

    area = contact(below, above)
    assert contact(above, below) == pytest.approx(area, rel=1e-9, abs=1e-6)
    assert contact(turned(below), turned(above)) == pytest.approx(area, rel=1e-9, abs=1e-6)


@pytest.mark.parametrize("segments", [3, 12, 18, 360])
def test_a_layer_on_its_own_like_touches_all_over(segments: int) -> None:
    """Area of n trapezia: n tan(pi/n) (A_o^2 - A_i^2), A_i on the corner circle."""
    layer = (segments, 0.0, 100.0, 80.0, 33.0)
    area = segments * math.tan(math.pi / segments) * (100**2 - (80 * math.cos(math.pi / segments)) ** 2)
    assert contact(layer, layer) == pytest.approx(area, rel=1e-12)


def test_many_joints_at_once_are_each_as_one() -> None:
    random = np.random.default_rng(1)
    layers = [(12, 0.0, float(r), float(r) - 15.0, float(a)) for r, a in random.uniform(40, 90, (20, 2))]
    pairs = list(pairwise(layers))

    def stacked(side: int) -> Course:
        each = [course(pair[side]) for pair in pairs]
        return Course(
            12, each[0].half_angle, *(np.concatenate([getattr(c, name) for c in each])
            for name in ("outer_apothem", "inner_apothem", "angle"))
        )  # fmt: skip

    together = contact_areas(stacked(0), stacked(1))
    assert together == pytest.approx([contact(*pair) for pair in pairs], rel=1e-12)


def test_rings_that_do_not_meet_touch_nowhere() -> None:
    assert contact((12, 0.0, 50.0, 40.0, 0.0), (12, 0.0, 100.0, 80.0, 0.0)) == 0


def disc(outer: float, inner: float) -> Course:
    """A round disc, bored."""
    return Course(
        segments=1,
        half_angle=math.pi,
        outer_apothem=np.array([outer]),
        inner_apothem=np.array([inner]),
        angle=np.array([0.0]),
        disc=True,
    )


ROUND = 20_000
"""Corners of the polygon that stands for a circle: it falls short of the circle's area by 2e-8 of it."""


def circle(outer: float, inner: float) -> object:
    return (
        Point(0, 0)
        .buffer(outer, quad_segs=ROUND // 4)
        .difference(Point(0, 0).buffer(inner, quad_segs=ROUND // 4))
    )


@modest
@given(some_layers, st.floats(10, 130), st.sampled_from([0.0, 6.0, 9.9]))
@example((12, 0.0, 100.0, 80.0, 3.0), 101.0, 0.0)  # the circle runs between flats and corners
@example((12, 0.0, 100.0, 80.0, 3.0), 130.0, 79.0)  # its hole runs between the inner flats and corners
def test_a_disc_touches_segments_as_far_as_shapely_says(layer: Layer, outer: float, inner: float) -> None:
    expected = shape(layer).intersection(circle(outer, inner)).area  # type: ignore[attr-defined]
    for below, above in ((course(layer), disc(outer, inner)), (disc(outer, inner), course(layer))):
        found = float(contact_areas(below, above)[0])
        assert found == pytest.approx(expected, rel=1e-6, abs=1e-7 * math.pi * 130**2)


def test_discs_touch_where_both_are_wood() -> None:
    assert float(contact_areas(disc(50, 6), disc(40, 10))[0]) == pytest.approx(math.pi * (40**2 - 10**2))
    assert float(contact_areas(disc(50, 45), disc(40, 0))[0]) == 0
