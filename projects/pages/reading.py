"""Reading a typed design: text into numbers, every error kept at the field it stands in."""

import json
import re
from decimal import Decimal
from typing import Any

from django.core.exceptions import ValidationError

from projects.models import Adhesive, Finish, Studio
from projects.models.bands import DISCS, UNOPENED, Bored, Made, Match
from projects.models.charts import validate_chart
from projects.models.designs import LaminateKind
from projects.models.parts import ALLOWANCES, CORNER, BuildFrom, Curve, Held, InsideKind, Sits
from projects.pages.draft import BandText, Draft, LaminateText, PartText, Piece, PointText
from projects.pages.reader import Reader

SHARE_PLACES = Decimal("0.00001")
# What holds the part: the measures it asks for.
HOLDS = {
    Held.TENON: ("held_depth", "held_parting"),
    Held.RECESS: ("held_depth",),
    Held.WASTE_BLOCK: ("held_parting",),
}


def read(draft: Draft, *, studio: Studio) -> Piece | None:
    """The numbers of a draft; None, with every error at its field in `draft.errors`, where some text is no number."""
    reader = Reader(studio, draft.errors)
    texts = draft.texts
    values: dict[str, Any] = {"title": texts["title"].strip()}
    values |= {"quantity": reader.whole("quantity", texts["quantity"])}
    values |= {"adhesive": reader.own("adhesive", texts["adhesive"], Adhesive), "note": texts["note"]}
    values |= {"finish": reader.own("finish", texts["finish"], Finish)}
    values |= {"laminates": _laminates(draft.laminates, reader)}
    if not values["title"]:
        reader.refuse("title", "A design needs a title.")
    if not draft.parts:
        reader.refuse("parts", "A design needs at least one part.")
    parts = [_part(index, draft, reader) for index in range(len(draft.parts))]
    if draft.errors:
        return None
    return Piece(values=values, parts=[part for part, _ in parts], rows=[rows for _, rows in parts])


def _part(index: int, draft: Draft, reader: Reader) -> tuple[dict[str, Any], dict[str, list[int]]]:
    """What the service saves of one part, and the rows its points stand in."""
    name, part = f"parts-{index}", draft.parts[index]
    values: dict[str, Any] = {"name": part.name}
    if not part.name:
        reader.refuse(f"{name}-name", "Give the part a name.")
    if part.name in (other.name for other in draft.parts[:index]):
        reader.refuse(f"{name}-name", "Another part has this name already.")
    values |= {key: reader.length(f"{name}-{key}", part.texts[key]) for key in ALLOWANCES}
    values |= _holding(name, part, reader) | _standing(name, index, draft, reader)
    form, rows = _form(name, part, reader)
    bands = [_band(f"{name}-bands-{number}", band, reader) for number, band in enumerate(part.bands)]
    if not bands:
        reader.refuse(f"{name}-bands", "A part needs at least one band of layers.")
    return {**values, "form": form, "bands": bands}, rows


def _holding(name: str, part: PartText, reader: Reader) -> dict[str, Any]:
    texts = part.texts
    held = reader.choice(f"{name}-held", texts["held"], Held)
    asked = HOLDS.get(held, ())  # type: ignore[call-overload]  # a choice is its text
    unheard = Reader(reader.studio, {})
    values: dict[str, Any] = {"held": held}
    for key in ("held_depth", "held_parting"):
        # What the choice does not use is kept if it can be read, so that choosing back finds it again.
        read_as = reader if key in asked else unheard
        values[key] = read_as.length(f"{name}-{key}", texts[key], needed=key in asked)
    if "held_depth" in asked and values["held_depth"] == 0:
        reader.refuse(f"{name}-held_depth", "Must be more than 0.")
    values["held_depth"] = values["held_depth"] or None
    build_from = texts["build_from"] or BuildFrom.FOOT
    values["build_from"] = reader.choice(f"{name}-build_from", build_from, BuildFrom)
    return values | {"close_at": reader.lengths(f"{name}-close_at", texts["close_at"])}


def _standing(name: str, index: int, draft: Draft, reader: Reader) -> dict[str, Any]:
    texts = draft.parts[index].texts
    sits = reader.choice(f"{name}-sits", texts["sits"], Sits)
    lid = reader if sits == Sits.IN else Reader(reader.studio, {})
    values: dict[str, Any] = {"sits": sits, "sits_at": None}
    values |= {"flange": lid.thickness(f"{name}-flange", texts["flange"])}
    values |= {"clearance": lid.length(f"{name}-clearance", texts["clearance"])}
    if sits:
        at = texts["sits_at"]
        others = [str(number + 1) for number in range(len(draft.parts)) if number != index]
        if at in others:
            values["sits_at"] = int(at)
        else:
            none = (
                "Add the part that it stands on or in first."
                if not others
                else "Choose one of the other parts."
            )
            reader.refuse(f"{name}-sits_at", none)
    return values


def _points(name: str, points: list[PointText], reader: Reader) -> tuple[list[list[Any]], list[int]]:
    """Points [height, radius], "corner" third at a corner, of the rows that are filled in, and which rows those are."""
    found: list[list[Any]] = []
    rows: list[int] = []
    for row, point in enumerate(points):
        if point.is_blank:
            continue
        height = reader.length(f"{name}-{row}-height", point.height)
        diameter = reader.length(f"{name}-{row}-diameter", point.diameter)
        if height is not None and diameter is not None:
            found.append([height, round(diameter / 2, 4), *([CORNER] if point.corner else [])])
            rows.append(row)
    return found, rows


def _form(name: str, part: PartText, reader: Reader) -> tuple[dict[str, Any], dict[str, list[int]]]:
    texts = part.texts
    inside = reader.choice(f"{name}-inside", texts["inside"], InsideKind)
    # What the chosen inside does not use is kept if it can be read, so that choosing back finds it again.
    unheard = Reader(reader.studio, {})
    wall = reader if inside == InsideKind.WALL else unheard
    curve = reader if inside == InsideKind.CURVE else unheard
    outer, outer_rows = _points(f"{name}-outer", part.outer, reader)
    inner, inner_rows = _points(f"{name}-inner", part.inner, curve)
    form = {
        "outer": outer,
        "curve": reader.choice(f"{name}-curve", texts["curve"], Curve),
        "inside": inside,
        "wall": wall.thickness(f"{name}-wall", texts["wall"]),
        "floor": wall.length(f"{name}-floor", texts["floor"]),
        "inner": inner,
    }
    return form, {"outer": outer_rows, "inner": inner_rows}


def _band(name: str, band: BandText, reader: Reader) -> dict[str, Any]:
    made = reader.choice(f"{name}-made", band.made, Made)
    unheard = Reader(reader.studio, {})
    sliced = reader if made == Made.SLICED else unheard
    disc = made in DISCS
    chart = None if disc else _chart(f"{name}-chart", band.chart, reader)
    if not band.woods and chart is None and not band.chart.strip():
        reader.refuse(f"{name}-woods", "Choose at least one wood.")
    return {
        "name": band.name.strip(),
        "layers": 1 if made == Made.STAVES else reader.whole(f"{name}-layers", band.layers),
        "thickness": reader.length(f"{name}-thickness", band.thickness),
        "segments": None if disc else reader.whole(f"{name}-segments", band.segments),
        "woods": list(band.woods),
        "offsets": _offsets(f"{name}-offsets", band.offsets, reader),
        "gap": Decimal(0) if made in UNOPENED else _gap(f"{name}-gap", band.gap, reader),
        "made": made,
        "ring_height": sliced.thickness(f"{name}-ring_height", band.ring_height),
        "chart": chart,
        "match": "" if made in UNOPENED else reader.choice(f"{name}-match", band.match, Match),
        **_bore(name, band, reader, made=made),
    }


def _bore(name: str, band: BandText, reader: Reader, *, made: str) -> dict[str, Any]:
    bored = "" if made == Made.STAVES else reader.choice(f"{name}-bored", band.bored, Bored)
    measured = reader if bored == Bored.SET else Reader(reader.studio, {})
    bore = measured.thickness(f"{name}-bore", band.bore)
    return {"bored": bored, "bore": bore, "plug": band.plug if bored else ""}


def _chart(name: str, text: str, reader: Reader) -> dict[str, Any] | None:
    """The chart that stands as JSON in a hidden field."""
    if not text.strip():
        return None
    try:
        chart = json.loads(text)
        validate_chart(chart)
    except (ValueError, RecursionError):
        reader.refuse(name, "The chart cannot be read. Paint it anew, or take it away.")
        return None
    except ValidationError as refusal:
        reader.refuse(name, " ".join(refusal.messages))
        return None
    return {"legend": chart["legend"], "rows": chart["rows"]}


def _gap(name: str, text: str, reader: Reader) -> Decimal:
    """A share of the pitch, typed in per cent."""
    percent = reader.number(name, text.replace("%", "") or "0")
    if not 0 <= percent < 100:
        reader.refuse(name, "Must be at least 0 % and less than 100 %.")
    return (percent / 100).quantize(SHARE_PLACES)


def _offsets(name: str, text: str, reader: Reader) -> list[float]:
    parts = [part for part in re.split(r"[,;\s]+", text) if part]
    return [float(reader.number(name, part)) for part in parts] or [0.0]


def _laminates(laminates: list[LaminateText], reader: Reader) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for row, laminate in enumerate(laminates):
        name, key = f"laminates-{row}", laminate.key.strip()
        if not re.fullmatch(r"[a-z][a-z0-9_]{0,39}", key):
            reader.refuse(
                f"{name}-key", "Use lower-case letters, digits and underscores, starting with a letter."
            )
        if key in found:
            reader.refuse(f"{name}-key", "Another laminated segment has this name already.")
        found[key] = _laminate(name, laminate, reader)
    return found


def _laminate(name: str, laminate: LaminateText, reader: Reader) -> dict[str, Any]:
    angle = float(reader.number(f"{name}-angle", laminate.angle.replace("°", "")))
    if not 0 <= angle <= 90:
        reader.refuse(f"{name}-angle", "Must be from 0 to 90 degrees.")
    if not laminate.strips:
        reader.refuse(f"{name}-strips", "Give it at least one strip.")
    strips = []
    for number, strip in enumerate(laminate.strips):
        place = f"{name}-strip-{number}"
        if not strip.wood:
            reader.refuse(f"{place}-wood", "Choose the strip's wood.")
        strips.append({"wood": strip.wood, "width": reader.thickness(f"{place}-width", strip.width)})
    kind = reader.choice(f"{name}-kind", laminate.kind, LaminateKind)
    return {"kind": kind, "angle": angle, "strips": strips}
