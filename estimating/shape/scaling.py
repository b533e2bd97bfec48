"""A piece made larger, smaller or stretched: its parts and laminates at the new size, and what had to change besides.

What grows: forms, walls unless they are kept, layers, bores, flanges, and the heights at which bowls are joined. What
stays, since it is no part of the form: wood left on for turning, glue lines, veneer as it is bought, what the jaws
hold, gaps and bonds of segments, and the air between a flange and its rim.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import accumulate
from math import floor, isclose, isfinite
from typing import Literal

import numpy as np

from estimating.errors import InvalidInput
from estimating.piece import Band, FormSheet, Inside, Laminate, Part, Point, ShopSettings
from estimating.shape.curves import Curve
from estimating.shape.forms import build_form
from estimating.shape.resize import BandHeight, Changes, refit_layers, scale_profile
from estimating.shape.seats import fit_in
from estimating.shape.slicing import ring_height
from estimating.shape.strips_across import strips_across

SMALLEST, LARGEST = 0.25, 4.0
"""What a piece may be scaled by here; farther off it is another design."""

CHANGES: Mapping[str, Changes] = {"staves": "thickness", "solid": "thickness", "veneer": "nothing"}
"""What of a band may change where its layers are fitted to another height; of the others both."""

SNUG = 0.5
"""mm: a bore no wider than this over what the mandrel wants is bored for the mandrel; common practice, no source."""

_NEAR = 1e-6


@dataclass(frozen=True, slots=True)
class Size:
    """Factors of height and radius, and how the rest follows.

    `wall`: it grows with the piece, or keeps its thickness, and the floor with it. `layers`: their `count` is kept, or
    their `thickness`. `turn`: where there are more or fewer layers, a spiral keeps its `steps` from layer to layer, or
    the `degrees` that it goes round in all.
    """

    height: float = 1.0
    radius: float = 1.0
    wall: Literal["scale", "keep"] = "scale"
    layers: Literal["count", "thickness"] = "count"
    turn: Literal["steps", "degrees"] = "steps"

    @property
    def is_none(self) -> bool:
        """Whether it leaves the piece as it is."""
        return self.height == 1.0 and self.radius == 1.0


@dataclass(frozen=True, slots=True)
class Scaled:
    """The parts and laminates at the new size; `notes` say what followed that their measures alone do not show."""

    parts: tuple[Part, ...]
    laminates: Mapping[str, Laminate]
    notes: tuple[str, ...] = ()


def scale_piece(
    parts: Sequence[Part],
    *,
    size: Size,
    shop: ShopSettings,
    laminates: Mapping[str, Laminate] | None = None,
    thickest: float | None = None,
) -> Scaled:
    """All parts of a piece at a new size, as they fit together.

    `thickest` is the thickest board there is, mm: a thick ring grows no higher than that, and gives fewer layers then.
    Errors: InvalidInput at `height_factor` or `radius_factor` where one is out of range; `size` for a ready form;
    `layers` for a height that its layers cannot meet, or layers too thin to be made; InvalidSheet or InvalidInput at
    the place in the sheet where it has no shape, now or at the new size.
    """
    for place, factor in (("height_factor", size.height), ("radius_factor", size.radius)):
        if not (isfinite(factor) and SMALLEST <= factor <= LARGEST):
            raise InvalidInput(
                place, f"must be from {SMALLEST:g} to {LARGEST:g} times as it was, not {factor:.4g}"
            )
    known = dict(laminates or {})
    if size.is_none:
        return Scaled(tuple(parts), known)
    work = _Work(size, shop, thickest, several=len(parts) > 1)
    made = [work.part(part) for part in parts]
    made = [work.seated(one, part, made, parts) for one, part in zip(made, parts, strict=True)]
    wider = strips_across(parts, made, laminates=known, shop=shop)
    notes = [note for part, one in zip(parts, made, strict=True) for note in work.notes(part, one)]
    notes += [
        f"strips of the laminated segment {key}: {abs(by - 1) * 100:.3g} % {'wider' if by > 1 else 'narrower'}"
        for key, by in wider.items()
        if not isclose(by, 1.0, abs_tol=_NEAR)
    ]
    return Scaled(
        tuple(made), {key: _wider(one, wider.get(key, 1.0)) for key, one in known.items()}, tuple(notes)
    )


def _wider(laminate: Laminate, by: float) -> Laminate:
    return replace(laminate, strips=tuple((wood, width * by) for wood, width in laminate.strips))


# --- form and wall ------------------------------------------------------------------------------------------------


def scale_form(form: FormSheet, size: Size) -> FormSheet:
    """The outside scaled, and the inside with it or as far from it as it was; heights scaled from 0.

    Errors: InvalidInput at `size` for a ready form, which has measures of its own.
    """
    if not form.outer:
        raise InvalidInput("size", "is given by the measures of a ready form: change those")
    inside, kept = form.inside, size.wall == "keep"
    factors = {"height_factor": size.height, "radius_factor": size.radius}
    outer, inner = (_plain(points) for points in scale_profile(form.outer, inside.inner, **factors))
    made = replace(form, outer=outer)
    if kept and inside.kind == "curve":
        inner = kept_wall(form, made)
    wall, bottom = (1.0, 1.0) if kept else (size.radius, size.height)
    return replace(
        made, inside=replace(inside, wall=inside.wall * wall, floor=inside.floor * bottom, inner=inner)
    )


def _plain(points: Sequence[Sequence[float]]) -> tuple[Point, ...]:
    return tuple((point[0], point[1]) for point in points)


def kept_wall(before: FormSheet, after: FormSheet) -> tuple[Point, ...]:
    """The points of an inside that stays as far from a new outside as it was: the floor's thickness, and the wood
    between the curves across the axis at each point. mm. The heights between floor and rim are spread alike.
    """
    old, new = outside(before), outside(after)
    inner = before.inside.inner
    low = inner[0][0]
    floor_now = new.bottom + low - old.bottom
    stretch = (new.top - floor_now) / (old.top - low) if old.top > low else 1.0
    moved = []
    for at, width in inner:
        there = floor_now + (at - low) * stretch
        wall = _radius(old, at) - width
        moved.append((there, max(0.0, _radius(new, there) - wall) if width else 0.0))
    return tuple(moved)


def outside(form: FormSheet) -> Curve:
    """The outer curve alone."""
    return build_form(replace(form, inside=Inside())).outer


def _radius(curve: Curve, height: float) -> float:
    return float(curve.radius(np.clip(np.array([height]), curve.bottom, curve.top))[0])


# --- layers -------------------------------------------------------------------------------------------------------


def least_thickness(band: Band, shop: ShopSettings) -> float:
    """No layer is made thinner than what is taken off it to true its faces, or to sand a slice, mm."""
    if band.made == "veneer":
        return 0.0
    return shop.slice_sanding if band.made == "sliced" else 2 * shop.flatten


def is_bond(offsets: Sequence[float]) -> bool:
    """Whether layers lie straight or by half a segment on the ones below, as bricks do, rather than in a spiral."""
    return all(abs(offset) < 1 and abs(2 * offset - round(2 * offset)) <= _NEAR for offset in offsets)


def turned_on(band: Band, layers: int, turn: Literal["steps", "degrees"]) -> tuple[float, ...]:
    """The offsets of a band that comes to have so many layers, in segments.

    Bonds stay as they are, whatever is asked: layers turned by no part or by half of a segment, whose joints would no
    longer lie as they should.
    """
    if turn == "steps" or is_bond(band.offsets) or layers == band.layers:
        return band.offsets
    return tuple(offset * band.layers / layers for offset in band.offsets)


@dataclass(frozen=True, slots=True)
class _Work:
    """One scaling: what is asked and what the shop brings."""

    size: Size
    shop: ShopSettings
    thickest: float | None
    several: bool

    def part(self, part: Part) -> Part:
        """A part at the new size, by itself."""
        made = replace(part, form=scale_form(part.form, self.size), bands=tuple(self._bands(part)))
        sits = part.sits and replace(part.sits, flange=part.sits.flange * self.size.height)
        return replace(made, sits=sits, close_at=self._closings(part, made))

    def _bands(self, part: Part) -> Iterator[Band]:
        outer = part.form.outer
        height = outer[-1][0] - outer[0][0]
        fitted = (
            self._by_count(part, height) if self.size.layers == "count" else self._by_thickness(part, height)
        )
        for number, (band, (layers, thickness)) in enumerate(zip(part.bands, fitted, strict=True)):
            self._check_thin(part, number, thickness)
            made = replace(
                band,
                layers=layers,
                thickness=thickness,
                bore=self._bore(band),
                chart=_rows(band.chart, layers),
                offsets=turned_on(band, layers, self.size.turn),
            )
            yield replace(made, ring_height=self._ring_height(band, thickness, part.band_place(number)))

    def _by_count(self, part: Part, height: float) -> list[tuple[int, float]]:
        """What the height gains is shared by all layers but veneer, so that the stack overruns as it did."""
        solid = sum(band.layers * band.thickness for band in part.bands if band.made != "veneer")
        gained = (self.size.height - 1) * height
        if solid + gained <= 0:
            raise InvalidInput("layers", "have no thickness left at that height; make it taller")
        by = (solid + gained) / solid
        return [(band.layers, band.thickness * (1.0 if band.made == "veneer" else by)) for band in part.bands]

    def _by_thickness(self, part: Part, height: float) -> list[tuple[int, float]]:
        heights = [
            BandHeight(band.layers, band.thickness, CHANGES.get(band.made, "either")) for band in part.bands
        ]
        left = part.allowance.top + part.allowance.bottom
        target = height * self.size.height + left
        try:
            found = refit_layers(heights, target=target, keep="thickness", bond_line=self.shop.bond_line)
        except InvalidInput as refusal:
            reason = f"do not fit{self._of(part)}: a stack of {target:.5g} mm {refusal.reason}"
            raise InvalidInput("layers", reason) from refusal
        return [(one.layers, one.thickness) for one in found]

    def _check_thin(self, part: Part, number: int, thickness: float) -> None:
        band = part.bands[number]
        least = least_thickness(band, self.shop)
        if thickness < band.thickness and thickness <= least:
            reason = (
                f"of {self._name(part, number)} would be {thickness:.3g} mm thick, no more than the {least:g} mm "
                "that truing takes; make them as thick as they are and fewer, or the piece larger"
            )
            raise InvalidInput("layers", reason)

    def _bore(self, band: Band) -> float | Literal["auto"] | None:
        if not isinstance(band.bore, int | float):
            return band.bore
        wanted = self.shop.mandrel_diameter + self.shop.mandrel_clearance
        for_mandrel = self.shop.mandrel_diameter > 0 and -_NEAR <= band.bore - wanted <= SNUG + _NEAR
        return band.bore if for_mandrel else band.bore * self.size.radius

    def _ring_height(self, band: Band, thickness: float, place: str) -> float | None:
        """As high as gives as many layers as before, with the kerf, the sanding and the hold of each as they are."""
        if band.made != "sliced" or band.ring_height is None or thickness == band.thickness:
            return band.ring_height
        was = ring_height(band, shop=self.shop, place=place)
        each = was.each + thickness - band.thickness
        height = was.base + (band.ring_height - was.base) / was.each * each
        if self.thickest is None or height <= max(self.thickest, band.ring_height) + _NEAR:
            return height
        fewer = floor((self.thickest - was.base) / each + 1e-9)
        return was.base + fewer * each if fewer >= 1 else height

    # --- how parts fit, and where they close

    def _closings(self, part: Part, made: Part) -> tuple[float, ...]:
        """At the same glue lines where the layers are as many; else in proportion, at the nearest line there is."""
        if not part.close_at:
            return ()
        old, new = (_lines(one, self.shop) for one in (part, made))
        if len(old) == len(new) and old:
            return tuple(float(height) for height in _between(part.close_at, old, new))
        return tuple(
            min(new, key=lambda line: abs(line - height * self.size.height), default=height)
            for height in part.close_at
        )

    def seated(self, made: Part, part: Part, all_made: Sequence[Part], parts: Sequence[Part]) -> Part:
        """A lid whose flange keeps the room that it had in its rim, where the flange is drawn as one."""
        sits = part.sits
        rims = [
            number for number, one in enumerate(parts) if sits and sits.how == "in" and one.name == sits.other
        ]
        if made.sits is None or sits is None or not rims:
            return made
        rim, rim_made = parts[rims[0]], all_made[rims[0]]
        try:
            was = fit_in(build_form(rim.form), build_form(part.form), sits=sits, part=part.name)
            now = fit_in(build_form(rim_made.form), build_form(made.form), sits=made.sits, part=part.name)
        except InvalidInput:
            return made  # a form that cannot be is refused at its place, where the shape is built
        more, ends = now.gap - was.gap, part.form.outer[0][0] + sits.flange
        drawn = any(abs(point[0] - ends) <= _NEAR for point in part.form.outer)
        if was.gap < 0 or not drawn or abs(more) <= 1e-12:
            return made
        outer = tuple(
            (high, wide + more) if old[0] <= ends + _NEAR and wide else (high, wide)
            for old, (high, wide) in zip(part.form.outer, made.form.outer, strict=True)
        )
        form = replace(made.form, outer=outer)
        if self.size.wall == "keep" and form.inside.kind == "curve":
            form = replace(form, inside=replace(form.inside, inner=kept_wall(part.form, form)))
        return replace(made, form=form)

    # --- what is said

    def notes(self, part: Part, made: Part) -> Iterator[str]:
        """What followed, a sentence each."""
        for number, (band, now) in enumerate(zip(part.bands, made.bands, strict=True)):
            name = self._name(part, number)
            if band.ring_height is not None and now.ring_height != band.ring_height:
                yield self._of_rings(name, band, now)
            if isinstance(band.bore, int | float) and self.size.radius != 1 and now.bore == band.bore:
                yield f"bore of {name}: {band.bore:.5g} mm as it was, for the mandrel"
            if now.offsets != band.offsets:
                turn = sum(_each(band)) * 360 / band.segments
                yield (
                    f"turn of {name}: {band.offsets[0] * 360 / band.segments:.4g} degrees a layer, now "
                    f"{now.offsets[0] * 360 / now.segments:.4g}; {turn:.4g} degrees in all, as before"
                )
        for was, height in zip(part.close_at, made.close_at, strict=True):
            yield f"joined{self._of(part)} at {was:.5g} mm, now at {height:.5g} mm"
        if part.sits and part.sits.how == "in":
            yield f"flange{self._of(part)}: as loose in its rim as it was"

    def _of_rings(self, name: str, band: Band, now: Band) -> str:
        was, is_now = (ring_height(one, shop=self.shop, place="").most for one in (band, now))
        said = f"thick rings of {name}: {band.ring_height:.5g} mm high, now {now.ring_height:.5g} mm"
        if is_now == was:
            return f"{said}, for {was} layers as before"
        return f"{said}; {was} layers came out of one, {is_now} do now, since no board is thicker"

    def _name(self, part: Part, number: int) -> str:
        own = part.bands[number].name
        plain = f"band {number + 1}"
        return f"{plain}{f' ({own})' if own and own != plain else ''}{self._of(part)}"

    def _of(self, part: Part) -> str:
        return f" of the {part.name}" if self.several else ""


def _rows(chart: tuple[tuple[str, ...], ...], layers: int) -> tuple[tuple[str, ...], ...]:
    """A row for each layer: begun again, or cut short."""
    return tuple(chart[layer % len(chart)] for layer in range(layers)) if chart else chart


def _each(band: Band) -> list[float]:
    return [band.offsets[layer % len(band.offsets)] for layer in range(band.layers)]


def _lines(part: Part, shop: ShopSettings) -> list[float]:
    """The heights of the glue lines' middles, bottom up."""
    start = part.form.outer[0][0] - part.allowance.bottom
    thick = [band.thickness for band in part.bands for _ in range(band.layers)]
    ends = list(accumulate(one + shop.bond_line for one in thick))
    return [start + end - shop.bond_line / 2 for end in ends[:-1]]


def _between(heights: Sequence[float], old: Sequence[float], new: Sequence[float]) -> Iterator[float]:
    """Heights where they were among the old lines, among the new ones; beyond the ends as far off as before."""
    for height in heights:
        nearest = min(range(len(old)), key=lambda line: abs(old[line] - height))
        other = nearest + (1 if height > old[nearest] else -1)
        off = height - old[nearest]
        if 0 <= other < len(old):
            off *= (new[other] - new[nearest]) / (old[other] - old[nearest])
        yield new[nearest] + off
