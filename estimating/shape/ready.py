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

_MOST_SHIFT = 0.45
"""An egg's shift stays below half its height, where the formula's blunt end would have no width left."""


@dataclass(frozen=True, slots=True)
class ReadyForm:
    """A kind of form: its measures (mm) in the order a person gives them, and the curve they make."""

    measures: tuple[str, ...]
    curve: Callable[..., Curve]
    may_be_zero: frozenset[str] = frozenset()

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
    "cylinder": ReadyForm(("height", "diameter"), _cylinder),
    "cone": ReadyForm(
        ("height", "bottom_diameter", "top_diameter"), _cone, frozenset({"bottom_diameter", "top_diameter"})
    ),
    "sphere": ReadyForm(("diameter",), _sphere),
    "ellipsoid": ReadyForm(("height", "diameter"), _ellipsoid),
    "egg": ReadyForm(("height", "diameter", "shift"), _egg, frozenset({"shift"})),
    "bowl": ReadyForm(("height", "foot_diameter", "rim_diameter"), _bowl),
    "platter": ReadyForm(("height", "foot_diameter", "rim_diameter"), _platter),
    "vase": ReadyForm(("height", "foot_diameter", "belly_diameter", "neck_diameter", "lip_diameter"), _vase),
    "bottle": ReadyForm(("height", "body_diameter", "neck_diameter"), _bottle),
    "goblet_bowl": ReadyForm(("height", "stem_diameter", "bowl_diameter", "rim_diameter"), _goblet_bowl),
    "finial": ReadyForm(("height", "base_diameter", "waist_diameter", "bead_diameter"), _finial),
}
"""Every ready form by its name in a sheet."""


def ready_curve(kind: str, measures: Mapping[str, float]) -> Curve:
    """The curve of a ready form, its foot at height 0, mm."""
    return READY_FORMS[kind].curve(**measures)
