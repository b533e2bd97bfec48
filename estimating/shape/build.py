"""The whole shape of a piece: form, stack, rings, and which ring each layer comes from."""

from dataclasses import dataclass

import numpy as np

from estimating.errors import InvalidInput, InvalidSheet
from estimating.piece import Allowance, Band, FormSheet, ShopSettings
from estimating.shape.forms import Form, build_form
from estimating.shape.layers import Stack, lay_stack
from estimating.shape.rings import Ring
from estimating.shape.slicing import RingHeight, group_layers, ring_height


@dataclass(frozen=True)
class Shape:
    """Form, stack and rings. `ring_of` gives each layer's ring as an index into `rings`, (n,)."""

    form: Form
    stack: Stack
    rings: tuple[Ring, ...]
    ring_of: tuple[int, ...]


def build_shape(
    *, form: FormSheet, allowance: Allowance, bands: tuple[Band, ...], shop: ShopSettings
) -> Shape:
    """Build the shape a sheet asks for.

    Errors: InvalidSheet with everything that is wrong with the form, the stack and the thick rings at once.
    """
    errors: list[InvalidInput] = []
    heights = _ring_heights(bands, shop, errors)
    try:
        built = build_form(form)
        stack = lay_stack(built, bands=bands, allowance=allowance, bond_line=shop.bond_line)
    except InvalidInput as refusal:
        errors.insert(0, refusal)
    if errors:
        raise InvalidSheet(errors)
    rings = _rings(stack, bands=bands, heights=heights, shop=shop)
    ring_of = [0] * len(stack)
    for index, ring in enumerate(rings):
        for layer in ring.layers:
            ring_of[layer - 1] = index
    return Shape(form=built, stack=stack, rings=rings, ring_of=tuple(ring_of))


def _ring_heights(
    bands: tuple[Band, ...], shop: ShopSettings, errors: list[InvalidInput]
) -> list[RingHeight | None]:
    heights: list[RingHeight | None] = []
    for index, band in enumerate(bands):
        height = None
        if band.made == "sliced":
            try:
                height = ring_height(band, shop=shop, place=f"bands[{index}]")
            except InvalidInput as refusal:
                errors.append(refusal)
        heights.append(height)
    return heights


def _rings(
    stack: Stack, *, bands: tuple[Band, ...], heights: list[RingHeight | None], shop: ShopSettings
) -> tuple[Ring, ...]:
    rings: list[Ring] = []
    first = 0
    for index, band in enumerate(bands):
        height = heights[index]
        span = slice(first, first + band.layers)
        outer, inner = stack.outer_radius[span], stack.inner_radius[span]
        if height is None:
            groups: tuple[tuple[int, ...], ...] = tuple((layer,) for layer in range(band.layers))
            tall = [band.thickness + 2 * shop.flatten] * band.layers
        else:
            groups = group_layers(
                outer, inner, segments=band.segments, gap=band.gap, height=height, extra_ring=shop.extra_ring
            )
            tall = [height.of(len(group)) for group in groups]
        pattern = band.woods * (band.segments // len(band.woods))
        for group, ring_tall in zip(groups, tall, strict=True):
            members = np.array(group)
            rings.append(
                Ring(
                    number=len(rings) + 1,
                    band=index,
                    segments=band.segments,
                    gap=band.gap,
                    outer_radius=float(outer[members].max()),
                    inner_radius=float(inner[members].min()),
                    height=ring_tall,
                    layers=tuple(first + layer + 1 for layer in group),
                    pattern=pattern,
                )
            )
        first += band.layers
    return tuple(rings)
