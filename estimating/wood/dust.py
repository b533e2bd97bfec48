"""The dust of woods: what each is said to do to people, the published limits, and how to keep out of it."""

import csv
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Literal

from estimating.shape.build import Shape
from estimating.wood.species import Species

TABLE = Path(__file__).parent.parent / "tables" / "dust_limits.csv"

Kind = Literal["none", "irritant", "sensitizer", "unknown"]
Applies = Literal["all", "hardwood", "softwood", "genera"]
Checked = Literal["text", "memory"]

CONIFERS = frozenset(
    {
        "Abies",
        "Agathis",
        "Araucaria",
        "Callitropsis",
        "Cedrus",
        "Chamaecyparis",
        "Cryptomeria",
        "Cupressus",
        "Juniperus",
        "Larix",
        "Picea",
        "Pinus",
        "Podocarpus",
        "Pseudotsuga",
        "Sequoia",
        "Sequoiadendron",
        "Taxodium",
        "Taxus",
        "Thuja",
        "Tsuga",
    }
)
"""Genera of softwoods, by botany and not by hardness; every other wood counts as a hardwood."""

ADVICE: tuple[str, ...] = (
    "Take the dust away where it is made: an extractor's hood at the lathe, the sander and the saw, its outlet "
    "outdoors or through a filter for fine dust. A fan that only stirs the air does not do it.",
    "Wear a respirator for fine dust that fits the face (N95 or P100, FFP2 or FFP3), or a powered hood, when turning, "
    "sanding and emptying the extractor. Beards break the seal.",
    "Vacuum and wet-wipe rather than sweep or blow. Wash hands and arms, keep long sleeves for woods that sensitise, "
    "and keep food and children out of the dust.",
    "Once someone is sensitised, less dust does more harm and it does not pass: change the wood, and see a doctor "
    "about wheeze, rash, sore eyes or a nose that bleeds.",
    "Fine wood dust in the air burns and can explode; earth the ducts and keep sparks out of the bag.",
    "Limits differ from place to place and change: the authority where the shop stands, the safety data sheet and "
    "whoever is licensed to measure and advise there come before what is said here.",
)
"""Usual care in a shop; common practice, no source. Local rules come first."""

_DOES: Mapping[Kind, str] = {
    "none": "No reaction of its own is named in the charts read; all wood dust harms lungs and nose.",
    "irritant": "Its dust irritates: eyes, skin, nose or lungs smart while there is dust, and get better without.",
    "sensitizer": "Its dust sensitises: after weeks or years of it a little can bring on rash or asthma, for good.",
    "unknown": "Nothing is known here of what its dust does: ask the dealer for a safety data sheet.",
}


@dataclass(frozen=True, slots=True)
class DustLimit:
    """One published limit or classification. `mg_per_m3` is None for what is no limit in figures.

    `applies` says to which woods, `genera` to which alone where it names some; `checked` is "text" where the value was
    read in print, "memory" where it was not.
    """

    key: str
    body: str
    applies: Applies
    genera: tuple[str, ...]
    limit: str
    mg_per_m3: float | None
    status: str
    source: str
    checked: Checked


@dataclass(frozen=True, slots=True)
class WoodHazard:
    """What one wood's dust does, in words, and the limits that hold for it; `wood` is its key."""

    wood: str
    name: str
    botanical: str
    kind: Kind
    detail: str
    from_memory: bool
    cautions: tuple[str, ...]
    limits: tuple[DustLimit, ...]


@cache
def dust_limits() -> tuple[DustLimit, ...]:
    """Every row of tables/dust_limits.csv, in its order."""
    with TABLE.open(encoding="utf-8", newline="") as table:
        return tuple(_limit(row) for row in csv.DictReader(table))


def _limit(row: Mapping[str, str]) -> DustLimit:
    applies: dict[str, Applies] = {
        "all": "all",
        "hardwood": "hardwood",
        "softwood": "softwood",
        "genera": "genera",
    }
    return DustLimit(
        key=row["key"],
        body=row["body"],
        applies=applies[row["applies"]],
        genera=tuple(row["genera"].split()),
        limit=row["limit"],
        mg_per_m3=float(row["mg_per_m3"]) if row["mg_per_m3"] else None,
        status=row["status"],
        source=row["source"],
        checked="text" if row["checked"] == "text" else "memory",
    )


def woods_in(shapes: Sequence[Shape]) -> tuple[str, ...]:
    """The keys of the woods of a piece, laminates' strips and plugs too, in the order they appear from the bottom."""
    found: dict[str, None] = {}
    for shape in shapes:
        for ring in shape.rings:
            found |= dict.fromkeys(ring.wood_shares)
        found |= dict.fromkeys(plug.wood for plug in shape.plugs)
    return tuple(found)


def is_softwood(species: Species) -> bool:
    """Whether the wood is a conifer's, by the genus of its botanical name."""
    return _genus(species) in CONIFERS


def hazards_of(keys: Iterable[str], *, woods: Mapping[str, Species]) -> tuple[WoodHazard, ...]:
    """The dust of each wood in the order given. Errors: KeyError for a wood that is not among `woods`."""
    return tuple(_hazard(woods[key]) for key in keys)


def _hazard(species: Species) -> WoodHazard:
    kind = kind_of(species)
    said = _DOES[kind]
    detail = species.health_detail or ("" if kind == species.health_note else species.health_note)
    told = (
        f"{species.name[:1].upper()}{species.name[1:]}: {detail}." if detail and kind not in ("none",) else ""
    )
    limits = tuple(limit for limit in dust_limits() if _holds(limit, species))
    return WoodHazard(
        wood=species.key,
        name=species.name,
        botanical=species.botanical,
        kind=kind,
        detail=detail,
        from_memory="health: from memory" in species.traits_source or "health:memory" in species.from_memory,
        cautions=tuple(text for text in (said, told) if text),
        limits=limits,
    )


def kind_of(species: Species) -> Kind:
    """Read from the wood's health note, whether it is the table's word or a shop's own sentence."""
    note = species.health_note.lower()
    if "sensiti" in note or "allerg" in note:
        return "sensitizer"
    if not note.strip():
        return "unknown"
    return "none" if note.strip() in ("none", "no", "-") else "irritant"


def _holds(limit: DustLimit, species: Species) -> bool:
    match limit.applies:
        case "all":
            return True
        case "genera":
            return _genus(species) in limit.genera
        case _:
            return is_softwood(species) == (limit.applies == "softwood")


def _genus(species: Species) -> str:
    return species.botanical.split(" ")[0].capitalize()
