"""What the weather page shows: layers and glue lines that are alike in one row, each with its working. Says; does not
reckon."""

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import TYPE_CHECKING, Any

from estimating.quantities import unit_in_mm
from projects.models import Studio
from projects.wording import in_shop_units

if TYPE_CHECKING:
    from estimating.estimate import Estimate
    from estimating.rooms import Air
    from estimating.wood.movement import Closing
    from estimating.wood.weather import Joint, LayerMovement, Movement

Span = tuple[float, float]
MADE = {
    "cut": "ring",
    "sliced": "ring, sawn from a thick one",
    "staves": "staves",
    "solid": "disc",
    "veneer": "veneer",
}
SEVERITY = {
    "none": "holds",
    "note": "can be felt",
    "warning": "at risk",
    "danger": "likely to give",
    "unknown": "not known",
}
_SIGNED = re.compile(r"([+-]\d+\.\d+) mm")


def said(words: Iterable[str], studio: Studio) -> list[str]:
    """Sentences of the arithmetic in the studio's unit; a change, signed and small, to a ten-thousandth of an inch."""
    if studio.length_unit == "mm":
        return list(words)

    def inches(match: re.Match[str]) -> str:
        return f"{float(match[1]) / unit_in_mm('in'):+.4f} in"

    return [in_shop_units(_SIGNED.sub(inches, sentence), studio) for sentence in words]


@dataclass(frozen=True, slots=True)
class RoomRow:
    """A room, the moisture its air brings wood to, and the working of that."""

    name: str
    air: "Air"
    moisture: float
    words: list[str]


@dataclass(frozen=True, slots=True)
class LayerRow:
    """Layers of one band, from the narrowest to the widest; changes from the one that moves least to most, mm.

    `worst` is the layer that moves most, `words` its working; `unknown` says that nothing is known of them.
    """

    numbers: tuple[int, ...]
    part: str
    band: str
    made: str
    width: Span
    height: Span
    width_change: Span
    height_change: Span
    least: Span
    worst: "LayerMovement"
    layers: "tuple[LayerMovement, ...]"
    words: list[str]
    unknown: bool
    closing: "Closing | None"
    stress: str


@dataclass(frozen=True, slots=True)
class JointRow:
    """Glue lines between the same two bands and as severe, mm at one side; `worst` strains most."""

    below: int
    above: int
    count: int
    bands: str
    alike: Span
    most: Span
    worst: "Joint"
    severity: str
    verdict: str
    words: list[str]

    @property
    def unknown(self) -> bool:
        """Whether nothing is known of how a wood at these joints moves."""
        return self.worst.held is None


def _span(values: Iterable[float | None]) -> Span:
    known = [value or 0.0 for value in values]
    return (min(known, key=abs), max(known, key=abs))


class Rows:
    """The rows of one estimate whose sheet has a climate."""

    def __init__(self, estimate: "Estimate", movement: "Movement", studio: Studio) -> None:
        self.estimate, self.movement, self.studio = estimate, movement, studio
        # The place of each layer's band, and the band's name, by the layer's number.
        self.band: dict[int, tuple[int, int]] = {}
        self.names: dict[tuple[int, int], str] = {}
        for part, shape in enumerate(estimate.shapes):
            for index, band in enumerate(shape.stack.band):
                place = (part, int(band))
                self.band[shape.number(index)] = place
                self.names[place] = shape.bands[place[1]].name

    def rooms(self) -> list[RoomRow]:
        """The shop and the room."""
        from estimating.wood.weather_words import moisture_working

        climate = self.movement.climate
        return [
            RoomRow("the shop", climate.shop, self.movement.emc_shop, list(moisture_working(climate.shop))),
            RoomRow(
                "where it will live",
                climate.client,
                self.movement.emc_client,
                list(moisture_working(climate.client)),
            ),
        ]

    def layers(self) -> list[LayerRow]:
        """A row a band, from the bottom up."""
        return [
            self._layer_row(place, layers)
            for place, layers in _runs(self.movement.layers, lambda layer: self.band[layer.number])
        ]

    def _layer_row(self, place: tuple[int, int], layers: "Sequence[LayerMovement]") -> LayerRow:
        from estimating.wood.weather_words import stress_word

        worst = max(layers, key=lambda layer: abs(layer.width_change or 0.0))
        closings = [layer.closing for layer in layers if layer.closing is not None]
        closing = max(closings, key=lambda one: one.forced, default=None)
        return LayerRow(
            numbers=tuple(layer.number for layer in layers),
            part=worst.part,
            band=self.names[place],
            made=MADE.get(worst.made, worst.made),
            width=_span(layer.width for layer in layers),
            height=_span(layer.height for layer in layers),
            width_change=_span(layer.width_change for layer in layers),
            height_change=_span(layer.height_change for layer in layers),
            least=_span(layer.width_change_least for layer in layers),
            worst=worst,
            layers=tuple(layers),
            words=self.layer_words(worst.number),
            unknown=any(layer.unknown for layer in layers),
            closing=closing,
            stress=stress_word(closing.forced) if closing else "",
        )

    def layer_words(self, number: int) -> list[str]:
        """The working of one layer."""
        from estimating.wood.weather_words import working

        return said(working(self.movement, number, woods=self.estimate.workshop.woods), self.studio)

    def joints(self) -> list[JointRow]:
        """From the bottom up, like ones in one row."""
        return [
            self._joint_row(joints)
            for _, joints in _runs(
                self.movement.joints, lambda one: (self.band[one.below], self.band[one.above], one.severity)
            )
        ]

    def _joint_row(self, joints: "Sequence[Joint]") -> JointRow:
        from estimating.wood.weather_words import joint_working

        worst = max(joints, key=lambda joint: joint.held or 0.0)
        below, above = (self.names[self.band[number]] for number in (worst.below, worst.above))
        inside = self.band[worst.below] == self.band[worst.above]
        return JointRow(
            below=joints[0].below,
            above=joints[-1].above,
            count=len(joints),
            bands=f"within {below}" if inside else f"{below} under {above}",
            alike=_span(joint.mismatch for joint in joints),
            most=_span(joint.held for joint in joints),
            worst=worst,
            severity=worst.severity,
            verdict=SEVERITY[worst.severity],
            words=said(joint_working(self.movement, worst), self.studio),
        )

    def bases(self) -> list[tuple[Any, float | None]]:
        """Each wood of the piece that is known, and the widest solid base of it at little risk, mm."""
        woods = self.estimate.workshop.woods
        return [(woods[key], widest) for key, widest in self.movement.safe_bases.items()]

    def discs(self) -> "list[LayerMovement]":
        """The layers in one piece."""
        return [layer for layer in self.movement.layers if layer.made == "solid"]


def _runs(rows: Sequence[Any], key: Callable[[Any], Any]) -> Iterator[tuple[Any, list[Any]]]:
    for found, run in groupby(rows, key=key):
        yield found, list(run)
