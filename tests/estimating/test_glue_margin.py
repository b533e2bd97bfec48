"""What is coated beyond the overlap of two layers: by hand, and against shapely's buffers of the other layer."""

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import assume, example, given
from hypothesis import strategies as st
from shapely import Polygon

from estimating.glue.joints import joint_areas
from estimating.piece import Allowance, Band, FormSheet, ShopSettings
from estimating.shape.build import Shape, build_shape
from estimating.shape.overlap import Course, contact_areas
from tests.estimating.sheets import modest
from tests.estimating.test_overlap import Layer, circle, course, disc, shape, some_layers

margins = st.floats(1e-6, 9)
"""mm; shapely's buffer of nothing, or thinner than a coordinate can hold, loses segments. No margin is the overlap."""

closed_layers = st.tuples(
    st.integers(3, 40), st.just(0.0), st.floats(40, 120), st.floats(10, 35), st.floats(-400, 400)
)


def coated(below: Course, above: Course, margin: float) -> float:
    """Of the lower face."""
    return float(contact_areas(below, above.grown(margin))[0])


def ring_of(layer: Layer) -> Polygon:
    """A closed layer as one polygon with a hole: shapely's union of its segments may be slit by rounding."""
    segments, _, outer, inner, angle = layer
    corners = [math.radians(angle) + math.pi * (2 * k + 1) / segments for k in range(segments)]
    shell, hole = (
        [(r * math.cos(corner), r * math.sin(corner)) for corner in corners]
        for r in (outer / math.cos(math.pi / segments), inner)
    )
    return Polygon(shell, [hole])


def flare(*, layers: int = 4, outward: float = 5.0, gap: float = 0.0, segments: int = 12) -> Shape:
    """A wall of layers 10 high, 20 wide, each so much wider than the one below it."""
    top = 60.0 + outward * layers
    outer = ((0.0, 60.0), (10.0 * layers, top))
    return build_shape(
        form=FormSheet(outer),
        allowance=Allowance(),
        bands=tuple(Band(f"{n}", 1, 10.0, segments, ("ash",), gap=gap) for n in range(layers)),
        shop=ShopSettings(),
    )


# --- by hand --------------------------------------------------------------------------------------------------


def test_a_ring_on_a_narrower_one_is_coated_to_a_line_beyond_each() -> None:
    """40 to 50 under 45 to 55, 3 beyond: the lower is coated from 42 to 50, the upper from 45 to 53."""
    lower, upper = (12, 0.0, 50.0, 40.0 / math.cos(math.pi / 12), 0.0), (12, 0.0, 55.0, 45.0, 0.0)
    upper = (12, 0.0, 55.0, 45.0 / math.cos(math.pi / 12), 0.0)
    of_apothem_1 = 12 * math.tan(math.pi / 12)
    found = coated(course(lower), course(upper), 3), coated(course(upper), course(lower), 3)
    assert found == pytest.approx((of_apothem_1 * (50**2 - 42**2), of_apothem_1 * (53**2 - 45**2)), rel=1e-12)


def test_a_stack_that_flares_is_coated_beyond_what_touches_and_a_straight_one_is_not() -> None:
    flaring, straight = flare(), flare(outward=0.0)
    assert (joint_areas([flaring], margin=3).margins > 1).all()
    assert joint_areas([straight], margin=3).margins == pytest.approx(np.zeros(3), abs=1e-9)


def test_discs_that_widen_upward_are_coated_by_hand() -> None:
    """Solid polygons of 12 sides, apothems 65 and 70: the upper is coated to 65 + 3, the lower all over."""
    found = joint_areas([flare(layers=2)], margin=3)
    of_apothem_1 = 12 * math.tan(math.pi / 12)
    assert found.faces == pytest.approx([of_apothem_1 * 65**2], rel=1e-12)
    assert found.coated == pytest.approx([of_apothem_1 * (65**2 + 68**2) / 2], rel=1e-12)
    assert found.all_coated - found.all_faces == pytest.approx(of_apothem_1 * (68**2 - 65**2) / 2, rel=1e-9)


def test_without_a_margin_what_touches_is_what_is_coated() -> None:
    found = joint_areas([flare()])
    assert found.coated.tolist() == found.faces.tolist()
    assert found.all_coated == found.all_faces


def test_of_two_parts_each_has_its_margins_and_none_lies_between_them() -> None:
    one = joint_areas([flare()], margin=3)
    two = joint_areas([flare(), flare(layers=3)], margin=3)
    assert two.margins[:3] == pytest.approx(one.margins, rel=1e-12)
    assert (two.margins[3], len(two.margins)) == (0, len(two.faces))


# --- against shapely ------------------------------------------------------------------------------------------


@modest
@given(closed_layers, closed_layers, margins)
@example((12, 0.0, 100.0, 30.0, 0.0), (12, 0.0, 95.0, 25.0, 15.0), 3.0)
def test_a_face_is_coated_where_shapelys_buffer_of_the_other_reaches(
    layer: Layer, other: Layer, margin: float
) -> None:
    """Corners drawn out square; a round buffer, which cuts them, takes a little less."""
    face, there = ring_of(layer), ring_of(other)
    square = there.buffer(margin, join_style="mitre", mitre_limit=1000.0)
    rounded = there.buffer(margin, quad_segs=1000)
    expected, least = (face.intersection(reach).area for reach in (square, rounded))
    found = coated(course(layer), course(other), margin)
    assert found == pytest.approx(expected, rel=1e-9, abs=1e-6)
    phi = math.pi / other[0]
    corners = other[0] * (math.tan(phi) - phi) * margin**2
    assert least - 1e-6 <= found <= least + corners * 1.001 + 1e-6


@modest
@given(some_layers, st.floats(30, 130), st.sampled_from([0.0, 6.0]), margins)
def test_a_face_under_a_disc_is_coated_where_a_round_buffer_reaches(
    layer: Layer, outer: float, inner: float, margin: float
) -> None:
    reach = circle(outer + margin, inner - margin) if inner > margin else circle(outer + margin, 0.0)
    expected = shape(layer).intersection(reach).area  # type: ignore[attr-defined]
    found = coated(course(layer), disc(outer, inner), margin)
    assert found == pytest.approx(expected, rel=1e-6, abs=1e-7 * math.pi * 140**2)


@modest
@given(some_layers, some_layers, margins)
def test_open_layers_are_coated_inwards_and_outwards_and_never_beyond_a_buffer(
    layer: Layer, other: Layer, margin: float
) -> None:
    face, there = shape(layer), shape(other)
    assume(other[1] > 0)  # shapely's buffer of segments that touch leaves slivers out
    reach = there.buffer(margin, join_style="mitre", mitre_limit=1000.0)  # type: ignore[attr-defined]
    most = face.intersection(reach).area  # type: ignore[attr-defined]
    least = face.intersection(there).area  # type: ignore[attr-defined]
    assert least - 1e-4 <= coated(course(layer), course(other), margin) <= most * (1 + 1e-9) + 1e-4


@modest
@given(st.integers(2, 6), st.floats(-4, 8), st.sampled_from([0.0, 0.2]), st.floats(0, 8), st.floats(0, 8))
def test_a_wider_margin_never_coats_less_and_never_more_than_the_faces(
    layers: int, outward: float, gap: float, one: float, other: float
) -> None:
    piece = flare(layers=layers, outward=outward, gap=gap)
    narrow, wide = (joint_areas([piece], margin=margin).coated for margin in sorted((one, other)))
    assert (wide >= narrow - 1e-6).all()
    tan = 12 * np.array([math.tan(piece.rings[ring].half_angle) for ring in piece.ring_of])
    faces = [
        (n * outer**2 - n * inner**2)
        for n, (outer, inner) in zip(tan, (piece.rings[ring].face() for ring in piece.ring_of), strict=True)
    ]
    for between, (below, above) in zip(wide, pairwise(faces), strict=True):
        assert between <= (below + above) / 2 * (1 + 1e-9)
