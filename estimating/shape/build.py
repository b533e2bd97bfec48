"""The whole shape of a piece: for each part its form, stack, rings and plugs, and where it stands."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from estimating.errors import InvalidInput, InvalidSheet
from estimating.piece import Allowance, Band, FormSheet, Laminate, Part, ShopSettings
from estimating.shape.bores import Plug, bores_of, core_volumes, plugs_of
from estimating.shape.courses import lay_rings, ring_heights
from estimating.shape.curves import Floats
from estimating.shape.forms import Form, build_form
from estimating.shape.layers import Stack, lay_stack
from estimating.shape.rings import Ring
from estimating.shape.seats import closing_layers, stand_on
from estimating.shape.slicing import Grouping


@dataclass(frozen=True)
class Shape:
    """One part: form, stack, rings and plugs. mm, mm3.

    Layers and rings are numbered from 1 through all the parts of the piece: `first_layer` come before this one's.
    `ring_of` gives each layer's ring as an index into `rings`, (n,). `bore` is the diameter of the hole through each
    layer, 0 without one, and `core` the volume of the form within it, (n,). `closings` are the layers on whose top
    bowls are joined to a hollow form. `base` is the height in the whole piece of the part's own height 0.
    `groupings` say how the layers of each sliced band, by its index, were shared out to thick rings.
    """

    part: Part
    form: Form
    stack: Stack
    rings: tuple[Ring, ...]
    ring_of: tuple[int, ...]
    bore: Floats
    core: Floats
    first_layer: int = 0
    plugs: tuple[Plug, ...] = ()
    closings: tuple[int, ...] = ()
    base: float = 0.0
    groupings: Mapping[int, Grouping] = field(default_factory=dict)

    @property
    def bands(self) -> tuple[Band, ...]:
        """The bands, which `ring.band` and `stack.band` count from 0."""
        return self.part.bands

    def index(self, layer: int) -> int:
        """Where a layer, by its number, stands in the arrays of this part."""
        return layer - 1 - self.first_layer

    def number(self, index: int) -> int:
        """The number of a layer by where it stands in the arrays."""
        return self.first_layer + index + 1

    @cached_property
    def layers(self) -> range:
        """The numbers of its layers."""
        return range(self.first_layer + 1, self.first_layer + 1 + len(self.stack))

    def ring(self, layer: int) -> Ring:
        """The ring that a layer, by its number, comes from."""
        return self.rings[self.ring_of[self.index(layer)]]

    def plug_wood(self, index: int) -> str | None:
        """The wood that fills the bore of a layer."""
        return self.bands[self.stack.band[index]].plug if self.bore[index] > 0 else None


def build_shapes(
    parts: Sequence[Part], *, shop: ShopSettings, laminates: Mapping[str, Laminate] | None = None
) -> tuple[Shape, ...]:
    """Build the shape of every part.

    Errors: InvalidSheet with everything that is wrong with forms, stacks, rings, and how parts fit, at once.
    """
    errors: list[InvalidInput] = []
    shapes: list[Shape] = []
    layers = rings = 0
    for part in parts:
        try:
            shape = _build_part(
                part, shop=shop, laminates=laminates or {}, first_layer=layers, first_ring=rings
            )
        except InvalidSheet as refusal:
            errors += [InvalidInput(_in_sheet(error.place, part), error.reason) for error in refusal.errors]
            continue
        layers, rings = layers + len(shape.stack), rings + len(shape.rings)
        shapes.append(shape)
    if errors:
        raise InvalidSheet(errors)
    return stand_on(shapes)


def _in_sheet(place: str, part: Part) -> str:
    """Where in the sheet a place of a part is: laminates stand beside the parts, all else in them."""
    return place if place.startswith("laminates.") else f"{part.place}{place}"


def build_shape(
    *, form: FormSheet, allowance: Allowance, bands: tuple[Band, ...], shop: ShopSettings
) -> Shape:
    """Build the shape of a piece of one part. Errors as build_shapes."""
    return build_shapes([Part(form=form, allowance=allowance, bands=bands)], shop=shop)[0]


def _build_part(
    part: Part, *, shop: ShopSettings, laminates: Mapping[str, Laminate], first_layer: int, first_ring: int
) -> Shape:
    errors: list[InvalidInput] = []
    heights = ring_heights(part.bands, shop, errors)
    try:
        form = build_form(part.form)
        stack = lay_stack(form, bands=part.bands, allowance=part.allowance, bond_line=shop.bond_line)
        bore = bores_of(stack, bands=part.bands, shop=shop, first_layer=first_layer)
        closings = tuple(first_layer + layer for layer in closing_layers(stack, part.close_at))
    except InvalidInput as refusal:
        errors.insert(0, refusal)
    if errors:
        raise InvalidSheet(errors)
    covered = replace(stack, inner_radius=np.maximum(stack.inner_radius, bore / 2))
    try:
        rings, groupings = lay_rings(
            covered, form=form, part=part, bore=bore, heights=heights, shop=shop, laminates=laminates
        )
    except InvalidInput as refusal:
        raise InvalidSheet([refusal]) from refusal
    return Shape(
        part=part,
        form=form,
        stack=covered,
        rings=tuple(_numbered(rings, first_layer=first_layer, first_ring=first_ring)),
        ring_of=_ring_of(rings, len(stack)),
        bore=bore,
        core=core_volumes(form, stack, bore),
        first_layer=first_layer,
        plugs=plugs_of(stack, bands=part.bands, bore=bore, first_layer=first_layer),
        closings=closings,
        groupings=groupings,
    )


def _numbered(rings: Sequence[Ring], *, first_layer: int, first_ring: int) -> Iterator[Ring]:
    """The rings with the numbers they have in the whole piece."""
    for ring in rings:
        if first_ring or first_layer:
            layers = tuple(first_layer + layer for layer in ring.layers)
            ring = replace(ring, number=first_ring + ring.number, layers=layers)
        yield ring


def _ring_of(rings: Sequence[Ring], layers: int) -> tuple[int, ...]:
    ring_of = [0] * layers
    for index, ring in enumerate(rings):
        for layer in ring.layers:
            ring_of[layer - 1] = index
    return tuple(ring_of)
