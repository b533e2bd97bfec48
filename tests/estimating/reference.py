"""The arithmetic a second time, in plain loops, written from its written rules alone.

Nothing here is imported from the code under test.  A sheet is the JSON object of the contract with every
default written out; what comes back is compared with the code's JSON answer.  Curves are evaluated by scipy's
own interpolator, areas by shapely, integrals by scipy.integrate.quad: none of them what the code uses.
"""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Any

from scipy.integrate import quad
from scipy.interpolate import PchipInterpolator
from shapely.geometry import Polygon
from shapely.ops import unary_union

SAME = 1e-6  # mm: heights nearer than this are one height
MM = {"mm": 1.0, "cm": 10.0, "in": 25.4}
Json = dict[str, Any]


class Line:
    """One curve: radius against height, beyond its ends the radius of the nearer end."""

    def __init__(self, points: list[tuple[float, float]], kind: str) -> None:
        self.heights = [height for height, _ in points]
        self.radii = [radius for _, radius in points]
        self.kind = kind
        self.smooth = PchipInterpolator(self.heights, self.radii) if kind == "smooth" else None
        if kind == "smooth" and len(points) == 2:
            self.kind, self.smooth = "straight", None

    def radius(self, height: float) -> float:
        height = min(max(height, self.heights[0]), self.heights[-1])
        if self.smooth is not None:
            return float(self.smooth(height))
        for (low, at_low), (high, at_high) in pairwise(zip(self.heights, self.radii, strict=True)):
            if height <= high:
                return at_low + (at_high - at_low) * (height - low) / (high - low)
        raise AssertionError("the last height was clamped")

    def slope_at_end(self, which: int) -> float:
        if self.smooth is not None:
            return float(self.smooth.derivative()(self.heights[which]))
        near, far = (0, 1) if which == 0 else (-1, -2)
        return (self.radii[far] - self.radii[near]) / (self.heights[far] - self.heights[near])

    def going_on(self, height: float) -> float:
        """Radius with the curve carried straight on past both ends."""
        if height < self.heights[0]:
            return self.radii[0] + self.slope_at_end(0) * (height - self.heights[0])
        if height > self.heights[-1]:
            return self.radii[-1] + self.slope_at_end(-1) * (height - self.heights[-1])
        return self.radius(height)


class Form:
    """Outer and inner radius at a height, all in mm."""

    def __init__(self, sheet: Json) -> None:
        mm = MM[sheet["unit"]]
        form = sheet["form"]
        self.outer = Line([(h * mm, r * mm) for h, r in form["outer"]], form["curve"])
        self.inside = form["inside"]["kind"]
        self.bottom, self.top = self.outer.heights[0], self.outer.heights[-1]
        self.opens = math.inf  # below this height the piece is solid
        if self.inside == "curve":
            self.inner = Line([(h * mm, r * mm) for h, r in form["inside"]["inner"]], form["curve"])
            self.opens = self.inner.heights[0]
        if self.inside == "wall":
            self.wall = form["inside"]["wall"] * mm
            self.opens = self.bottom + form["inside"]["floor"] * mm

    def outer_radius(self, height: float) -> float:
        return self.outer.radius(height)

    def inner_radius(self, height: float) -> float:
        height = min(max(height, self.bottom), self.top)
        if height < self.opens - SAME:
            return 0.0
        if self.inside == "curve":
            return self.inner.radius(height)
        return max(0.0, least_of_wall(self.outer, self.wall, height))

    def kinks(self) -> list[float]:
        found = {self.bottom, self.top, *self.outer.heights}
        if self.inside == "curve":
            found |= set(self.inner.heights)
        if self.inside == "wall":
            found |= {h + sign * self.wall for h in self.outer.heights for sign in (-1, 1)}
        if math.isfinite(self.opens):
            found.add(self.opens)
        return sorted(h for h in found if self.bottom <= h <= self.top)


def least_of_wall(outer: Line, wall: float, height: float) -> float:
    """min over z' of r_o(z') - sqrt(wall^2 - (z - z')^2), by search between the knots."""

    def left_over(there: float) -> float:
        return outer.going_on(there) - math.sqrt(max(0.0, wall**2 - (there - height) ** 2))

    edges = sorted({height - wall, height + wall, *(h for h in outer.heights if abs(h - height) < wall)})
    return min(least_between(left_over, low, high) for low, high in pairwise(edges))


def least_between(function: Any, low: float, high: float) -> float:
    """Least value by a coarse comb and a golden-section search round its lowest tooth."""
    teeth = [low + (high - low) * k / 16 for k in range(17)]
    values = [function(tooth) for tooth in teeth]
    at = values.index(min(values))
    a, b = teeth[max(at - 1, 0)], teeth[min(at + 1, 16)]
    ratio = (math.sqrt(5) - 1) / 2
    for _ in range(36):
        c, d = b - ratio * (b - a), a + ratio * (b - a)
        if function(c) <= function(d):
            b = d
        else:
            a = c
    return min(*values, function((a + b) / 2))


# --- layers -----------------------------------------------------------------------------------------------


def layers(sheet: Json) -> list[Json]:
    """Every layer with its span, the radii to cover, its angle and its turned volumes by wood."""
    mm, form, allowance, shop = MM[sheet["unit"]], Form(sheet), sheet["allowance"], sheet["shop"]
    height = form.bottom - allowance["bottom"] * mm
    found: list[Json] = []
    angle = 0.0
    for index, band in enumerate(sheet["bands"]):
        offsets = band["offset"] if isinstance(band["offset"], list) else [band["offset"]]
        for place in range(band["layers"]):
            if found:
                angle += offsets[place % len(offsets)] * 360.0 / band["segments"]
            top = height + band["thickness"] * mm
            radii = radii_to_cover(form, height, top)
            share = {wood: band["woods"].count(wood) / len(band["woods"]) for wood in band["woods"]}
            solid = turned(form, height, top) * (1 - band["gap"])
            found.append(
                {
                    "number": len(found) + 1,
                    "band": index,
                    "bottom": height,
                    "thickness": band["thickness"] * mm,
                    "outer": radii[0] + allowance["outside"] * mm,
                    "inner": max(0.0, radii[1] - allowance["inside"] * mm),
                    "offset_deg": angle,
                    "woods": {wood: solid * part for wood, part in share.items()},
                }
            )
            height = top + shop["bond_line"] * mm
    return found


def radii_to_cover(form: Form, low: float, high: float) -> tuple[float, float]:
    """Greatest outer and least inner radius over a span; the wall's own extremes by a comb and a search."""
    inside = [low, high, *(h for h in form.kinks() if low < h < high)]
    inside += [h for h in form.outer.heights if low < h < high]
    greatest = max(form.outer_radius(h) for h in inside)
    cuts = sorted(set(inside))
    if max(low, form.bottom) < form.opens - SAME or form.inside == "solid":
        return greatest, 0.0
    least = min(form.inner_radius(h) for h in cuts)
    if form.inside == "wall":
        for a, b in pairwise(cuts):
            least = min(least, least_between(form.inner_radius, a, b))
    return greatest, least


def turned(form: Form, low: float, high: float) -> float:
    """pi x integral of r_o^2 - r_i^2 over what of the span lies in the form."""
    low, high = max(low, form.bottom), min(high, form.top)
    if high <= low:
        return 0.0
    cuts = [low, *(h for h in form.kinks() if low < h < high), high]
    total = 0.0
    for a, b in pairwise(cuts):
        if b - a > SAME:
            total += quad(lambda z: form.outer_radius(z) ** 2, a, b, epsabs=1e-9, epsrel=1e-10, limit=200)[0]
            middle_is_open = (a + b) / 2 > form.opens
            if middle_is_open:
                total -= quad(lambda z: form.inner_radius(z) ** 2, a, b, epsabs=1e-3, epsrel=1e-8, limit=50)[
                    0
                ]
    return math.pi * total


# --- rings ------------------------------------------------------------------------------------------------


def ring(*, outer: float, inner: float, segments: int, gap: float) -> Json:
    """One ring's segments."""
    phi = math.pi * (1 - gap) / segments
    inner_apothem = inner * math.cos(phi)
    return {
        "phi": phi,
        "miter_deg": math.degrees(phi),
        "outer_edge": 2 * outer * math.tan(phi),
        "inner_edge": 2 * inner_apothem * math.tan(phi),
        "strip_width": outer - inner_apothem,
        "area": math.tan(phi) * (outer**2 - inner_apothem**2),
    }


def ring_height(*, layers: int, thickness: float, sliced: bool, shop: Json) -> float:
    """As glued, from lengths in mm."""
    if not sliced:
        return thickness + 2 * shop["flatten"]
    each, kerf = thickness + shop["slice_sanding"], shop["slice_kerf"]
    if shop["slice_hold"] > 0:
        return shop["flatten"] + layers * (each + kerf) + shop["slice_hold"]
    return 2 * shop["flatten"] + layers * each + (layers - 1) * kerf


def partitions(items: list[int]) -> Any:
    """Every way to part a list into groups."""
    if not items:
        yield []
        return
    first, rest = items[0], items[1:]
    for parted in partitions(rest):
        yield [[first], *parted]
        for k in range(len(parted)):
            yield [*parted[:k], [first, *parted[k]], *parted[k + 1 :]]


def best_grouping(
    *,
    outer: list[float],
    inner: list[float],
    thickness: float,
    segments: int,
    gap: float,
    ceiling: float,
    shop: Json,
) -> tuple[float, list[list[int]]]:
    """Least blank volume plus extra_ring over every grouping; ties by fewer rings, then lower layers first."""
    best: tuple[float, int, list[int], list[list[int]]] | None = None
    for groups in partitions(list(range(len(outer)))):
        groups = sorted(sorted(group) for group in groups)
        cost = 0.0
        for group in groups:
            height = ring_height(layers=len(group), thickness=thickness, sliced=True, shop=shop)
            if height > ceiling + SAME:
                break
            blank = ring(
                outer=max(outer[k] for k in group),
                inner=min(inner[k] for k in group),
                segments=segments,
                gap=gap,
            )
            cost += blank["area"] * segments * height + shop["extra_ring"]
        else:
            which = [next(g for g, group in enumerate(groups) if k in group) for k in range(len(outer))]
            if best is None or cost < best[0] * (1 - 1e-12):
                best = (cost, len(groups), which, groups)
            elif cost <= best[0] * (1 + 1e-12) and (len(groups), which) < (best[1], best[2]):
                best = (min(cost, best[0]), len(groups), which, groups)
    assert best is not None
    return best[0], best[3]


def shop_in_mm(sheet: Json) -> Json:
    """The shop's lengths in mm; what is no length stays."""
    lengths = {
        "bond_line", "rip_kerf", "crosscut_kerf", "slice_kerf", "slice_hold", "slice_sanding", "flatten",
        "board_end_trim", "board_edge_trim", "keep_length", "keep_width", "strip_hold", "safe_segment_length", "film",
    }  # fmt: skip
    mm = MM[sheet["unit"]]
    return {key: value * mm if key in lengths else value for key, value in sheet["shop"].items()}


def rings(sheet: Json, stack: list[Json]) -> list[Json]:
    """Every ring, bottom up, with the layers it gives."""
    shop, mm = shop_in_mm(sheet), MM[sheet["unit"]]
    found: list[Json] = []
    for index, band in enumerate(sheet["bands"]):
        mine = [layer for layer in stack if layer["band"] == index]
        groups = [[k] for k in range(len(mine))]
        if band["made"] == "sliced":
            _, groups = best_grouping(
                outer=[layer["outer"] for layer in mine],
                inner=[layer["inner"] for layer in mine],
                thickness=band["thickness"] * mm,
                segments=band["segments"],
                gap=band["gap"],
                ceiling=band["ring_height"] * mm,
                shop=shop,
            )
        for group in groups:
            of = [mine[k] for k in group]
            outer, inner = max(layer["outer"] for layer in of), min(layer["inner"] for layer in of)
            height = ring_height(
                layers=len(of), thickness=of[0]["thickness"], sliced=band["made"] == "sliced", shop=shop
            )
            found.append(
                {
                    **ring(outer=outer, inner=inner, segments=band["segments"], gap=band["gap"]),
                    "number": len(found) + 1,
                    "band": index,
                    "segments": band["segments"],
                    "gap": band["gap"],
                    "outer": outer,
                    "inner": inner,
                    "height": height,
                    "thickness": of[0]["thickness"],
                    "layers": [layer["number"] for layer in of],
                    "pattern": band["woods"] * (band["segments"] // len(band["woods"])),
                }
            )
    return found


def face(ring_: Json, angle_deg: float) -> Any:
    """A layer's wood seen from above, segment by segment, as one shape."""
    pitch = 2 * math.pi / ring_["segments"]
    phi, shapes = ring_["phi"], []
    outer, inner = ring_["outer"] / math.cos(phi), ring_["inner"]
    for k in range(ring_["segments"]):
        middle = math.radians(angle_deg) + k * pitch
        corners = [(outer, -phi), (outer, phi), (inner, phi), (inner, -phi)]
        ring_points = [(r * math.cos(middle + a), r * math.sin(middle + a)) for r, a in corners]
        shapes.append(Polygon(ring_points if inner > 0 else ring_points[:3]))
    return unary_union([shape.buffer(0) for shape in shapes])


# --- adhesive, labour, price --------------------------------------------------------------------------------


def glued_areas(sheet: Json, stack: list[Json], all_rings: list[Json]) -> tuple[float, float]:
    """Areas of segment ends and of layer faces, one piece, mm2; a joint counted once."""
    ends = sum(
        r["strip_width"] / math.cos(r["phi"]) * r["height"] * r["segments"]
        for r in all_rings
        if r["gap"] == 0
    )
    ring_of = {number: r for r in all_rings for number in r["layers"]}
    faces = 0.0
    for below, above in pairwise(stack):
        low = face(ring_of[below["number"]], below["offset_deg"])
        high = face(ring_of[above["number"]], above["offset_deg"])
        faces += low.intersection(high).area
    return ends, faces


def millilitres(sheet: Json, *, ends: float, faces: float, mixes: int) -> float:
    """Adhesive for all pieces before rounding to marks."""
    shop = shop_in_mm(sheet)
    spread = (faces + ends * shop["end_grain_factor"]) * shop["film"] * 2 * (1 + shop["squeeze_out"])
    return spread * sheet["quantity"] / 1000 + shop["mix_loss_ml"] * mixes


def most_layers_a_glue_up(shop: Json) -> int:
    """By the shop's own limit and by what can be coated and closed within the pot life at its temperature."""
    pot_life = shop["pot_life_min"] * 2 ** ((shop["pot_life_at_c"] - shop["temperature_c"]) / 10)
    in_time = math.floor(shop["working_share"] * pot_life / shop["coat_stack_min"] + 1e-9)
    return int(min(shop["layers_per_glue_up"], in_time))
