"""What the change of air does to plugs in their bores and to loose lids in their rims, each as if it were free.

A plug is turned from a stick, so its grain runs along the axis and it grows all round. Which way growth rings lie is
not known: each range spans radial to tangential shrinkage on both sides, and a disc across its grain and along it.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from estimating.shape.bores import Plug
from estimating.shape.build import Shape
from estimating.shape.seats import Fit, fits_of
from estimating.wood.movement import Free, shrinkage_form
from estimating.wood.species import Species
from estimating.wood.weather import LayerMovement, Movement, Severity, severity_of

_TOUCHES = 1e-6
"""mm of height that a layer must share with a flange to count."""


@dataclass(frozen=True, slots=True)
class PlugMovement:
    """A plug in its bore, mm each side: by how much it would outgrow it, - where a gap would open; None if unknown."""

    part: str
    plug: Plug
    outgrows_least: float | None
    outgrows_most: float | None

    @property
    def severity(self) -> Severity:
        """By the larger of push and gap, as for glue lines."""
        if self.outgrows_least is None or self.outgrows_most is None:
            return "unknown"
        return severity_of(max(abs(self.outgrows_least), abs(self.outgrows_most)))


@dataclass(frozen=True, slots=True)
class LidMovement:
    """A loose part in its rim, mm each side: the room that is left, below 0 where it binds; None if unknown."""

    fit: Fit
    gap_least: float | None
    gap_most: float | None

    @property
    def binds(self) -> bool:
        """Whether it may be caught in its rim though it goes in as made."""
        return self.gap_least is not None and self.gap_least < 0 <= self.fit.gap


def outwards(ways: Iterable[Free], *, radius: float) -> tuple[float, float]:
    """The least and the most by which wood at `radius`, mm, would move out, mm, over ways and directions.

    >>> outwards([Free(across=-0.01)], radius=50)
    (-0.5, 0.0)
    """
    moved = [
        free.offset + (free.slope + share * free.across) * radius for free in ways for share in (0.0, 1.0)
    ]
    return min(moved), max(moved)


def plugs_of(
    shapes: Sequence[Shape], *, movement: Movement, woods: Mapping[str, Species]
) -> tuple[PlugMovement, ...]:
    """Every plug of a piece, from the bottom up. Errors: KeyError for a wood that is not among `woods`."""
    return tuple(
        _plug(shape.part.name, plug, movement, woods[plug.wood]) for shape in shapes for plug in shape.plugs
    )


def _plug(part: str, plug: Plug, movement: Movement, wood: Species) -> PlugMovement:
    layers = [movement.layer(number) for number in plug.layers]
    grown = _grown(wood, movement)
    if grown is None or any(layer.unknown for layer in layers):
        return PlugMovement(part, plug, None, None)
    radius = plug.diameter / 2
    low, high = outwards(grown, radius=radius)
    bores = [outwards(layer.every, radius=radius) for layer in layers]
    return PlugMovement(
        part, plug, low - max(most for _, most in bores), high - min(least for least, _ in bores)
    )


def _grown(wood: Species, movement: Movement) -> tuple[Free, ...] | None:
    shrinkages = (wood.shrink_radial_pct, wood.shrink_tangential_pct)
    known = [shrink for shrink in shrinkages if shrink is not None]
    if len(known) < len(shrinkages):
        return None
    return tuple(
        Free(slope=shrinkage_form(shrink_pct=shrink, start=movement.emc_shop, end=movement.emc_client))
        for shrink in known
    )


def lids_of(shapes: Sequence[Shape], *, movement: Movement) -> tuple[LidMovement, ...]:
    """Every loose part in its rim: their room as made, less what the lid's edge gains on the opening."""
    by_name = {shape.part.name: shape for shape in shapes}
    return tuple(_lid(fit, by_name[fit.part], by_name[fit.within], movement) for fit in fits_of(shapes))


def _lid(fit: Fit, lid: Shape, rim: Shape, movement: Movement) -> LidMovement:
    flange = lid.part.sits.flange if lid.part.sits else 0.0
    inside = list(_between(lid, lid.form.bottom, lid.form.bottom + flange, movement))
    outside = list(_between(rim, rim.form.top - flange, rim.form.top, movement))
    if not inside or not outside or any(layer.unknown for layer in (*inside, *outside)):
        return LidMovement(fit, None, None)
    edges = [outwards(layer.every, radius=fit.flange_diameter / 2) for layer in inside]
    openings = [outwards(layer.every, radius=fit.opening_diameter / 2) for layer in outside]
    return LidMovement(
        fit,
        gap_least=fit.gap + min(least for least, _ in openings) - max(most for _, most in edges),
        gap_most=fit.gap + max(most for _, most in openings) - min(least for least, _ in edges),
    )


def _between(shape: Shape, low: float, high: float, movement: Movement) -> Iterator[LayerMovement]:
    """The layers that reach between two heights of their part's form."""
    for index, (bottom, top) in enumerate(zip(shape.stack.bottom, shape.stack.top, strict=True)):
        if min(float(top), high) - max(float(bottom), low) > _TOUCHES:
            yield movement.layer(shape.number(index))
