"""Cautions of discs, veneers, bores and plugs among segmented rings, and of loose parts in their rims."""

from collections.abc import Iterator, Sequence
from itertools import pairwise

import numpy as np

from estimating.cautions.seen import Caution, RingsOfBand, Rule, Seen, layers_do, numbers
from estimating.shape.rings import Ring
from estimating.shape.seats import Fit, fits_of

WIDE_DISC = 100.0
"""mm across the grain from which a solid disc beside a ring of segments is a risk; common practice, no source."""

LOOSE = 3.0
"""A lid with more than so many times its clearance each side rattles; common practice, no source."""

_ROUNDING = 1e-6


def wide_discs(seen: Seen) -> Iterator[Caution]:
    """A solid disc moves across its grain with the seasons; a ring of segments hardly does along its own."""
    beside = {
        ring.number
        for shape in seen.shapes
        for ring in _beside_segments([shape.rings[r] for r in shape.ring_of])
    }
    for band in seen.bands:
        wide = [
            ring
            for ring in band.rings
            if ring.number in beside and 2 * ring.outer_radius > WIDE_DISC + _ROUNDING
        ]
        if band.band.made == "solid" and wide:
            layers = [layer for ring in wide for layer in ring.layers]
            widest = max(2 * ring.outer_radius for ring in wide)
            message = (
                f"{layers_do(layers, 'is a solid disc', 'are solid discs')} {widest:.0f} mm wide glued to a ring of "
                "segments: the disc swells and shrinks across its grain, the ring does not, and the joint or the disc "
                "cracks. Use a segmented base with a bore and a plug, or let a smaller disc float in a groove."
            )
            yield Caution("wide_disc", "warning", band.where, message)


def _beside_segments(rings: Sequence[Ring]) -> Iterator[Ring]:
    for below, above in pairwise(rings):
        if below.made == "solid" and not above.is_disc:
            yield below
        if above.made == "solid" and not below.is_disc:
            yield above


def veneer_in_a_hollow(seen: Seen) -> Iterator[Caution]:
    """A sheet of veneer in a wall has its grain one way, the segments theirs all round."""
    for band in seen.bands:
        if band.band.made != "veneer" or not any(ring.inner_radius > 0 for ring in band.rings):
            continue
        layers = [ring.layers[0] for ring in band.rings if ring.inner_radius > 0]
        message = (
            f"{layers_do(layers, 'is veneer', 'are veneer')} in a hollow wall: its grain runs one way and shows as end "
            "grain on two sides of the wall, where it soaks up finish and tears under the tool. Seal it before "
            "finishing and cut it last with a sharp edge, or make the line of thin segments."
        )
        yield Caution("veneer_grain", "note", band.where, message)


def wide_bores(seen: Seen) -> Iterator[Caution]:
    """A bore that leaves little of a narrow foot round it."""
    least = seen.shop.min_wall
    for shape in seen.shapes:
        lower = np.clip(shape.stack.bottom, shape.form.bottom, shape.form.top)
        upper = np.clip(shape.stack.top, shape.form.bottom, shape.form.top)
        left = shape.form.outer.smallest(lower, upper) - shape.bore / 2
        wrong = (shape.bore > 0) & (left < least - _ROUNDING) & (upper > lower)
        bands = np.array(shape.stack.band)
        for band in np.unique(bands[wrong]).tolist():
            at = np.flatnonzero(wrong & (bands == band)).tolist()
            worst = min(at, key=lambda index: float(left[index]))
            message = (
                f"The bore of layer {numbers(shape.number(index) for index in at)}, {shape.bore[worst]:.1f} mm wide, "
                f"{_what_is_left(float(left[worst]), least)} Make the bore narrower or the form wider there."
            )
            yield Caution("wide_bore", "warning", shape.part.band_place(band), message)


def _what_is_left(left: float, least: float) -> str:
    if left <= 0:
        return "is as wide as the form itself there, so nothing of the ring is left after turning."
    return f"leaves {left:.1f} mm of the ring after turning, under the shop's least {least:g} mm."


def plug_grain(seen: Seen) -> Iterator[Caution]:
    """A plug's grain stands along the axis."""
    for band in seen.bands:
        plugs = [plug for plug in band.shape.plugs if band.shape.part.band_place(plug.band) == band.where]
        if plugs:
            yield _plug_grain(band, [layer for plug in plugs for layer in plug.layers])


def _plug_grain(band: RingsOfBand, layers: Sequence[int]) -> Caution:
    message = (
        f"The plug through layer {numbers(layers)} has its grain along the axis, so its end grain shows under the foot "
        "and in the floor: it darkens more with finish than the ring round it. Choose its wood for that, or cut it "
        "across the grain from a board."
    )
    return Caution("plug_grain", "note", band.where, message)


def loose_fits(seen: Seen) -> Iterator[Caution]:
    """A lid that does not go in or rattles; and that wood moves."""
    places = {shape.part.name: f"{shape.part.place}sits" for shape in seen.shapes}
    for fit in fits_of(seen.shapes):
        if fit.gap < fit.clearance - _ROUNDING:
            yield Caution("lid_tight", "warning", places[fit.part], _tight(fit))
        elif fit.gap > max(LOOSE * fit.clearance, 1.0) + _ROUNDING:
            message = (
                f"{fit.part!r} is loose in {fit.within!r}: {fit.gap:.1f} mm each side where {fit.clearance:g} mm is "
                f"asked for. Make the flange {fit.opening_diameter - 2 * fit.clearance:.1f} mm wide."
            )
            yield Caution("lid_loose", "warning", places[fit.part], message)
        message = (
            f"The fit of {fit.part!r} in {fit.within!r} changes with the season, as wood swells and shrinks across its "
            "grain and goes out of round. Turn it last, when the wood is as dry as where it will stand, and leave it "
            "easy."
        )
        yield Caution("lid_moves", "note", places[fit.part], message)


def _tight(fit: Fit) -> str:
    how = "does not go into" if fit.gap <= 0 else "goes too tightly into"
    return (
        f"{fit.part!r} {how} {fit.within!r}: its flange is {fit.flange_diameter:.1f} mm wide and the opening "
        f"{fit.opening_diameter:.1f} mm, and {fit.clearance:g} mm is wanted each side. Make the flange "
        f"{fit.opening_diameter - 2 * fit.clearance:.1f} mm wide, or the opening wider."
    )


RULES: tuple[Rule, ...] = (wide_discs, veneer_in_a_hollow, wide_bores, plug_grain, loose_fits)
