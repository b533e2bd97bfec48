"""Ready forms: the trade's usual shapes from a few natural measures."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from estimating.piece import Point
from estimating.shape.curves import Curve, Floats, smooth_curve, straight_curve

_DEGREE = 12
_NODES = np.cos(np.pi * (np.arange(_DEGREE + 1) + 0.5) / (_DEGREE + 1))
_TO_COEFFICIENTS = np.linalg.inv(np.vander(_NODES, increasing=True))

STRAIGHT_FORMS = frozenset({"cylinder", "cone"})
"""Ready forms of one straight line."""

_POINTS_ON_A_ROUND_FORM = 15

_MOST_SHIFT = 0.45
"""An egg's shift stays below half its height, where the formula's blunt end would have no width left."""


@dataclass(frozen=True, slots=True)
class ReadyForm:
    """A kind of form: the curve it makes of its measures (mm), and usual proportions to start from.

    `usual` has every measure in the order a person gives them, as a share of the largest diameter where its name
    ends so, else of the height.
    """

    curve: Callable[..., Curve]
    usual: Mapping[str, float]
    may_be_zero: frozenset[str] = frozenset()

    @property
    def measures(self) -> tuple[str, ...]:
        """The names of the measures."""
        return tuple(self.usual)

    def usual_measures(self, *, height: float, diameter: float) -> dict[str, float]:
        """The measures of a form in its usual proportions, that high and that wide, mm."""
        return {
            name: share * (diameter if name.endswith("diameter") else height)
            for name, share in self.usual.items()
        }

    def refusal(self, measures: Mapping[str, float]) -> tuple[str, str] | None:
        """The measure at fault and what is wrong with it, where the measures make no shape together."""
        if "shift" in measures and measures["shift"] > _MOST_SHIFT * measures["height"]:
            most = _MOST_SHIFT * measures["height"]
            return (
                "shift",
                f"must be at most {most:.5g} mm, {_MOST_SHIFT:g} of the height, or the egg has no blunt end",
            )
        if self.curve is _cone and not measures["bottom_diameter"] + measures["top_diameter"]:
            return "top_diameter", "must be more than 0 where the bottom comes to a point"
        return None


def _cylinder(*, height: float, diameter: float) -> Curve:
    return straight_curve(np.array([0.0, height]), np.array([diameter, diameter]) / 2)


def _cone(*, height: float, bottom_diameter: float, top_diameter: float) -> Curve:
    return straight_curve(np.array([0.0, height]), np.array([bottom_diameter, top_diameter]) / 2)


def _ellipsoid(*, height: float, diameter: float) -> Curve:
    """r^2 = (D/2)^2 (1 - x^2), x from -1 at the bottom to 1 at the top, in two halves."""
    square = (diameter / 2) ** 2
    lower, upper = [0.75, 0.5, -0.25], [0.75, -0.5, -0.25]
    return Curve(np.array([0.0, height / 2, height]), square * np.array([lower, upper]).T, squared=True)


def _sphere(*, diameter: float) -> Curve:
    return _ellipsoid(height=diameter, diameter=diameter)


def _egg(*, height: float, diameter: float, shift: float) -> Curve:
    """The egg of Huegelschaeffer: an ellipse whose widest place is moved towards the bottom by `shift`.

    r^2 = (B/2)^2 (L^2 - 4 x^2) / (L^2 + 8 w x + 4 w^2), x from -L/2 at the bottom, widest at x = -w.
    Source: Narushin, Romanov & Griffin, Ann. N.Y. Acad. Sci. 1505 (2021) 169-177, doi 10.1111/nyas.14680.
    The quotient is laid in polynomial pieces of degree 12, halved until they agree with it to 1e-11 of the largest.
    """

    def square(z: Floats) -> Floats:
        x = z - height / 2
        below = height**2 + 8 * shift * x + 4 * shift**2
        return (diameter / 2) ** 2 * (height**2 - 4 * x**2) / below

    return _squared_pieces(square, np.array([0.0, height / 2 - shift, height]), scale=(diameter / 2) ** 2)


def _squared_pieces(square: Callable[[Floats], Floats], edges: Floats, *, scale: float) -> Curve:
    check = np.linspace(-1, 1, 23)
    while True:
        middle, half = (edges[:-1] + edges[1:]) / 2, np.diff(edges) / 2
        coefficients = _TO_COEFFICIENTS @ square(middle + half * _NODES[:, None])
        found = np.vander(check, _DEGREE + 1, increasing=True) @ coefficients
        error = np.max(np.abs(found - square(middle + half * check[:, None])), axis=0)
        coarse = (error > 1e-11 * scale) & (half > 1e-4 * (edges[-1] - edges[0]))
        if not np.any(coarse):
            return Curve(edges, coefficients, squared=True)
        edges = np.sort(np.concatenate([edges, middle[coarse]]))


def _smooth(height: float, *points: Point) -> Curve:
    """A smooth curve through (share of the height, diameter)."""
    shares, diameters = np.array(points).T
    return smooth_curve(shares * height, diameters / 2)


def _bowl(*, height: float, foot_diameter: float, rim_diameter: float) -> Curve:
    middle = foot_diameter + 0.72 * (rim_diameter - foot_diameter)
    return _smooth(height, (0, foot_diameter), (0.4, middle), (1, rim_diameter))


def _platter(*, height: float, foot_diameter: float, rim_diameter: float) -> Curve:
    well = foot_diameter + 0.45 * (rim_diameter - foot_diameter)
    return _smooth(height, (0, foot_diameter), (0.55, well), (1, rim_diameter))


def _vase(
    *, height: float, foot_diameter: float, belly_diameter: float, neck_diameter: float, lip_diameter: float
) -> Curve:
    return _smooth(
        height, (0, foot_diameter), (0.42, belly_diameter), (0.84, neck_diameter), (1, lip_diameter)
    )


def _bottle(*, height: float, body_diameter: float, neck_diameter: float) -> Curve:
    return _smooth(
        height, (0, body_diameter), (0.5, body_diameter), (0.72, neck_diameter), (1, neck_diameter)
    )


def _goblet_bowl(*, height: float, stem_diameter: float, bowl_diameter: float, rim_diameter: float) -> Curve:
    return _smooth(height, (0, stem_diameter), (0.6, bowl_diameter), (1, rim_diameter))


def _finial(*, height: float, base_diameter: float, waist_diameter: float, bead_diameter: float) -> Curve:
    points = ((0, base_diameter), (0.25, waist_diameter), (0.5, bead_diameter), (1, 0.15 * waist_diameter))
    return _smooth(height, *points)


READY_FORMS: Mapping[str, ReadyForm] = {
    "cylinder": ReadyForm(_cylinder, {"height": 1, "diameter": 1}),
    "cone": ReadyForm(
        _cone,
        {"height": 1, "bottom_diameter": 0.6, "top_diameter": 1},
        may_be_zero=frozenset({"bottom_diameter", "top_diameter"}),
    ),
    "sphere": ReadyForm(_sphere, {"diameter": 1}),
    "ellipsoid": ReadyForm(_ellipsoid, {"height": 1, "diameter": 1}),
    "egg": ReadyForm(_egg, {"height": 1, "diameter": 1, "shift": 0.06}, may_be_zero=frozenset({"shift"})),
    "bowl": ReadyForm(_bowl, {"height": 1, "foot_diameter": 0.42, "rim_diameter": 1}),
    "platter": ReadyForm(_platter, {"height": 1, "foot_diameter": 0.5, "rim_diameter": 1}),
    "vase": ReadyForm(
        _vase,
        {"height": 1, "foot_diameter": 0.5, "belly_diameter": 1, "neck_diameter": 0.45, "lip_diameter": 0.56},
    ),
    "bottle": ReadyForm(_bottle, {"height": 1, "body_diameter": 1, "neck_diameter": 0.32}),
    "goblet_bowl": ReadyForm(
        _goblet_bowl, {"height": 1, "stem_diameter": 0.24, "bowl_diameter": 1, "rim_diameter": 0.9}
    ),
    "finial": ReadyForm(
        _finial, {"height": 1, "base_diameter": 1, "waist_diameter": 0.35, "bead_diameter": 0.6}
    ),
}
"""Every ready form by its name in a sheet."""


def ready_curve(kind: str, measures: Mapping[str, float]) -> Curve:
    """The curve of a ready form, its foot at height 0, mm."""
    return READY_FORMS[kind].curve(**measures)


def curve_points(curve: Curve) -> tuple[Point, ...]:
    """Points to go on editing from, mm: those the curve is laid through, or for a round form a fair number on it."""
    if not curve.squared:
        return tuple(zip(curve.breaks.tolist(), curve.at_breaks.tolist(), strict=True))
    # Close together towards the round ends, where the curve turns fastest; and its widest place, which is a break.
    shares = (1 - np.cos(np.linspace(0, np.pi, _POINTS_ON_A_ROUND_FORM))) / 2
    heights = curve.bottom + shares * (curve.top - curve.bottom)
    crowded = np.min(np.abs(heights[:, None] - curve.breaks[1:-1]), axis=1) < (curve.top - curve.bottom) / 50
    heights = np.sort(np.append(heights[~crowded], curve.breaks[1:-1]))
    radii = curve.radius(heights)
    radii[[0, -1]] = 0.0
    return tuple(zip(heights.tolist(), radii.tolist(), strict=True))
