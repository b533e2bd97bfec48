"""Wood between two moistures: the handbook's example, its two forms held together, rings built up from points."""

import cmath
from math import cos, hypot, log, pi, radians, sin, tan

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from estimating.errors import InvalidInput
from estimating.wood.movement import (
    Free,
    Strain,
    closing,
    coefficient_form,
    coefficient_of,
    free_disc,
    free_ring,
    mismatch,
    shrinkage_form,
    turned_to_ring,
    widest_disc,
)
from estimating.wood.species import published_species
from tests.estimating.sheets import modest

# Coefficients of dimensional change, radial and tangential, for 1 % of moisture: Wood Handbook (FPL-GTR-190), 13-5.
TABLE_13_5 = {
    "alder": (0.00151, 0.00256), "ash": (0.00169, 0.00274), "aspen": (0.00119, 0.00234), "beech": (0.00190, 0.00431),
    "birch": (0.00256, 0.00338), "buckeye": (0.00123, 0.00285), "butternut": (0.00116, 0.00223),
    "cherry": (0.00126, 0.00248), "chestnut": (0.00116, 0.00234), "cottonwood": (0.00133, 0.00327),
    "elm": (0.00144, 0.00338), "hackberry": (0.00165, 0.00315), "maple": (0.00165, 0.00353),
    "persimmon": (0.00278, 0.00403), "sassafras": (0.00137, 0.00216), "sweetgum": (0.00183, 0.00365),
    "sycamore": (0.00172, 0.00296), "tanoak": (0.00169, 0.00423), "tupelo": (0.00176, 0.00308),
    "walnut": (0.00190, 0.00274),
}  # fmt: skip


@pytest.mark.parametrize(("key", "printed"), TABLE_13_5.items(), ids=TABLE_13_5)
def test_coefficients_follow_from_the_shrinkage_of_the_same_wood(
    key: str, printed: tuple[float, float]
) -> None:
    wood = published_species()[key]
    assert wood.shrink_radial_pct is not None
    assert wood.shrink_tangential_pct is not None
    found = [coefficient_of(s) for s in (wood.shrink_radial_pct, wood.shrink_tangential_pct)]
    assert found == pytest.approx(printed, abs=1.01e-5)  # a unit of the last printed digit


def test_the_handbook_s_flatsawn_board_grows_as_it_says() -> None:
    """Ch. 13: 232 mm (9.15 in.) wide, 8 to 11 %, C_T 0.00245: 233.7 mm (9.217 in.) wide in the end."""
    strain = coefficient_form(coefficient=0.00245, start=8, end=11)
    assert 232 * (1 + strain) == pytest.approx(233.7, abs=0.05)
    assert 9.15 * (1 + strain) == pytest.approx(9.217, abs=0.0005)


def test_the_shrinkage_form_grows_the_handbook_s_board_alike() -> None:
    """White fir, S_T 7.0 % (Table 4-3): C_T comes out as printed, and the size to the printed digit."""
    assert coefficient_of(7.0) == pytest.approx(0.00245, abs=5e-6)
    assert coefficient_of(3.3) == pytest.approx(0.00112, abs=5e-6)
    assert 232 * (1 + shrinkage_form(shrink_pct=7.0, start=8, end=11)) == pytest.approx(233.7, abs=0.05)


shrinkages = st.floats(1.5, 14.0)
moistures = st.floats(0.0, 30.0)
inside = st.floats(6.0, 14.0)


@modest
@given(shrinkages, inside, inside)
def test_the_two_forms_part_by_no_more_than_their_different_starts(
    s: float, start: float, end: float
) -> None:
    """One divides by the size at the start, the other by that at 10 %: the sizes differ by S / 30 % a per cent."""
    by_shrinkage = shrinkage_form(shrink_pct=s, start=start, end=end)
    by_coefficient = coefficient_form(coefficient=coefficient_of(s), start=start, end=end)
    sizes = (3000 - 30 * s + 10 * s) / (3000 - 30 * s + start * s)
    assert by_shrinkage == pytest.approx(by_coefficient * sizes, rel=1e-9, abs=1e-15)
    assert by_shrinkage == pytest.approx(by_coefficient, rel=0.02)


@modest
@given(shrinkages, inside)
def test_the_two_forms_are_one_from_ten_per_cent(s: float, end: float) -> None:
    assert shrinkage_form(shrink_pct=s, start=10, end=end) == pytest.approx(
        coefficient_form(coefficient=coefficient_of(s), start=10, end=end), rel=1e-12, abs=1e-15
    )


@modest
@given(shrinkages, moistures, moistures)
def test_sizes_lie_on_the_straight_line_from_green_to_ovendry(s: float, start: float, end: float) -> None:
    """Ch. 4: S_M = S (30 - M) / 30 of the green size, so a size at M is 1 - S_M."""
    at = {m: 1 - s / 100 * (30 - m) / 30 for m in (start, end)}
    strain = shrinkage_form(shrink_pct=s, start=start, end=end)
    assert 1 + strain == pytest.approx(at[end] / at[start], rel=1e-12)


@modest
@given(shrinkages, moistures, moistures)
def test_wood_that_goes_and_comes_back_is_as_it_was(s: float, start: float, end: float) -> None:
    there = shrinkage_form(shrink_pct=s, start=start, end=end)
    back = shrinkage_form(shrink_pct=s, start=end, end=start)
    assert (1 + there) * (1 + back) == pytest.approx(1, rel=1e-12)


@modest
@given(st.floats(-0.03, 0.03), st.floats(0, pi / 2))
def test_turned_grain_moves_as_a_turned_square_of_wood_does(across: float, grain: float) -> None:
    """A second way: the matrix of the strain turned by the angle."""
    turn = np.array([[cos(grain), -sin(grain)], [sin(grain), cos(grain)]])
    (round_, _), (_, height) = turn @ np.diag([0, across]) @ turn.T
    found = turned_to_ring(across, grain=grain)
    assert (found.width, found.height, found.round) == pytest.approx((across, height, round_), abs=1e-15)


def test_segments_keep_their_length_and_staves_their_height() -> None:
    assert turned_to_ring(0.01, grain=0) == Strain(width=0.01, height=0.01, round=0.0)
    assert turned_to_ring(0.01, grain=pi / 2) == Strain(width=0.01, height=0.0, round=0.01)


ring_sizes = st.tuples(st.floats(20, 150), st.floats(0.05, 0.95)).map(lambda r: (r[0], r[0] * r[1]))
strains = st.floats(-0.03, 0.03)


@modest
@given(ring_sizes, strains)
def test_a_ring_keeps_its_middle_circle_and_grows_by_its_width(
    size: tuple[float, float], width: float
) -> None:
    outer, inner = size
    free = free_ring(Strain(width, width, 0.0), outer=outer, inner=inner)
    moved = [free.offset + free.slope * r for r in (outer, (outer + inner) / 2, inner)]
    assert moved[1] == pytest.approx(0, abs=1e-12)
    assert moved[0] - moved[2] == pytest.approx(width * (outer - inner), abs=1e-12)


@modest
@given(st.floats(20, 150), st.floats(0.6, 0.95), st.floats(0.001, 0.03))
def test_the_circle_that_stays_is_near_the_one_of_no_force(outer: float, share: float, width: float) -> None:
    """Second way: a ring stiff along its grain, cut anywhere, has no force across the cut.

    The strain along the grain is (u_m + e (r - r_m)) / r, and its sum over the width must be nothing; by Simpson's
    rule and a root finder. The logarithmic mean lies below the middle by w^2 / 12 r and little more.
    """
    inner = outer * share
    radii = np.linspace(inner, outer, 2001)

    def force(stays: float) -> float:
        return float(np.trapezoid(width * (radii - stays) / radii, radii))

    stays = brentq(force, inner, outer)
    assert stays == pytest.approx((outer - inner) / log(outer / inner), rel=1e-6)
    middle = (outer + inner) / 2
    assert 0 < middle - stays < 1.1 * (outer - inner) ** 2 / (12 * middle)


@modest
@given(ring_sizes, strains)
def test_a_ring_of_staves_grows_like_a_plate(size: tuple[float, float], across: float) -> None:
    free = free_ring(turned_to_ring(across, grain=pi / 2), outer=size[0], inner=size[1])
    assert free.offset + free.slope * size[0] == pytest.approx(across * size[0], abs=1e-12)


# By hand, 1 % each: a disc 100 mm in radius moves 1 mm across its grain; a ring 80 to 100 mm keeps 90 mm, so its edge
# moves 0.1 mm. Along its grain the disc stays and the ring moves its 0.1 mm.
@pytest.mark.parametrize(
    ("below", "above", "most"),
    [
        (free_disc(0.01, grain=0), free_disc(0.01, grain=0), 0.0),
        (free_disc(0.01, grain=0), free_disc(0.01, grain=pi / 2), 1.0),
        (free_disc(0.01, grain=0), free_disc(0.01, grain=pi), 0.0),
        (free_disc(0.01, grain=0), free_disc(0.004, grain=0), 0.6),
        (free_disc(0.01, grain=0), Free(), 1.0),
        (free_disc(0.01, grain=0), free_ring(Strain(0.01, 0.01, 0), outer=100, inner=80), 0.9),
        (free_disc(0.001, grain=0), free_ring(Strain(0.01, 0.01, 0), outer=100, inner=80), 0.18),
        (free_ring(Strain(0.01, 0.01, 0), outer=100, inner=80), Free(), 0.1),
    ],
)
def test_what_slides_at_a_glue_line_is_what_comes_out_by_hand(below: Free, above: Free, most: float) -> None:
    assert mismatch(below, above, outer=100, inner=80) == pytest.approx(most, abs=1e-12)
    assert mismatch(above, below, outer=100, inner=80) == pytest.approx(most, abs=1e-12)


frees = st.builds(Free, st.floats(-1, 1), strains, strains, st.floats(0, pi))


@modest
@given(frees, frees, ring_sizes)
def test_the_mismatch_is_the_largest_found_all_round_the_joint(
    one: Free, other: Free, size: tuple[float, float]
) -> None:
    radii = np.linspace(size[1], size[0], 3)[:, None]
    angles = np.linspace(0, pi, 3601)[None, :]

    def moved(free: Free) -> np.ndarray:
        return free.offset + radii * (free.slope + free.across * np.cos(angles - free.grain) ** 2)

    found = mismatch(one, other, outer=size[0], inner=size[1])
    # 0.05 degrees apart: the largest lies within half of that of an angle looked at
    slack = abs(one.across) + abs(other.across)
    assert found == pytest.approx(np.abs(moved(one) - moved(other)).max(), abs=size[0] * slack * 1e-6 + 1e-12)


def joint_of_two(
    *, n: int, outer: float, inner: float, width: float, grow: float
) -> tuple[float, float, float]:
    """Two neighbours of a ring drawn as points: the angle between their faces, and the distances at both ends.

    Each segment is a trapezium with its middle line out from the axis; it swells, is set back so that its faces touch
    where they first meet, and the distances are what is left at the inner and outer ends.
    """
    half = pi / n
    corners = [complex(x, x * tan(half) * grow_sign) for x in (inner, outer) for grow_sign in (1, -1)]
    swollen = [complex(c.real * (1 + width), c.imag * (1 + grow)) for c in corners]
    first = [
        c * cmath.exp(-1j * half) for c in swollen[0::2]
    ]  # the upper face, joint plane along the real axis
    second = [c * cmath.exp(1j * half) for c in swollen[1::2]]  # the lower face of the next
    gaps = [b.imag - a.imag for a, b in zip(first, second, strict=True)]
    touching = min(gaps)
    first_way, second_way = first[1] - first[0], second[1] - second[0]
    return cmath.phase(second_way / first_way), gaps[0] - touching, gaps[1] - touching


@modest
@given(st.integers(3, 60), ring_sizes, strains, st.floats(0, 0.03))
def test_a_joint_opens_as_two_drawn_segments_do(
    n: int, size: tuple[float, float], width: float, grow: float
) -> None:
    found = closing(Strain(width, width, grow), segments=n, half_angle=pi / n, outer=size[0], inner=size[1])
    angle, at_inside, at_outside = joint_of_two(n=n, outer=size[0], inner=size[1], width=width, grow=grow)
    assert found.joint == pytest.approx(angle, abs=1e-12)
    assert found.all_joints == pytest.approx(n * angle, abs=1e-10)
    assert found.opening == pytest.approx(
        max(at_inside, at_outside), rel=1e-3, abs=1e-9
    )  # an arc, not its chord
    if abs(width - grow) > 1e-6:
        assert found.opens == ("outside" if at_outside > at_inside else "inside")


def test_a_ring_of_very_many_segments_opens_by_its_swelling_of_the_whole_turn() -> None:
    """n times e sin(2 phi) goes to 2 pi e."""
    found = closing(Strain(0.01, 0.01, 0), segments=360, half_angle=pi / 360, outer=100, inner=80)
    assert found.all_joints == pytest.approx(2 * pi * 0.01, rel=0.011)  # first order in the 1 %
    assert found.opens == "outside"


def test_shrinking_segments_open_inside_and_still_ones_nowhere() -> None:
    dry = closing(Strain(-0.01, -0.01, 0), segments=12, half_angle=pi / 12, outer=100, inner=80)
    still = closing(Strain(0, 0, 0), segments=12, half_angle=pi / 12, outer=100, inner=80)
    assert (dry.opens, still.opens) == ("inside", "nowhere")
    assert still.opening == still.forced == 0


def test_the_forced_strain_is_that_of_the_edges_moved_by_half_the_width_s_change() -> None:
    """1 % of 20 mm, half of it at each edge, 0.1 mm, on a middle circle of 90 mm radius."""
    found = closing(Strain(0.01, 0.01, 0), segments=12, half_angle=pi / 12, outer=100, inner=80)
    assert found.forced == pytest.approx(0.1 / 90, rel=1e-12)
    # so wide would each gape: the end's length by the angle, e sin(2 phi)
    assert found.opening == pytest.approx(
        hypot(20.2, 20 * tan(radians(15))) * 0.01 * sin(radians(30)), rel=0.01
    )


def test_the_widest_disc_moves_just_the_limit() -> None:
    assert widest_disc([0.004, -0.01], limit=0.4) == pytest.approx(80, rel=1e-12)
    assert widest_disc([0.0], limit=0.4) is None


@pytest.mark.parametrize(
    ("start", "end", "message"),
    [
        (-1, 8, "start: must be a moisture from 0 to 30 %, not -1"),
        (8, 31, "end: must be a moisture from 0 to 30 %, not 31"),
        (float("nan"), 8, "start: must be a moisture from 0 to 30 %, not nan"),
    ],
)
def test_moistures_past_fibre_saturation_are_refused(start: float, end: float, message: str) -> None:
    with pytest.raises(InvalidInput, match=message):
        shrinkage_form(shrink_pct=7.8, start=start, end=end)


@pytest.mark.parametrize(
    ("start", "end", "place"), [(5.9, 8, "start"), (8, 14.1, "end"), (8, float("nan"), "end")]
)
def test_coefficients_are_not_used_where_they_do_not_hold(start: float, end: float, place: str) -> None:
    with pytest.raises(InvalidInput, match=f"{place}: must be from 6 to 14 %, where coefficients hold"):
        coefficient_form(coefficient=0.00274, start=start, end=end)


@pytest.mark.parametrize("shrink", [0, -3, 50, float("nan")])
def test_what_is_no_shrinkage_of_wood_is_refused(shrink: float) -> None:
    with pytest.raises(InvalidInput, match="shrink_pct: must be more than 0 and less than 50 %"):
        shrinkage_form(shrink_pct=shrink, start=8, end=6)
    with pytest.raises(InvalidInput, match="shrink_pct"):
        coefficient_of(shrink)
