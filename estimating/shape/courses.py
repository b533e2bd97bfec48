"""Layers made into rings: cut one by one, sliced from thick rings, discs, and staves."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from estimating.errors import InvalidInput
from estimating.piece import Band, Laminate, Part, ShopSettings
from estimating.shape.curves import Floats
from estimating.shape.forms import Form
from estimating.shape.laminates import glue_area, volumes
from estimating.shape.layers import Stack
from estimating.shape.rings import Ring
from estimating.shape.slicing import Grouping, RingHeight, group, ring_height
from estimating.shape.staves import cover, lean


def ring_heights(
    bands: tuple[Band, ...], shop: ShopSettings, errors: list[InvalidInput]
) -> list[RingHeight | None]:
    """How tall each sliced band's thick rings may be; None for other bands. What cannot be is added to `errors`."""
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


def lay_rings(
    stack: Stack,
    *,
    form: Form,
    part: Part,
    bore: Floats,
    heights: Sequence[RingHeight | None],
    shop: ShopSettings,
    laminates: Mapping[str, Laminate],
) -> tuple[list[Ring], Mapping[int, Grouping]]:
    """The rings of a part, and how the layers of each sliced band share them; layers numbered from 1 in the part.

    Errors: InvalidInput at the band whose staves or laminates cannot be.
    """
    rings: list[Ring] = []
    groupings: dict[int, Grouping] = {}
    first = 0
    for index, band in enumerate(part.bands):
        span = slice(first, first + band.layers)
        outer, inner = stack.outer_radius[span], stack.inner_radius[span]
        height = heights[index]
        if height is None:
            groups: tuple[tuple[int, ...], ...] = tuple((layer,) for layer in range(band.layers))
        else:
            groupings[index] = group(
                outer, inner, segments=band.segments, gap=band.gap, height=height, extra_ring=shop.extra_ring
            )
            groups = groupings[index].rings
        for layers in groups:
            members = np.array(layers)
            rings.append(
                Ring(
                    number=len(rings) + 1,
                    band=index,
                    segments=band.segments,
                    gap=band.gap,
                    outer_radius=float(outer[members].max()),
                    inner_radius=float(inner[members].min()),
                    height=_as_glued(band, height, len(layers), shop),
                    layers=tuple(first + layer + 1 for layer in layers),
                    pattern=band.pattern(layers[0]),
                    made=band.made,
                    bore=float(bore[span][members].max()),
                )
            )
            if laminates:
                rings[-1] = _laminated(rings[-1], laminates)
        if band.made == "staves":
            rings[-1] = _standing(rings[-1], stack, first, form=form, part=part, shop=shop)
        first += band.layers
    return rings, groupings


def _as_glued(band: Band, height: RingHeight | None, layers: int, shop: ShopSettings) -> float:
    """A ring's height before its faces are flattened; veneer comes flat."""
    if height is not None:
        return height.of(layers)
    return band.thickness if band.made == "veneer" else band.thickness + 2 * shop.flatten


def _laminated(ring: Ring, laminates: Mapping[str, Laminate]) -> Ring:
    """The ring with what its laminated segments are made of.

    Errors: InvalidInput at `laminates.NAME` for one that does not give a segment of this size.
    """
    used = {key: laminates[key] for key in ring.wood_counts if key in laminates}
    if not used:
        return ring
    shares: dict[str, dict[str, float]] = {}
    area = 0.0
    for key, laminate in used.items():
        size = {"length": ring.outer_edge, "height": ring.height}
        depth = {"inner_length": ring.inner_edge, "width": ring.strip_width}
        place = f"laminates.{key}."
        parts = volumes(laminate, **size, **depth, place=place)
        whole = sum(parts.values())
        shares[key] = {wood: volume / whole for wood, volume in parts.items()}
        area += ring.wood_counts[key] * glue_area(laminate, **size, **depth, place=place)
    return replace(ring, laminated=shares, laminated_area=area)


_ON_A_STAVE = 257
"""Heights along a stave at which it must clear the curves, besides the points of the curves."""


def _standing(ring: Ring, stack: Stack, layer: int, *, form: Form, part: Part, shop: ShopSettings) -> Ring:
    """The ring with its staves leaning as the outside does from the band's bottom to its top.

    Where the piece is solid anywhere between, they stand upright.
    """
    bottom, top = float(stack.bottom[layer]), float(stack.top[layer])
    curves = [form.outer.breaks] if form.inner is None else [form.outer.breaks, form.inner.breaks]
    heights = np.unique(np.concatenate([np.linspace(bottom, top, _ON_A_STAVE), *curves]))
    heights = heights[(heights >= bottom) & (heights <= top)]
    outside, inside = form.outer.radius(heights), form.inner_radius(heights)
    flare = 0.0
    if np.all(inside > 0):
        flare = lean(bottom=float(outside[0]), top=float(outside[-1]), height=top - bottom)
    standing = cover(
        heights=heights - bottom + shop.flatten,
        outer=outside + part.allowance.outside,
        inner=np.maximum(inside - part.allowance.inside, 0.0),
        staves=ring.segments,
        flare=flare,
        height=ring.height,
        place=f"bands[{ring.band}].",
    )
    return replace(ring, outer_radius=standing.wide, lean=standing)
