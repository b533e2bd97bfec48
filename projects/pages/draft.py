"""A design as it is typed: text in every field, taken from a page or from what is saved."""

import json
from collections.abc import Callable, Iterator, Mapping
from dataclasses import asdict, dataclass, field
from decimal import Decimal
from typing import Any

from projects.estimates import PartRecords, parts_of
from projects.models import Band, Design, Form, Part, Studio
from projects.models.fields import plain_text
from projects.models.parts import ALLOWANCES
from projects.pages.fields import typed_length

MOST_ROWS = 500
MOST_PARTS = 50
LONGEST = 2000
# A chart of the most layers and segments is longer than any other text.
LONGEST_CHART = 2_000_000
TEXTS = ("title", "quantity", "adhesive", "finish", "note")
HOLDING = ("held", "held_depth", "held_parting", "close_at", "build_from")
STANDING = ("sits", "sits_at", "flange", "clearance")
# What the tools of a part are told; no part of the design.
TOOLS = (
    *("lay_from", "lay_to", "lay_thickness", "lay_segments", "lay_wood", "lay_wood_2"),
    *("size_height", "size_diameter", "size_wall", "size_layers"),
)
PART_TEXTS = ("name", *ALLOWANCES, "curve", "inside", "wall", "floor", *HOLDING, *STANDING)
BAND_TEXTS = (
    *("name", "layers", "thickness", "segments", "offsets", "gap", "made", "ring_height"),
    *("bored", "bore", "plug", "match", "chart"),
)
# What a part yet to be added is told.
NEW_TEXTS = ("shape", "height", "diameter", "wall")
LAMINATE_TEXTS = ("key", "kind", "angle")
Text = Callable[[str], str]


@dataclass(frozen=True, slots=True)
class PointText:
    """A row of a curve as typed."""

    height: str = ""
    diameter: str = ""
    corner: bool = False

    @property
    def is_blank(self) -> bool:
        """An empty row counts for nothing."""
        return not (self.height.strip() or self.diameter.strip())


def chart_text(chart: Mapping[str, Any]) -> str:
    """A chart as the painter writes it, letter for letter, so that painting nothing new is no edit."""
    return json.dumps(chart, ensure_ascii=False, separators=(",", ":"))


@dataclass(frozen=True, slots=True)
class BandText:
    """A band as typed; woods by key, in the order they go round; the chart as JSON."""

    name: str = ""
    layers: str = "1"
    thickness: str = ""
    segments: str = "12"
    offsets: str = "0.5"
    gap: str = "0"
    made: str = "cut"
    ring_height: str = ""
    bored: str = "needed"
    bore: str = ""
    plug: str = ""
    match: str = ""
    chart: str = ""
    woods: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class StripText:
    """A strip of a laminated segment as typed."""

    wood: str = ""
    width: str = ""


@dataclass(frozen=True, slots=True)
class LaminateText:
    """A laminated segment as typed."""

    key: str = ""
    kind: str = "stripes"
    angle: str = "45"
    strips: tuple[StripText, ...] = ()


@dataclass(slots=True)
class PartText:
    """A part as typed. Points and bands are bottom up, as they are saved; the page shows them top first."""

    texts: dict[str, str]
    outer: list[PointText]
    inner: list[PointText]
    bands: list[BandText]
    tools: dict[str, str] = field(default_factory=dict)

    @property
    def name(self) -> str:
        """As it is called in sentences."""
        return self.texts["name"].strip()


@dataclass(slots=True)
class Draft:
    """A whole design as typed: its parts bottom up, which of them is looked at, and what is wrong by field."""

    texts: dict[str, str]
    parts: list[PartText]
    laminates: list[LaminateText] = field(default_factory=list)
    shown: int = 0
    revision: int = 0
    errors: dict[str, list[str]] = field(default_factory=dict)
    notes: list[str] = field(default_factory=list)
    new: dict[str, str] = field(default_factory=dict)


def typed(data: Mapping[str, Any]) -> Draft:
    """What a page sent, field by field, unread."""

    def text(name: str) -> str:
        return str(data.get(name, ""))[: LONGEST_CHART if name.endswith("-chart") else LONGEST]

    revision, parts = text("revision"), min(count_in(text("parts")), MOST_PARTS)
    return Draft(
        texts={name: text(name) for name in TEXTS},
        parts=[_typed_part(f"parts-{index}", text) for index in range(parts)],
        laminates=[_typed_laminate(f"laminates-{row}", text) for row in range(count_in(text("laminates")))],
        new={key: text(f"new-{key}") for key in NEW_TEXTS},
        shown=min(count_in(text("part")), max(parts - 1, 0)),
        revision=int(revision) if revision.isdecimal() and len(revision) < 10 else 0,
    )


def count_in(text: str) -> int:
    """The number of rows a page says it has; none where it says nonsense."""
    return min(int(text), MOST_ROWS) if text.isdecimal() and len(text) < 9 else 0


def _typed_part(name: str, text: Text) -> PartText:
    bands = range(count_in(text(f"{name}-bands")))
    return PartText(
        texts={key: text(f"{name}-{key}") for key in PART_TEXTS},
        outer=_typed_points(f"{name}-outer", text),
        inner=_typed_points(f"{name}-inner", text),
        bands=[_typed_band(f"{name}-bands-{index}", text) for index in bands],
        tools={key: text(f"{name}-{key}") for key in TOOLS},
    )


def _typed_points(name: str, text: Text) -> list[PointText]:
    rows = (f"{name}-{row}" for row in range(count_in(text(name))))
    return [
        PointText(text(f"{row}-height"), text(f"{row}-diameter"), bool(text(f"{row}-corner"))) for row in rows
    ]


def _typed_band(name: str, text: Text) -> BandText:
    woods = (text(f"{name}-wood-{number}") for number in range(min(count_in(text(f"{name}-woods")), 360)))
    fields = {key: text(f"{name}-{key}") for key in BAND_TEXTS}
    return BandText(**fields, woods=tuple(key for key in woods if key))


def _typed_laminate(name: str, text: Text) -> LaminateText:
    rows = (f"{name}-strip-{row}" for row in range(count_in(text(f"{name}-strips"))))
    strips = (StripText(text(f"{row}-wood"), text(f"{row}-width")) for row in rows)
    fields = {key: text(f"{name}-{key}") for key in LAMINATE_TEXTS}
    return LaminateText(
        **fields, strips=tuple(strip for strip in strips if strip.wood or strip.width.strip())
    )


def saved(design: Design, *, studio: Studio) -> Draft:
    """A saved design as its page shows it, in the studio's unit."""

    def length(mm: Any) -> str:
        return "" if mm is None else typed_length(mm, studio)

    texts = {"title": design.title, "quantity": str(design.quantity), "note": design.note}
    texts |= {"adhesive": str(design.adhesive_id or ""), "finish": str(design.finish_id or "")}
    return Draft(
        texts=texts,
        parts=[_saved_part(records, length) for records in parts_of(design)],
        laminates=[_saved_laminate(key, one, length) for key, one in design.laminates.items()],
        revision=design.revision,
    )


def _saved_part(records: PartRecords, length: Callable[[Any], str]) -> PartText:
    part, form = records.part, records.form
    measures = (*ALLOWANCES, "held_depth", "held_parting", "flange", "clearance")
    texts = {name: length(getattr(part, name)) for name in measures}
    texts |= {"name": part.name, "held": part.held, "sits": part.sits, "sits_at": str(part.sits_at or "")}
    texts |= {"close_at": ", ".join(map(length, part.close_at)), "curve": form.curve, "inside": form.inside}
    texts |= {"build_from": part.build_from}
    texts |= {"wall": length(form.wall), "floor": length(form.floor)}
    return PartText(
        texts=texts,
        outer=saved_points(form.outer, length),
        inner=saved_points(form.inner, length),
        bands=[_saved_band(band, length) for band in records.bands],
    )


def saved_points(points: Any, length: Callable[[Any], str]) -> list[PointText]:
    """Points [height, radius] or [height, radius, "corner"] as rows of a curve."""
    return [PointText(length(height), length(2 * radius), bool(corner)) for height, radius, *corner in points]


def _saved_band(band: Band, length: Callable[[Any], str]) -> BandText:
    return BandText(
        name=band.name,
        layers=str(band.layers),
        thickness=length(band.thickness),
        segments=str(band.segments or ""),
        offsets=", ".join(shortest(offset) for offset in band.offsets),
        gap=plain_text(Decimal(band.gap) * 100),
        made=band.made,
        ring_height=length(band.ring_height),
        bored=band.bored,
        bore=length(band.bore),
        plug=band.plug,
        match=band.match,
        chart=chart_text(band.chart) if band.chart else "",
        woods=tuple(band.woods),
    )


def _saved_laminate(key: str, laminate: Mapping[str, Any], length: Callable[[Any], str]) -> LaminateText:
    strips = tuple(StripText(strip["wood"], length(strip["width"])) for strip in laminate["strips"])
    return LaminateText(key, laminate["kind"], shortest(laminate["angle"]), strips)


def shortest(number: float) -> str:
    """A plain number without noughts that pad it."""
    return plain_text(Decimal(repr(number))) if number else "0"


def rows_of(draft: Draft) -> list[dict[str, Any]]:
    """The parts with their places, points and bands top first, for the page."""
    return list(_rows(draft))


def _rows(draft: Draft) -> Iterator[dict[str, Any]]:
    for index, part in enumerate(draft.parts):
        yield {
            "index": index,
            "prefix": f"parts-{index}",
            "name": part.name or f"part {index + 1}",
            "texts": part.texts,
            "tools": part.tools,
            "outer": list(enumerate(part.outer))[::-1],
            "inner": list(enumerate(part.inner))[::-1],
            "bands": [(number, asdict(band)) for number, band in enumerate(part.bands)][::-1],
            "others": [
                (str(number + 1), other.name or f"part {number + 1}")
                for number, other in enumerate(draft.parts)
                if number != index
            ],
        }


@dataclass(frozen=True)
class Piece:
    """A draft that could be read: what the service saves, and unsaved records of it to estimate.

    `rows` says for each part and curve which rows of the page its points stand in.
    """

    values: dict[str, Any]
    parts: list[dict[str, Any]]
    rows: list[dict[str, list[int]]]

    def unsaved(self, design: Design) -> tuple[Design, list[PartRecords]]:
        """The design as it would be, on copies that nobody saves."""
        copy = Design(pk=design.pk, studio=design.studio, **self.values)
        return copy, [
            _records(part, copy, position=number) for number, part in enumerate(self.parts, start=1)
        ]


def part_text(values: Mapping[str, Any], *, studio: Studio) -> PartText:
    """A part as the service takes it, as its page shows it; allowances are the shop's where none are given."""

    def length(mm: Any) -> str:
        return "" if mm is None else typed_length(mm, studio)

    usual = {name: getattr(studio.shop, name) for name in ALLOWANCES}
    return _saved_part(_records({**usual, **values}, Design(studio=studio), position=1), length)


def _records(values: Mapping[str, Any], design: Design, *, position: int) -> PartRecords:
    own = {name: value for name, value in values.items() if name not in ("form", "bands")}
    part = Part(design=design, position=position, **own)
    bands = [Band(part=part, position=number, **band) for number, band in enumerate(values["bands"], start=1)]
    return PartRecords(part, Form(part=part, **values["form"]), bands)
