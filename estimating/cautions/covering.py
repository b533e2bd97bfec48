"""Cautions of covering: rings that miss the form, bores left open, allowances smaller than what run-out needs."""

from collections.abc import Iterator

import numpy as np
import numpy.typing as npt

from estimating.cautions.seen import Caution, Rule, Seen, layers_do, part_said
from estimating.shape.build import Shape
from estimating.shape.run_out import Coverage, coverage

MISSES = 1e-3
"""mm by which a ring may miss the form before it is one that does not cover it; far under what a lathe can do."""

_ROUNDING = 1e-6

Bools = npt.NDArray[np.bool_]


def covering(seen: Seen) -> Iterator[Caution]:
    """Of every part what its rings miss of the form, then how the allowance compares with the run-out."""
    for shape in seen.shapes:
        covers = coverage(shape, shop=seen.shop)
        holes = _holes_that_show(shape)
        yield from _open_bores(shape, holes)
        yield from _not_covered(shape, covers, holes)
        yield from _run_out(seen, shape, covers, outside=True)
        yield from _run_out(seen, shape, covers, outside=False)


def _layers(shape: Shape, wrong: Bools) -> list[int]:
    return [shape.number(index) for index in np.flatnonzero(wrong).tolist()]


def _by_band(shape: Shape, wrong: Bools) -> Iterator[tuple[str, Bools]]:
    """The place of each band with wrong layers, and which they are."""
    bands = np.array(shape.stack.band)
    for band in np.unique(bands[wrong]).tolist():
        yield shape.part.band_place(band), wrong & (bands == band)


def _holes_that_show(shape: Shape) -> Bools:
    """Layers with a bore that no plug fills, wider than the hollow somewhere within the form, (n,)."""
    unplugged = np.array([shape.plug_wood(index) is None for index in range(len(shape.stack))])
    lower = np.maximum(shape.stack.bottom, shape.form.bottom)
    upper = np.minimum(shape.stack.top, shape.form.top)
    within = upper - lower > _ROUNDING
    hollow = shape.form.inner_cover(np.where(within, lower, upper), upper)
    shows: Bools = unplugged & within & (shape.bore > 0) & (shape.bore / 2 > hollow + MISSES)
    return shows


def _open_bores(shape: Shape, holes: Bools) -> Iterator[Caution]:
    for where, here in _by_band(shape, holes):
        message = (
            f"{layers_do(_layers(shape, here), 'has', 'have')} a bore {float(shape.bore[here].max()):.1f} mm wide "
            "where the form is solid, and no plug to fill it: the hole stays in the piece. Name a wood for the plug."
        )
        yield Caution("open_bore", "warning", where, message)


def _not_covered(shape: Shape, covers: Coverage, holes: Bools) -> Iterator[Caution]:
    missing = {"outside": -covers.outside, "inside": np.where(holes, 0.0, -covers.inside)}
    for where, here in _by_band(shape, (missing["outside"] > MISSES) | (missing["inside"] > MISSES)):
        side = max(missing, key=lambda name: float(missing[name][here].max()))
        message = (
            f"{layers_do(_layers(shape, here), 'does', 'do')} not cover the form: up to "
            f"{float(missing[side][here].max()):.2f} mm of it is missing {side}, and shows as a hollow after turning. "
            "Make the ring wider on that side, or change the form there."
        )
        yield Caution("not_covered", "warning", where, message)


def _run_out(seen: Seen, shape: Shape, covers: Coverage, *, outside: bool) -> Iterator[Caution]:
    if outside:
        side, margin, need = "outside", covers.outside, covers.outside_need
        allowance, halves = shape.part.allowance.outside, " and the radius lost in closing half rings"
    else:
        side, margin, need = "inside", covers.inside, covers.inside_need
        allowance, halves = shape.part.allowance.inside, ""
    short = np.where(margin >= -MISSES, need - margin, 0.0)  # a ring that misses the form is said to already
    if not np.any(short > _ROUNDING):
        return
    at = int(np.argmax(short))
    message = (
        f"{layers_do(_layers(shape, short > _ROUNDING), 'has', 'have')} little to spare {side}"
        f"{part_said(seen, shape)}: layer {shape.number(at)} has {max(float(margin[at]), 0.0):.1f} mm and may need "
        f"{float(need[at]):.1f} mm, for {seen.shop.centring_error:g} mm off centre, the drift of its height on the "
        f"slope of the wall{halves}. Allow {allowance + float(short[at]) + 0.05:.1f} mm {side}, or centre more closely "
        "and true the stack as it grows."
    )
    yield Caution("run_out", "warning", f"{shape.part.place}allowance.{side}", message)


RULES: tuple[Rule, ...] = (covering,)
