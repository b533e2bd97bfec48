"""Reading a typed design: text into numbers, every error kept at the field it stands in."""

import re
from decimal import Decimal, InvalidOperation
from typing import Any

from django.core.exceptions import ValidationError

from estimating.errors import InvalidInput, InvalidSheet
from projects.models import Adhesive, Finish, Studio
from projects.models.designs import Curve, InsideKind, Made
from projects.pages.draft import ALLOWANCES, BandText, Draft, Piece, PointText
from projects.pages.fields import read_length
from projects.places import form_place
from projects.wording import in_shop_units

POINT = re.compile(r"\Aform\.(?P<curve>outer|inside\.inner)\[(?P<row>\d+)\](?:\[(?P<part>[01])\])?\Z")
SHARE_PLACES = Decimal("0.00001")
MOST_DIGITS = 12


class Reader:
    """Reads fields one by one; what cannot be read is noted in `errors` and read as None."""

    def __init__(self, studio: Studio, errors: dict[str, list[str]]) -> None:
        self.studio = studio
        self.errors = errors

    def refuse(self, name: str, message: str) -> None:
        """Note an error at a field."""
        self.errors.setdefault(name, []).append(message)

    def length(self, name: str, text: str, *, needed: bool = True) -> float | None:
        """Millimetres."""
        if not text.strip() and not needed:
            return None
        try:
            return read_length(text, self.studio)
        except ValueError as refusal:
            self.refuse(name, str(refusal))
            return None

    def thickness(self, name: str, text: str) -> float | None:
        """Millimetres, more than nothing."""
        mm = self.length(name, text)
        if mm == 0:
            self.refuse(name, "Must be more than 0.")
        return mm or None

    def whole(self, name: str, text: str) -> int:
        """A whole number."""
        written = text.strip()
        if re.fullmatch(r"\d{1,9}", written):
            return int(written)
        negative = re.fullmatch(r"[-−]\d+", written)
        self.refuse(
            name, "Write a whole number of 0 or more." if negative else "Write a whole number, such as 12."
        )
        return 0

    def number(self, name: str, text: str) -> Decimal:
        """A plain number."""
        try:
            number = Decimal(text.strip().replace("−", "-"))
        except InvalidOperation:
            number = Decimal("NaN")
        if number.is_finite() and abs(number.adjusted()) < MOST_DIGITS:
            return number
        self.refuse(name, "Write a number, such as 0.5.")
        return Decimal(0)

    def choice(self, name: str, text: str, choices: Any) -> str:
        """One of the choices."""
        if text not in choices.values:
            self.refuse(name, "Choose one of those offered.")
        return text

    def own(self, name: str, text: str, model: Any) -> Any:
        """A row of the studio's, or none."""
        if not text:
            return None
        rows = model.objects.for_studio(self.studio)
        row = rows.filter(pk=int(text)).first() if re.fullmatch(r"\d{1,15}", text) else None
        if row is None:
            self.refuse(name, "Choose one of those offered.")
        return row


def read(draft: Draft, *, studio: Studio) -> Piece | None:
    """The numbers of a draft; None, with every error at its field in `draft.errors`, where some text is no number."""
    reader = Reader(studio, draft.errors)
    texts = draft.texts
    values: dict[str, Any] = {name: reader.length(name, texts[name]) for name in ALLOWANCES}
    values |= {"title": texts["title"].strip(), "quantity": reader.whole("quantity", texts["quantity"])}
    values |= {"adhesive": reader.own("adhesive", texts["adhesive"], Adhesive), "note": texts["note"]}
    values |= {"finish": reader.own("finish", texts["finish"], Finish)}
    if not values["title"]:
        reader.refuse("title", "A design needs a title.")
    outer, outer_rows = _points("outer", draft.outer, reader)
    form, inner_rows = _form(draft, reader)
    bands = [_band(f"bands-{index}", band, reader) for index, band in enumerate(draft.bands)]
    if not bands:
        reader.refuse("bands", "A piece needs at least one band of layers.")
    if draft.errors:
        return None
    rows = {"outer": outer_rows, "inner": inner_rows}
    return Piece(values=values, form={**form, "outer": outer}, bands=bands, rows=rows)


def _points(name: str, points: list[PointText], reader: Reader) -> tuple[list[list[float]], list[int]]:
    """Points [height, radius] of the rows that are filled in, and which rows those are."""
    found: list[list[float]] = []
    rows: list[int] = []
    for row, point in enumerate(points):
        if point.is_blank:
            continue
        height = reader.length(f"{name}-{row}-height", point.height)
        diameter = reader.length(f"{name}-{row}-diameter", point.diameter)
        if height is not None and diameter is not None:
            found.append([height, round(diameter / 2, 4)])
            rows.append(row)
    return found, rows


def _form(draft: Draft, reader: Reader) -> tuple[dict[str, Any], list[int]]:
    texts = draft.texts
    inside = reader.choice("inside", texts["inside"], InsideKind)
    # What the chosen inside does not use is kept if it can be read, so that choosing back finds it again.
    unheard = Reader(reader.studio, {})
    wall = reader if inside == InsideKind.WALL else unheard
    curve = reader if inside == InsideKind.CURVE else unheard
    inner, rows = _points("inner", draft.inner, curve)
    form = {
        "curve": reader.choice("curve", texts["curve"], Curve),
        "inside": inside,
        "wall": wall.thickness("wall", texts["wall"]),
        "floor": wall.length("floor", texts["floor"]),
        "inner": inner,
    }
    return form, rows


def _band(name: str, band: BandText, reader: Reader) -> dict[str, Any]:
    made = reader.choice(f"{name}-made", band.made, Made)
    sliced = reader if made == Made.SLICED else Reader(reader.studio, {})
    if not band.woods:
        reader.refuse(f"{name}-woods", "Choose at least one wood.")
    return {
        "name": band.name.strip(),
        "layers": reader.whole(f"{name}-layers", band.layers),
        "thickness": reader.length(f"{name}-thickness", band.thickness),
        "segments": reader.whole(f"{name}-segments", band.segments),
        "woods": list(band.woods),
        "offsets": _offsets(f"{name}-offsets", band.offsets, reader),
        "gap": _gap(f"{name}-gap", band.gap, reader),
        "made": made,
        "ring_height": sliced.thickness(f"{name}-ring_height", band.ring_height),
    }


def _gap(name: str, text: str, reader: Reader) -> Decimal:
    """A share of the pitch, typed in per cent."""
    percent = reader.number(name, text.replace("%", "") or "0")
    if not 0 <= percent < 100:
        reader.refuse(name, "Must be at least 0 % and less than 100 %.")
    return (percent / 100).quantize(SHARE_PLACES)


def _offsets(name: str, text: str, reader: Reader) -> list[float]:
    parts = [part for part in re.split(r"[,;\s]+", text) if part]
    return [float(reader.number(name, part)) for part in parts] or [0.0]


def refused_sheet(draft: Draft, piece: Piece, refusal: InvalidSheet, *, studio: Studio) -> None:
    """Put the errors of an estimate at the fields they mean, in the studio's unit."""
    for error in refusal.errors:
        reason = in_shop_units(_as_sentence(error.reason), studio)
        draft.errors.setdefault(_field_of(error, piece), []).append(reason)


def _field_of(error: InvalidInput, piece: Piece) -> str:
    if point := POINT.match(error.place):
        curve = "outer" if point["curve"] == "outer" else "inner"
        rows, row = piece.rows[curve], int(point["row"])
        part = "diameter" if point["part"] == "1" else "height"
        return f"{curve}-{rows[row]}-{part}" if row < len(rows) else curve
    place = form_place(error)
    match place.section:
        case "band" if place.index is not None:
            return f"bands-{place.index}-{place.field}" if place.field else f"bands-{place.index}-layers"
        case "band":
            return "bands"
        case "form" | "design":
            return place.field
        case "settings":
            return f"settings {place.field}"
    return ""


def refused_save(draft: Draft, piece: Piece, refusal: ValidationError) -> None:
    """Put a service's refusal at the fields it means."""
    if not hasattr(refusal, "error_dict"):
        draft.errors.setdefault("", []).extend(refusal.messages)
        return
    for place, messages in refusal.message_dict.items():
        named = place.removeprefix("form.").replace("].", "-").replace("bands[", "bands-").removesuffix("]")
        draft.errors.setdefault("" if named == "__all__" else named, []).extend(messages)


def _as_sentence(reason: str) -> str:
    text = f"{reason[:1].upper()}{reason[1:]}"
    return text if text.endswith((".", "?")) else f"{text}."
