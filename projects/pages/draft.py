"""A design as it is typed: text in every field, edits of the rows, and reading it into numbers or errors."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field, replace
from decimal import Decimal
from typing import Any

from projects.models import Band, Design, Form, Studio
from projects.models.fields import plain_text
from projects.pages.fields import typed_length

MOST_ROWS = 500
LONGEST = 2000
ALLOWANCES = ("allowance_outside", "allowance_inside", "allowance_top", "allowance_bottom")
TEXTS = ("title", "quantity", *ALLOWANCES, "adhesive", "finish", "note", "curve", "inside", "wall", "floor")
BAND_TEXTS = ("name", "layers", "thickness", "segments", "offsets", "gap", "made", "ring_height")


@dataclass(frozen=True, slots=True)
class PointText:
    """A row of a curve as typed."""

    height: str = ""
    diameter: str = ""

    @property
    def is_blank(self) -> bool:
        """An empty row counts for nothing."""
        return not (self.height.strip() or self.diameter.strip())


@dataclass(frozen=True, slots=True)
class BandText:
    """A band as typed; woods by key, in the order they go round."""

    name: str = ""
    layers: str = "1"
    thickness: str = ""
    segments: str = "12"
    offsets: str = "0.5"
    gap: str = "0"
    made: str = "cut"
    ring_height: str = ""
    woods: tuple[str, ...] = ()


@dataclass(slots=True)
class Draft:
    """A whole design as typed. Points and bands are bottom up, as they are saved; the page shows them top first."""

    texts: dict[str, str]
    outer: list[PointText]
    inner: list[PointText]
    bands: list[BandText]
    revision: int = 0
    errors: dict[str, list[str]] = field(default_factory=dict)

    def edit(self, what: str) -> None:
        """Add, remove or move a row: `bands-add-2`, `outer-remove-0`, `bands-up-1`. Anything else changes nothing."""
        kind, _, rest = what.partition("-")
        action, _, at = rest.partition("-")
        rows: Any = {"bands": self.bands, "outer": self.outer, "inner": self.inner}.get(kind)
        if rows is None or not at.isdecimal() or len(at) > len(str(MOST_ROWS)):
            return
        index = int(at)
        match action:
            case "add" if index <= len(rows) < MOST_ROWS:
                rows.insert(index, self._new_band(index) if kind == "bands" else PointText())
            case "remove" if index < len(rows):
                del rows[index]
            case "up" if index + 1 < len(rows):
                rows[index], rows[index + 1] = rows[index + 1], rows[index]
            case "down" if 0 < index < len(rows):
                rows[index], rows[index - 1] = rows[index - 1], rows[index]

    def _new_band(self, index: int) -> BandText:
        """Like its neighbour, of one layer: most bands differ from the next in little."""
        neighbours = self.bands[index - 1 : index] or self.bands[:1]
        return replace(neighbours[0], name="", layers="1") if neighbours else BandText()


def typed(data: Mapping[str, Any]) -> Draft:
    """What a page sent, field by field, unread."""

    def text(name: str) -> str:
        return str(data.get(name, ""))[:LONGEST]

    revision = text("revision")
    return Draft(
        texts={name: text(name) for name in TEXTS},
        outer=_typed_points("outer", text),
        inner=_typed_points("inner", text),
        bands=[_typed_band(f"bands-{index}", text) for index in range(_count(text("bands")))],
        revision=int(revision) if revision.isdecimal() and len(revision) < 10 else 0,
    )


def _count(text: str) -> int:
    return min(int(text), MOST_ROWS) if text.isdecimal() and len(text) < 9 else 0


def _typed_points(name: str, text: Any) -> list[PointText]:
    rows = range(_count(text(name)))
    return [PointText(text(f"{name}-{row}-height"), text(f"{name}-{row}-diameter")) for row in rows]


def _typed_band(name: str, text: Any) -> BandText:
    woods = (text(f"{name}-wood-{number}") for number in range(min(_count(text(f"{name}-woods")), 360)))
    fields = {key: text(f"{name}-{key}") for key in BAND_TEXTS}
    return BandText(**fields, woods=tuple(key for key in woods if key))


def saved(design: Design, *, studio: Studio) -> Draft:
    """A saved design as its page shows it, in the studio's unit."""

    def length(mm: Any) -> str:
        return "" if mm is None else typed_length(mm, studio)

    form = design.form
    texts = {name: length(getattr(design, name)) for name in ALLOWANCES}
    texts |= {"title": design.title, "quantity": str(design.quantity), "note": design.note}
    texts |= {"adhesive": str(design.adhesive_id or ""), "finish": str(design.finish_id or "")}
    texts |= {
        "curve": form.curve,
        "inside": form.inside,
        "wall": length(form.wall),
        "floor": length(form.floor),
    }
    return Draft(
        texts=texts,
        outer=[PointText(length(height), length(2 * radius)) for height, radius in form.outer],
        inner=[PointText(length(height), length(2 * radius)) for height, radius in form.inner],
        bands=[_saved_band(band, length) for band in design.bands.all()],
        revision=design.revision,
    )


def _saved_band(band: Band, length: Any) -> BandText:
    return BandText(
        name=band.name,
        layers=str(band.layers),
        thickness=length(band.thickness),
        segments=str(band.segments),
        offsets=", ".join(_shortest(offset) for offset in band.offsets),
        gap=plain_text(band.gap * 100),
        made=band.made,
        ring_height=length(band.ring_height),
        woods=tuple(band.woods),
    )


def _shortest(number: float) -> str:
    return plain_text(Decimal(repr(number))) if number else "0"


def rows_of(draft: Draft) -> dict[str, Any]:
    """Points and bands with their places, top first, for the page."""
    return {
        "outer": list(enumerate(draft.outer))[::-1],
        "inner": list(enumerate(draft.inner))[::-1],
        "bands": [(index, asdict(band)) for index, band in enumerate(draft.bands)][::-1],
    }


@dataclass(frozen=True)
class Piece:
    """A draft that could be read: what the service saves, and unsaved records of it to estimate."""

    values: dict[str, Any]
    form: dict[str, Any]
    bands: list[dict[str, Any]]
    rows: dict[str, list[int]]

    def unsaved(self, design: Design) -> tuple[Design, Form, list[Band]]:
        """The design as it would be, on copies that nobody saves."""
        copy = Design(pk=design.pk, studio=design.studio, **self.values)
        form = Form(design=copy, **self.form)
        bands = [
            Band(design=copy, position=number, **band) for number, band in enumerate(self.bands, start=1)
        ]
        return copy, form, bands
