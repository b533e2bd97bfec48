"""Holes through the middle of layers, as wide as asked or as tips need, and the plugs that fill them."""

from dataclasses import dataclass
from itertools import groupby
from math import ceil, pi, sin

import numpy as np

from estimating.errors import InvalidInput
from estimating.piece import Band, ShopSettings
from estimating.shape.curves import Floats
from estimating.shape.forms import Form
from estimating.shape.layers import Stack

WIDEST_FOR_TIPS = 0.8
"""A bore that is made for the tips' sake leaves a rim: it is not wider than this share of the layer."""


@dataclass(frozen=True, slots=True)
class Plug:
    """A turned plug of one wood through neighbouring layers of a band, mm; layers by their numbers."""

    band: int
    wood: str
    diameter: float
    length: float
    layers: tuple[int, ...]

    @property
    def lateral_area(self) -> float:
        """Its side, which is glued, mm2."""
        return pi * self.diameter * self.length


def bore_for_tips(*, segments: int, gap: float, tip: float) -> float:
    """The least whole-mm diameter at which the inner edges of a ring's segments are `tip` long.

    With the inner corners on the circle of radius d / 2, the inner edge is d sin(half a segment's angle).

    >>> bore_for_tips(segments=12, gap=0.0, tip=3.0)
    12.0
    """
    return float(ceil(tip / sin(pi * (1 - gap) / segments) - 1e-9))


def bores_of(stack: Stack, *, bands: tuple[Band, ...], shop: ShopSettings, first_layer: int = 0) -> Floats:
    """The diameter bored through each layer, mm, 0 where none is, (n,); `first_layer` layers come before.

    A layer that is open wider than the bore already is not bored.
    Errors: InvalidInput at `bands[i].bore` for a bore as wide as a layer.
    """
    bores = np.zeros(len(stack))
    band_of = np.array(stack.band)
    for index, band in enumerate(bands):
        if band.bore is None:
            continue
        here = band_of == index
        if band.bore == "auto":
            diameter = bore_for_tips(segments=band.segments, gap=band.gap, tip=shop.min_tip_edge)
            here &= diameter <= 2 * WIDEST_FOR_TIPS * stack.outer_radius
        else:
            diameter = band.bore
            narrow = np.flatnonzero(here & (diameter >= 2 * stack.outer_radius))
            if len(narrow):
                width = 2 * stack.outer_radius[narrow[0]]
                number = first_layer + narrow[0] + 1
                reason = f"is wider than the blank of layer {number}, {width:.5g} mm across"
                raise InvalidInput(f"bands[{index}].bore", reason)
        bores[here & (2 * stack.inner_radius < diameter - 1e-9)] = diameter
    return bores


def core_volumes(form: Form, stack: Stack, bore: Floats) -> Floats:
    """Volume of the form within each layer's bore, mm3, (n,)."""
    core = np.zeros(len(stack))
    for layer in np.flatnonzero(bore).tolist():
        core[layer] = form.core_volume(
            float(stack.bottom[layer]), float(stack.top[layer]), radius=bore[layer] / 2
        )
    return core


def plugs_of(
    stack: Stack, *, bands: tuple[Band, ...], bore: Floats, first_layer: int = 0
) -> tuple[Plug, ...]:
    """A plug for each run of neighbouring bored layers of a band that names one; `first_layer` layers come before."""
    plugs = []
    keys = [(band, float(width)) for band, width in zip(stack.band, bore, strict=True)]
    for (band, width), run in groupby(range(len(stack)), key=lambda layer: keys[layer]):
        layers = list(run)
        wood = bands[band].plug
        if width > 0 and wood is not None:
            length = float(stack.top[layers[-1]] - stack.bottom[layers[0]])
            plugs.append(Plug(band, wood, width, length, tuple(first_layer + layer + 1 for layer in layers)))
    return tuple(plugs)
