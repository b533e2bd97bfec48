"""The form: outer curve and inside, the radii a layer must cover, volume and surface."""

from dataclasses import dataclass
from math import pi

import numpy as np

from estimating.errors import InvalidInput
from estimating.piece import CurveKind, FormSheet, Inside, Point
from estimating.shape.curves import SAME_HEIGHT, Curve, Floats, mixed_curve, straight_curve
from estimating.shape.ready import ready_curve
from estimating.shape.walls import wall_curve


@dataclass(frozen=True)
class Form:
    """A solid of revolution, mm. `inner` is the inside's curve from `opening` up; below it the piece is solid."""

    outer: Curve
    inner: Curve | None = None

    @property
    def bottom(self) -> float:
        return self.outer.bottom

    @property
    def top(self) -> float:
        return self.outer.top

    @property
    def height(self) -> float:
        return self.top - self.bottom

    @property
    def largest_diameter(self) -> float:
        return 2 * float(np.max(self.outer.at_breaks))

    @property
    def opening(self) -> float | None:
        """Height at which the inside begins; None for a solid piece."""
        return None if self.inner is None else self.inner.bottom

    @property
    def has_floor(self) -> bool:
        """Whether wood closes the inside below, rather than the hole going through."""
        return self.inner is not None and self.inner.bottom > self.bottom + SAME_HEIGHT

    def inner_radius(self, heights: Floats) -> Floats:
        """Radius of the inside at each height, 0 where the piece is solid, mm."""
        if self.inner is None:
            return np.zeros_like(heights)
        solid = (heights < self.inner.bottom - SAME_HEIGHT) & self.has_floor
        return np.where(solid, 0.0, self.inner.radius(heights))

    def outer_cover(self, lower: Floats, upper: Floats) -> Floats:
        """Largest outer radius over each span, mm."""
        return self.outer.largest(lower, upper)

    def inner_cover(self, lower: Floats, upper: Floats) -> Floats:
        """Smallest inner radius over each span, mm: 0 where the span reaches below the floor."""
        if self.inner is None:
            return np.zeros_like(lower)
        solid = (lower < self.inner.bottom - SAME_HEIGHT) & self.has_floor
        smallest = self.inner.smallest(
            np.maximum(lower, self.inner.bottom), np.maximum(upper, self.inner.bottom)
        )
        return np.where(solid, 0.0, smallest)

    def turned_volume(self, lower: Floats, upper: Floats) -> Floats:
        """Volume of the piece within each span, mm3: pi times the integral of r_o^2 - r_i^2."""
        squares = self.outer.square_integral(lower, upper)
        if self.inner is not None:
            squares = squares - self.inner.square_integral(lower, upper)
        return pi * squares

    def core_volume(self, lower: float, upper: float, *, radius: float) -> float:
        """Volume of the piece within a radius over one span, mm3: what a bore takes out of it."""
        outer = self.outer.capped_square_integral(lower, upper, cap=radius)
        if self.inner is None:
            return pi * outer
        opening = min(max(lower, self.inner.bottom), upper)
        return pi * (outer - self.inner.capped_square_integral(opening, upper, cap=radius))

    @property
    def volume(self) -> float:
        """Volume as drawn, mm3."""
        return float(self.turned_volume(np.array([self.bottom]), np.array([self.top]))[0])

    @property
    def outer_surface(self) -> float:
        """Outer surface without its ends, mm2."""
        return self.outer.surface()

    @property
    def inner_surface(self) -> float:
        """Inner surface with the floor, mm2."""
        if self.inner is None:
            return 0.0
        floor = pi * float(self.inner.at_breaks[0]) ** 2 if self.has_floor else 0.0
        return self.inner.surface() + floor


def build_form(sheet: FormSheet) -> Form:
    """The form a sheet asks for.

    Errors: InvalidInput naming the place for an inside that does not end at the rim, or reaches the outside.
    """
    ready = sheet.ready
    outer = (
        ready_curve(ready.kind, dict(ready.measures))
        if ready
        else _curve(sheet.outer, sheet.curve, sheet.corners)
    )
    match sheet.inside.kind:
        case "solid":
            return Form(outer)
        case "wall":
            return Form(outer, _inside_of_wall(outer, sheet.inside))
        case "curve":
            return Form(outer, _inside_of_curve(outer, sheet))


def _curve(points: tuple[Point, ...], kind: CurveKind, corners: tuple[int, ...]) -> Curve:
    heights, radii = np.array(points, dtype=float).T
    if kind == "straight":
        return straight_curve(heights, radii)
    return mixed_curve(heights, radii, np.isin(np.arange(len(heights)), corners))


def _inside_of_wall(outer: Curve, inside: Inside) -> Curve | None:
    opening = outer.bottom + inside.floor
    if opening >= outer.top - SAME_HEIGHT:
        reason = (
            f"must be less than the form's height, {outer.top - outer.bottom:.4g} mm, or nothing is hollow"
        )
        raise InvalidInput("form.inside.floor", reason)
    inner = wall_curve(outer, wall=inside.wall, opening=opening)
    if not np.any(inner.at_breaks > 0):
        raise InvalidInput(
            "form.inside.wall", "is so thick that no hollow is left; make it thinner or the piece solid"
        )
    return inner


def _inside_of_curve(outer: Curve, sheet: FormSheet) -> Curve:
    inner = _curve(sheet.inside.inner, sheet.curve, sheet.inside.corners)
    last = len(sheet.inside.inner) - 1
    if abs(inner.top - outer.top) > SAME_HEIGHT:
        place = f"form.inside.inner[{last}][0]"
        raise InvalidInput(
            place, f"the inside must end at the rim, height {outer.top:.6g} mm, not {inner.top:.6g} mm"
        )
    if inner.bottom < outer.bottom - SAME_HEIGHT:
        place = "form.inside.inner[0][0]"
        raise InvalidInput(place, f"the inside must not start below the form, height {outer.bottom:.6g} mm")
    _refuse_break_through(outer, inner)
    return inner


def _refuse_break_through(outer: Curve, inner: Curve) -> None:
    """Compare the curves where their difference may be least: at both curves' points and between them."""
    edges = np.unique(np.concatenate([outer.breaks, inner.breaks]))
    edges = edges[(edges >= inner.bottom) & (edges <= inner.top)]
    between = np.linspace(edges[:-1], edges[1:], 1 if inner.is_straight and outer.is_straight else 65).ravel()
    heights = np.append(between, edges[-1])
    gap = outer.radius(heights) - inner.radius(heights)
    at = int(np.argmin(gap))
    if gap[at] <= 0:
        point = int(np.clip(np.searchsorted(inner.breaks, heights[at]), 0, len(inner.breaks) - 1))
        outside, inside = (
            float(outer.radius(heights[at : at + 1])[0]),
            float(inner.radius(heights[at : at + 1])[0]),
        )
        reason = (
            f"the inside breaks through the outside at height {heights[at]:.5g} mm: "
            f"radius {inside:.5g} mm where the outside has {outside:.5g} mm"
        )
        raise InvalidInput(f"form.inside.inner[{point}][1]", reason)
