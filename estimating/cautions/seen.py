"""What every caution is made of, and what the rules look at."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import groupby
from typing import Literal

from estimating.glue.card import Card
from estimating.piece import Band, Sheet, ShopSettings
from estimating.shape.build import Shape
from estimating.shape.rings import Ring
from estimating.wood.species import Species
from estimating.wood.strips import CuttingPlan
from estimating.wood.weather import Movement

Severity = Literal["note", "warning", "danger"]


@dataclass(frozen=True, slots=True)
class Caution:
    """One caution. `code` names the kind, `where` the place in the sheet or the rings."""

    code: str
    severity: Severity
    where: str
    message: str


@dataclass(frozen=True)
class RingsOfBand:
    """One band of a part with its rings, and its place in the sheet."""

    shape: Shape
    band: Band
    where: str
    rings: tuple[Ring, ...]


@dataclass(frozen=True)
class Seen:
    """The piece as the rules see it. `movement` is there where the sheet has a climate; `cards` one a glue-up."""

    sheet: Sheet
    shapes: Sequence[Shape]
    plan: CuttingPlan
    woods: Mapping[str, Species]
    movement: Movement | None = None
    cards: Sequence[Card] = ()

    @property
    def shop(self) -> ShopSettings:
        """The shop's settings."""
        return self.sheet.shop

    @cached_property
    def bands(self) -> tuple[RingsOfBand, ...]:
        """All bands of all parts, bottom up."""
        return tuple(
            RingsOfBand(shape, shape.bands[index], shape.part.band_place(index), tuple(rings))
            for shape in self.shapes
            for index, rings in groupby(shape.rings, key=lambda ring: ring.band)
        )


Rule = Callable[[Seen], Iterable[Caution]]


def by_band(
    seen: Seen, wrong: Callable[[Ring], bool], say: Callable[[str, Sequence[Ring]], Caution]
) -> Iterator[Caution]:
    """One caution a band for all its rings that something is wrong with."""
    for band in seen.bands:
        rings = [ring for ring in band.rings if wrong(ring)]
        if rings:
            yield say(band.where, rings)


def ring_numbers(rings: Iterable[Ring]) -> str:
    """Ring numbers as a person lists them: 1, 4 to 9."""
    return numbers(ring.number for ring in rings)


def numbers(rising: Iterable[int]) -> str:
    """Rising numbers as a person lists them: 1, 4 to 9."""
    runs: list[list[int]] = []
    for number in rising:
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return ", ".join(str(run[0]) if len(run) == 1 else f"{run[0]} to {run[-1]}" for run in runs)


def layers_do(rising: Sequence[int], one: str, many: str) -> str:
    """`Layer 4 is`, or `Layers 1, 4 to 9 are`: the beginning of a sentence."""
    return f"Layer {rising[0]} {one}" if len(rising) == 1 else f"Layers {numbers(rising)} {many}"


def part_said(seen: Seen, shape: Shape) -> str:
    """` of 'lid'` where a piece has several parts, else nothing."""
    return f" of {shape.part.name!r}" if len(seen.shapes) > 1 else ""
