"""Ready forms against closed formulas and the egg's published equation."""

import re
from math import log, pi, sqrt
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from estimating.errors import InvalidSheet
from estimating.picture.silhouette import SIDE, silhouette
from estimating.shape.curves import smooth_curve, straight_curve
from estimating.shape.forms import Form
from estimating.shape.ready import READY_FORMS, STRAIGHT_FORMS, curve_points, ready_curve
from estimating.shape.walls import wall_curve
from estimating.sheet import read_sheet

sizes = st.floats(10, 400)


def ready_form(kind: str, **measures: float) -> Form:
    return Form(ready_curve(kind, measures))


@given(diameter=sizes)
def test_a_sphere_has_the_volume_and_surface_of_the_school_formulas(diameter: float) -> None:
    sphere, radius = ready_form("sphere", diameter=diameter), diameter / 2
    # 4/3 pi r^3 and 4 pi r^2 (Archimedes); both are polynomials here, so only rounding differs.
    assert sphere.volume == pytest.approx(4 / 3 * pi * radius**3, rel=1e-12)
    assert sphere.outer_surface == pytest.approx(4 * pi * radius**2, rel=1e-12)


@given(height=sizes, diameter=sizes)
def test_an_ellipsoid_has_the_volume_of_its_three_axes(height: float, diameter: float) -> None:
    assert ready_form("ellipsoid", height=height, diameter=diameter).volume == pytest.approx(
        pi / 6 * diameter**2 * height, rel=1e-12
    )


def test_a_cone_has_the_volume_and_side_of_the_frustum_formulas() -> None:
    # R = 60, r = 40, h = 50: pi h / 3 (R^2 + R r + r^2), pi (R + r) slant.
    cone = ready_form("cone", height=50, bottom_diameter=120, top_diameter=80)
    assert cone.volume == pytest.approx(pi * 50 / 3 * (3600 + 2400 + 1600), rel=1e-12)
    assert cone.outer_surface == pytest.approx(pi * 100 * sqrt(50**2 + 20**2), rel=1e-12)


# Huegelschaeffer eggs (L, B, w): volume and surface by numeric integration of y(x) with 400,000 points; the tolerance
# is what that leaves, a few units of the fifth decimal.
EGGS = {
    (60, 45, 0.5): (63613.7168, 7814.9830),
    (60, 45, 2): (63560.6666, 7814.0334),
    (57, 44, 3): (57651.9239, 7308.1490),
}


@pytest.mark.parametrize(("measures", "figures"), EGGS.items())
def test_an_egg_has_the_volume_and_surface_of_its_equation(
    measures: tuple[float, float, float], figures: tuple[float, float]
) -> None:
    length, breadth, shift = measures
    egg = ready_form("egg", height=length, diameter=breadth, shift=shift)
    assert egg.volume == pytest.approx(figures[0], abs=2e-4)
    assert egg.outer_surface == pytest.approx(figures[1], abs=2e-4)


@given(length=st.floats(20, 300), breadth=st.floats(10, 300), share=st.floats(0.02, 0.44))
def test_an_egg_s_volume_is_that_of_the_integral_in_closed_form(
    length: float, breadth: float, share: float
) -> None:
    w = share * length
    # pi B^2 / (256 w^3) [4 w L (L^2 + 4 w^2) - (L^2 - 4 w^2)^2 ln((L + 2 w)/(L - 2 w))], integrated by hand from
    # Narushin et al. 2021; it loses digits to cancellation as w shrinks.
    closed = (
        pi
        * breadth**2
        / (256 * w**3)
        * (
            4 * w * length * (length**2 + 4 * w**2)
            - (length**2 - 4 * w**2) ** 2 * log((length + 2 * w) / (length - 2 * w))
        )
    )
    assert ready_form("egg", height=length, diameter=breadth, shift=w).volume == pytest.approx(
        closed, rel=1e-8
    )


def test_an_egg_is_widest_where_its_shift_says_and_as_wide_as_asked() -> None:
    egg = ready_form("egg", height=120, diameter=80, shift=10)
    assert egg.largest_diameter == pytest.approx(80, rel=1e-12)
    assert float(egg.outer.radius(np.array([50.0]))[0]) == pytest.approx(40, rel=1e-12)


@given(diameter=st.floats(40, 300), share=st.floats(0.02, 0.9))
def test_a_wall_inside_a_sphere_leaves_a_smaller_sphere(diameter: float, share: float) -> None:
    radius, wall = diameter / 2, share * diameter / 2
    inner = wall_curve(ready_curve("sphere", {"diameter": diameter}), wall=wall, opening=0.0)
    heights = np.linspace(0, diameter, 41)
    expected = np.maximum((radius - wall) ** 2 - (heights - radius) ** 2, 0.0)
    # The wall is laid in pieces that agree in r^2 to 1e-10 of the largest.
    assert np.max(np.abs(inner.radius(heights) ** 2 - expected)) <= 2e-10 * radius**2
    left = float(inner.square_integral(np.array([0.0]), np.array([diameter]))[0]) * pi
    assert left == pytest.approx(4 / 3 * pi * (radius - wall) ** 3, rel=1e-6, abs=1e-9 * radius**3)


MEASURES: dict[str, dict[str, float]] = {
    "cylinder": {"height": 90, "diameter": 80},
    "cone": {"height": 90, "bottom_diameter": 60, "top_diameter": 100},
    "sphere": {"diameter": 90},
    "ellipsoid": {"height": 90, "diameter": 120},
    "egg": {"height": 90, "diameter": 70, "shift": 6},
    "bowl": {"height": 90, "foot_diameter": 70, "rim_diameter": 220},
    "platter": {"height": 90, "foot_diameter": 120, "rim_diameter": 360},
    "vase": {
        "height": 90,
        "foot_diameter": 50,
        "belly_diameter": 110,
        "neck_diameter": 40,
        "lip_diameter": 60,
    },
    "bottle": {"height": 90, "body_diameter": 80, "neck_diameter": 30},
    "goblet_bowl": {"height": 90, "stem_diameter": 20, "bowl_diameter": 80, "rim_diameter": 70},
    "finial": {"height": 90, "base_diameter": 30, "waist_diameter": 10, "bead_diameter": 18},
}


def sheet(form: dict[str, Any]) -> dict[str, Any]:
    band = {"layers": 9, "thickness": 10, "segments": 12, "woods": ["maple"]}
    return {"title": "Ready", "unit": "mm", "form": form, "bands": [band]}


def test_every_ready_form_has_measures_here() -> None:
    assert MEASURES.keys() == READY_FORMS.keys()


@pytest.mark.parametrize("kind", READY_FORMS)
def test_a_ready_form_is_as_high_and_as_voluminous_as_its_own_curve(kind: str) -> None:
    built = ready_form(kind, **MEASURES[kind])
    assert built.height == pytest.approx(90, rel=1e-12)

    def disc(z: float) -> float:
        return pi * float(built.outer.radius(np.array([z]))[0]) ** 2

    parts = zip(built.outer.breaks[:-1], built.outer.breaks[1:], strict=True)
    assert built.volume == pytest.approx(sum(quad(disc, a, b)[0] for a, b in parts), rel=1e-9)


@pytest.mark.parametrize("kind", READY_FORMS)
def test_a_sheet_may_give_a_ready_form_in_place_of_points(kind: str) -> None:
    read = read_sheet(sheet({"kind": kind, **MEASURES[kind], "inside": {"kind": "solid"}}))
    assert read.parts[0].form.ready is not None
    assert dict(read.parts[0].form.ready.measures) == MEASURES[kind]


@pytest.mark.parametrize(
    ("form", "error"),
    [
        ({"kind": "cube", "height": 90}, "form.kind: must be"),
        ({"kind": "sphere"}, "form.diameter: is missing"),
        ({"kind": "sphere", "diameter": 0}, "form.diameter: must be more than 0"),
        ({"kind": "sphere", "diameter": 90, "outer": [[0, 1], [2, 3]]}, "form.outer: is not a key here"),
        ({"kind": "egg", "height": 90, "diameter": 70, "shift": 44}, "form.shift: must be at most 40.5 mm"),
        (
            {"kind": "cone", "height": 90, "bottom_diameter": 0, "top_diameter": 0},
            "form.top_diameter: must be",
        ),
    ],
)
def test_a_ready_form_that_is_none_is_refused_at_its_measure(form: dict[str, Any], error: str) -> None:
    with pytest.raises(InvalidSheet) as refused:
        read_sheet(sheet(form))
    assert any(str(found).startswith(error) for found in refused.value.errors)


@pytest.mark.parametrize("kind", READY_FORMS)
def test_a_form_in_usual_proportions_is_as_high_and_wide_as_asked(kind: str) -> None:
    measures = READY_FORMS[kind].usual_measures(height=150, diameter=150)
    built = ready_form(kind, **measures)
    assert built.height == pytest.approx(150, rel=1e-12)
    assert built.largest_diameter == pytest.approx(150, rel=1e-9)


@pytest.mark.parametrize("kind", READY_FORMS)
def test_a_form_becomes_points_whose_curve_is_near_it(kind: str) -> None:
    curve = ready_curve(kind, READY_FORMS[kind].usual_measures(height=120, diameter=150))
    heights, radii = np.array(curve_points(curve)).T
    through = (straight_curve if kind in STRAIGHT_FORMS else smooth_curve)(heights, radii)
    between = np.linspace(curve.bottom, curve.top, 400)
    # A curve that is laid through points comes back as it was. A round end stands upright on the axis, which no
    # cubic does: its discs are compared rather than its radii, and may miss by a hundredth of the largest.
    allowed = 0.012 * 75**2 if curve.squared else 1e-9
    assert np.max(np.abs(through.radius(between) ** 2 - curve.radius(between) ** 2)) <= allowed


@pytest.mark.parametrize("place", ["form", "inside"])
def test_an_unknown_kind_is_the_one_error_whatever_measures_stand_beside_it(place: str) -> None:
    form = {"kind": "sphere", "diameter": 90} | {"inside": {"kind": "wall", "wall": 6, "floor": 9}}
    form |= {"kind": "teapot", "spout": 3} if place == "form" else {"inside": {"kind": "wal", "wall": 6}}
    with pytest.raises(InvalidSheet) as refused:
        read_sheet(sheet(form))
    (error,) = refused.value.errors
    assert error.place == ("form.kind" if place == "form" else "form.inside.kind")


@pytest.mark.parametrize("kind", READY_FORMS)
@given(height=sizes, diameter=sizes)
def test_a_silhouette_stands_in_its_square_as_wide_to_its_height_as_the_form(
    kind: str, height: float, diameter: float
) -> None:
    curve = ready_curve(kind, READY_FORMS[kind].usual_measures(height=height, diameter=diameter))
    path = re.search(r' d="M(.+?)Z"', silhouette(curve))
    assert path is not None
    xs, ys = zip(*(map(float, point.split(",")) for point in path[1].split()), strict=True)
    wide, high = max(xs) - min(xs), max(ys) - min(ys)
    # Written to a hundredth.
    assert max(wide, high) == pytest.approx(SIDE, abs=0.02)
    assert max(ys) == SIDE
    assert min(xs) + max(xs) == pytest.approx(SIDE, abs=0.02)
    # The widest place of a round form may fall between two heights that are drawn.
    form = Form(curve)
    assert wide * form.height == pytest.approx(high * form.largest_diameter, rel=0.01, abs=0.03 * form.height)
