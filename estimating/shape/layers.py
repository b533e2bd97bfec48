"""Bands laid into a stack of layers: heights, the radii each must cover, and how far each is turned."""

from dataclasses import dataclass
from math import pi

import numpy as np

from estimating.errors import InvalidInput
from estimating.piece import Allowance, Band
from estimating.shape.curves import Floats
from estimating.shape.forms import Form

STACK_TOLERANCE = 0.1
"""How far (mm) the stack may miss the form and its top allowance before anything is said."""

_MORE = 1e-9


@dataclass(frozen=True)
class Stack:
    """The layers from the bottom up, one entry each, (n,). mm and radians.

    `outer_radius` and `inner_radius` are the radii to cover, allowances included; `angle` is that of segment 1's
    centre, anticlockwise seen from above, adding up from 0 at the first layer; `turned` is the volume of the form
    within the layer as if it were closed, mm3.
    """

    band: tuple[int, ...]
    bottom: Floats
    thickness: Floats
    outer_radius: Floats
    inner_radius: Floats
    angle: Floats
    turned: Floats

    def __len__(self) -> int:
        return len(self.band)

    @property
    def top(self) -> Floats:
        """Height of each layer's upper face, mm."""
        return self.bottom + self.thickness

    @property
    def height(self) -> float:
        """Height of the whole stack, glue lines included, mm."""
        return float(self.bottom[-1] + self.thickness[-1] - self.bottom[0])


def lay_stack(form: Form, *, bands: tuple[Band, ...], allowance: Allowance, bond_line: float) -> Stack:
    """Lay the bands from the form's bottom, less the bottom allowance, upwards; a bond line between layers.

    Errors: InvalidInput at `bands` when the stack ends short of the form and its top allowance, or a whole layer
    or more above it.
    """
    band = np.repeat(np.arange(len(bands)), [b.layers for b in bands])
    thickness = np.array([b.thickness for b in bands])[band]
    below = np.concatenate([[0.0], np.cumsum(thickness[:-1] + bond_line)])
    bottom = form.bottom - allowance.bottom + below
    top = bottom + thickness
    _check_height(form, bands=bands, end=float(top[-1]), allowance=allowance, bond_line=bond_line)
    return Stack(
        band=tuple(band.tolist()),
        bottom=bottom,
        thickness=thickness,
        outer_radius=form.outer_cover(bottom, top) + allowance.outside,
        inner_radius=np.maximum(form.inner_cover(bottom, top) - allowance.inside, 0.0),
        angle=_angles(bands),
        turned=form.turned_volume(bottom, top),
    )


def stands_over(form: Form, stack: Stack, *, allowance: Allowance) -> float:
    """How far the stack ends above the form and its top allowance, mm; negative where it falls short."""
    return float(stack.top[-1]) - (form.top + allowance.top)


def _angles(bands: tuple[Band, ...]) -> Floats:
    steps = [
        offset * 2 * pi / band.segments
        for band in bands
        for offset in (band.offsets * (band.layers // len(band.offsets) + 1))[: band.layers]
    ]
    return np.cumsum(np.array([0.0, *steps[1:]]))


def _check_height(
    form: Form, *, bands: tuple[Band, ...], end: float, allowance: Allowance, bond_line: float
) -> None:
    target = form.top + allowance.top
    over = end - target
    if -STACK_TOLERANCE - _MORE <= over < bands[-1].thickness - _MORE:
        return
    start = form.bottom - allowance.bottom
    miss = f"{-over:.5g} mm short of" if over < 0 else f"{over:.5g} mm, a whole layer or more, above"
    fits = [
        f"{count} of {_name(number, band)} ({band.layers} now)"
        for number, band in enumerate(bands)
        if (count := _count_that_fits(bands, number, over=over, bond_line=bond_line)) is not None
    ]
    would_fit = (
        f"; what would fit: {', or '.join(fits)}" if fits else "; no count of one band alone would fit"
    )
    reason = (
        f"the stack is {end - start:.5g} mm tall and ends {miss} the {target - start:.5g} mm "
        f"of the form and its allowances{would_fit}"
    )
    raise InvalidInput("bands", reason)


def _name(number: int, band: Band) -> str:
    return f"{band.name!r}" if band.name else f"bands[{number}]"


def _count_that_fits(bands: tuple[Band, ...], number: int, *, over: float, bond_line: float) -> int | None:
    """Layers of this band, the others as they are, for a stack that is not short and less than a layer over."""
    step = bands[number].thickness + bond_line
    change = int(np.ceil((-over - STACK_TOLERANCE) / step - _MORE))
    count = bands[number].layers + change
    if count < 1 or over + change * step >= bands[-1].thickness - _MORE:
        return None
    return count
