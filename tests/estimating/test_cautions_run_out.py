"""What run-out needs of an allowance: figures by hand, a second reckoning, and rings that miss the form."""

from dataclasses import replace
from math import cos, pi, radians, sin, tan

import numpy as np
import pytest

from estimating.estimate import estimate
from estimating.piece import ShopSettings
from estimating.shape.build import Shape
from estimating.shape.run_out import closing_loss, coverage, height_drift
from estimating.sheet import read_sheet
from tests.estimating.sheets import Json, bowl, changed

HOLLOW = {"kind": "wall", "wall": 8, "floor": 10}


def shape_of(sheet: Json) -> Shape:
    return estimate(read_sheet(sheet)).shapes[0]


def test_height_drifts_by_the_tolerance_and_a_fiftieth_more_with_each_layer() -> None:
    shape = shape_of(bowl())
    shop = read_sheet(changed(bowl(), ["shop", "height_tolerance"], 0.5)).shop
    assert height_drift(shape, shop) == pytest.approx([0.52, 0.54, 0.56, 0.58])


def test_the_radius_lost_in_closing_is_that_of_half_rings_whose_ends_are_cut_back_to_one_plane() -> None:
    """A half ring is built segment on segment, each end of each off by the saw's error: how far its last corner
    stands from the plane through its first end is what is cut off both ends together, half of it at either."""
    ring = replace(shape_of(bowl()).rings[-1], outer_radius=100.0)
    wrong = radians(0.02)
    corner, heading = np.array([100 / cos(pi / 12), 0.0]), 2 * (pi / 12 - wrong)
    turn = np.array([[cos(heading), -sin(heading)], [sin(heading), cos(heading)]])
    for _ in range(6):
        corner = turn @ corner
    assert closing_loss(ring, shop=ShopSettings()) - 0.2 == pytest.approx(abs(corner[1]) / 2, rel=1e-4)


def test_what_has_no_halves_loses_nothing_in_closing() -> None:
    ring = shape_of(bowl()).rings[-1]
    halves = ShopSettings()
    assert closing_loss(ring, shop=halves) > 0.2
    for without in ({"gap": 0.2}, {"segments": 13}, {"segments": 4}, {"made": "solid"}):
        assert closing_loss(replace(ring, **without), shop=halves) == 0.0  # type: ignore[arg-type]
    assert closing_loss(ring, shop=replace(halves, ring_joining="whole")) == 0.0


def test_what_the_shop_takes_off_a_half_is_lost() -> None:
    ring = shape_of(bowl()).rings[-1]
    more = closing_loss(ring, shop=ShopSettings(half_true=0.5)) - closing_loss(ring, shop=ShopSettings())
    assert more == pytest.approx(0.3, abs=1e-12)


def test_a_cone_needs_the_centring_the_drift_on_its_slope_and_the_closing_of_its_halves() -> None:
    """Slope 1 in 2. Layer 3 may stand 0.36 mm off: 0.2 + 0.18, and outside 0.2 + 58 / cos 15 x 12 x 0.02 degrees / 2.

    Layer 4 ends with the form, which reaches no further however far the layer drifts.
    """
    shape = shape_of(changed(bowl(), ["form", "inside"], HOLLOW))
    found = coverage(shape, shop=read_sheet(bowl()).shop)
    closing = 0.2 + 58 / cos(pi / 12) * 12 * radians(0.02) / 2
    assert found.outside_need[2] == pytest.approx(0.38 + closing, abs=1e-9)
    assert found.inside_need[2] == pytest.approx(0.38, abs=1e-6)
    assert found.outside_need[3] == pytest.approx(
        0.2 + 0.2 + 63 / cos(pi / 12) * 12 * radians(0.02) / 2, abs=1e-9
    )


def test_the_blank_covers_the_form_by_its_allowance_inside_and_outside() -> None:
    sheet = changed(bowl(allowance={"outside": 2.5, "inside": 1.5}), ["form", "inside"], HOLLOW)
    found = coverage(shape_of(sheet), shop=read_sheet(sheet).shop)
    assert found.outside == pytest.approx(2.5, abs=1e-9)
    assert found.inside[1:] == pytest.approx(1.5, abs=1e-9)
    assert found.inside[0] == np.inf  # solid: nothing inside that could be missed


def test_staves_cover_by_their_allowance_where_they_are_nearest_to_the_form() -> None:
    form = {"outer": [[0, 40], [70, 75]], "inside": {"kind": "curve", "inner": [[10, 35], [70, 65]]}}
    sheet = bowl(form=form, allowance={"outside": 2, "inside": 3})
    sheet["bands"][1] = {"name": "staves", "made": "staves", "layers": 1, "thickness": 60, "segments": 12} | {
        "woods": ["maple"]
    }
    found = coverage(shape_of(sheet), shop=read_sheet(sheet).shop)
    assert found.outside[1] == pytest.approx(2.0, abs=1e-9)
    assert found.inside[1] == pytest.approx(3.0, abs=1e-9)


def test_a_ring_that_is_made_smaller_misses_the_form_by_as_much() -> None:
    shape = shape_of(changed(bowl(), ["form", "inside"], HOLLOW))
    rings = list(shape.rings)
    rings[2] = replace(
        rings[2], outer_radius=rings[2].outer_radius - 3.4, inner_radius=rings[2].inner_radius + 5
    )
    found = coverage(replace(shape, rings=tuple(rings)), shop=read_sheet(bowl()).shop)
    assert found.outside[2] == pytest.approx(-0.4, abs=1e-9)
    assert found.inside[2] == pytest.approx(-2.0, abs=1e-9)


def test_flat_segments_miss_a_circle_that_only_their_corners_reach() -> None:
    """The middle of a flat is the nearest to the axis: a ring whose corners only reach the form does not cover it."""
    shape = shape_of(bowl(allowance={}))
    rings = [replace(ring, outer_radius=ring.outer_radius * cos(pi / 12)) for ring in shape.rings]
    assert rings[3].corner_radius == pytest.approx(60.0)
    found = coverage(replace(shape, rings=tuple(rings)), shop=read_sheet(bowl()).shop)
    assert found.outside[3] == pytest.approx(-60 * (1 - cos(pi / 12)), abs=1e-9)
    assert rings[3].outer_edge == pytest.approx(2 * 60 * cos(pi / 12) * tan(pi / 12))
