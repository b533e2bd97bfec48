"""Force, clamps and bands: a magazine's worked panel, the balance of half a ring, and what no force suits."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants

from estimating.glue.holding import (
    Hold,
    band_tension,
    clamps_for,
    hold_pile,
    press_force,
    radial_pressure,
)
from estimating.piece import ShopSettings
from tests.estimating.sheets import modest

PSI = constants.psi / 1e6  # MPa
POUND = constants.pound_force
INCH = constants.inch * 1000


# A woodworking magazine (September 2021, pressreader.com): a panel of boards 1 in. thick and 25 in. long at 150 lb/in2
# takes 3,750 lb: nine clamps at 420 lb each, eight at 470. Far apart, so that the spacing asks for none.
@pytest.mark.parametrize(("each", "clamps"), [(420, 9), (470, 8)])
def test_the_clamps_of_a_printed_panel(each: float, clamps: int) -> None:
    (force, _) = press_force([25 * INCH * INCH], pressure=(150 * PSI, 250 * PSI))
    assert force / POUND == pytest.approx(3750, rel=1e-9)
    shop = ShopSettings(clamp_force_n=each * POUND, clamp_spacing=1e9)
    assert clamps_for(force, around=25 * INCH, shop=shop) == clamps


def test_clamps_stand_no_farther_apart_than_the_shop_sets_them_and_are_two_at_least() -> None:
    shop = ShopSettings(clamp_spacing=100.0, clamp_force_n=2000.0)
    assert clamps_for(10.0, around=400.0, shop=shop) == 4
    assert clamps_for(10.0, around=400.1, shop=shop) == 5
    assert clamps_for(10_000.1, around=400.0, shop=shop) == 6
    assert clamps_for(10.0, around=50.0, shop=shop) == 2


@pytest.mark.parametrize("radius", [30.0, 60.0, 150.0])
def test_a_band_pulls_as_hard_as_it_presses_the_joints_whatever_the_ring_s_width(radius: float) -> None:
    """Half a ring in balance: what the band presses with, added up over the half circle, is what two joints bear."""
    area, height = 220.0, 11.0
    tension, _ = band_tension(area, pressure=(0.7, 1.7))
    pressed = radial_pressure(tension, height=height, radius=radius)
    steps = 100_000
    angles = (np.arange(steps) + 0.5) * math.pi / steps
    across = float((pressed * np.sin(angles)).sum() * math.pi / steps * radius * height)
    assert across == pytest.approx(2 * 0.7 * area, rel=1e-6)


# Strength of materials, a thin circular ring under radial loading p a length: tension p r (the balance of its half).
def test_a_thin_ring_under_radial_loading_has_the_textbook_s_tension() -> None:
    assert radial_pressure(1000.0, height=10.0, radius=50.0) * 10.0 * 50.0 == pytest.approx(1000.0)


@modest
@given(
    st.lists(st.floats(10, 1e5), min_size=1, max_size=8),
    st.floats(0.01, 1),
    st.floats(1, 10),
    st.floats(10, 400),
)
def test_a_pile_s_force_presses_every_joint_within_the_label_s_range(
    areas: list[float], low: float, times: float, radius: float
) -> None:
    hold = hold_pile("press", areas, rim_radius=radius, pressure=(low, low * times), shop=ShopSettings())
    assert hold.force is not None
    least, most = hold.force
    if not hold.starves:
        for area in areas:
            assert low * (1 - 1e-9) <= least / area
            assert most / area <= low * times * (1 + 1e-9)
    else:
        assert max(areas) / min(areas) > times * (1 - 1e-9)
    assert hold.clamps * ShopSettings().clamp_force_n >= least * (1 - 1e-9)
    assert hold.each * hold.clamps == pytest.approx(most)


def test_nothing_glued_face_to_face_wants_no_clamps() -> None:
    hold = hold_pile("press", [0.0], rim_radius=50, pressure=(0.1, 0.2), shop=ShopSettings())
    assert hold == Hold("press", (0.1, 0.2))
    assert (hold.each, hold.starves) == (0.0, False)
