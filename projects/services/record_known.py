"""All that is known of a commission's piece once it is made, gathered so that nothing is asked twice. Reads only."""

import datetime
from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from django.utils import timezone

from estimating.errors import InvalidSheet
from projects.drawings import quote_drawing
from projects.estimates import estimate_design, finish_of
from projects.models import AsBuilt, BenchStep, BoardEvent, Commission, Mishap, StepNote, Wood
from projects.models.bench import StepState
from projects.models.quotes import QuoteState
from projects.models.rack import Happening
from projects.quote_state import PRINTED, accepted_quote, agreed_estimate
from projects.services.record_glue import glued_with
from projects.services.record_taken import Line, lines_of
from projects.services.record_words import known_words

COAT = "apply finish coat and rub down"
"""The operation of a coat of finish."""

FLAT = 0.3
UPRIGHT = 1.1
"""Height by diameter: below the one it is a platter, from the other on a vase. Common practice, no source."""


@dataclass
class Known:
    """What a record is drafted from: `values` by field, woods and coats in order, what it took, and the copies."""

    values: dict[str, Any]
    woods: list[dict[str, Any]]
    coats: list[dict[str, Any]]
    drawing: str = ""
    lines: list[Line] = field(default_factory=list)
    copies: dict[str, list[dict[str, Any]]] = field(default_factory=dict)


def known_of(commission: Commission, *, piece: int) -> Known:
    """All that is known of one piece of a commission. Takes a second or two where no quote froze its estimate."""
    estimate, drawing = drawn_of(commission)
    copies = copies_of(commission, piece=piece)
    return Known(
        values={
            "title": commission.title,
            "made_on": _made_on(commission),
            "currency": commission.studio.currency,
            "care": commission.studio.care[:4000],
            **_designed(estimate),
            **known_words(copies, commission.studio),
        },
        woods=_woods(estimate, commission),
        coats=_coats(commission),
        drawing=drawing,
        lines=lines_of(commission, estimate),
        copies=copies,
    )


def pieces_of(commission: Commission) -> int:
    """How many pieces a commission is of."""
    return commission.quantity or (commission.design.quantity if commission.design else 1)


def estimate_of(commission: Commission) -> Mapping[str, Any]:
    """The answer that was agreed to; else that of the last quote, else of the design as it is; empty where none is."""
    return drawn_of(commission)[0]


def drawn_of(commission: Commission) -> tuple[Mapping[str, Any], str]:
    """The answer of `estimate_of` and the drawing that goes with it, as SVG."""
    if accepted := accepted_quote(commission):
        return agreed_estimate(accepted[1]), (accepted[1].option or accepted[0]).drawing
    issued = commission.quotes.filter(state=QuoteState.ISSUED).defer(*PRINTED).order_by("-issued_at")
    if quote := issued.first():
        return dict(quote.estimate), quote.drawing
    if commission.design is None:
        return {}, ""
    # Imported here since it brings the arithmetic, which a page that only shows a record does without.
    from estimating.answer import as_json

    try:
        estimate = estimate_design(commission.design, commission=commission)[1]
    except InvalidSheet:
        return {}, ""  # the design's own page says so, and why
    return as_json(estimate), quote_drawing(estimate, studio=commission.studio)


def _designed(estimate: Mapping[str, Any]) -> dict[str, Any]:
    """Figures as designed, the count of segments, a word for the form, and the price of one piece."""
    if not estimate:
        return {}
    form, quantity = estimate["form"], int(estimate.get("quantity") or 1)
    in_ring = {ring["number"]: ring["segments"] for ring in estimate.get("rings", [])}
    price = estimate.get("price", {}).get("retail")
    return {
        "designed_height": _rounded(form["height"], "0.001"),
        "designed_diameter": _rounded(form["largest_diameter"], "0.001"),
        "designed_mass_g": _rounded(form.get("finished_g") or form.get("mass_g"), "0.1"),
        "segments": sum(in_ring.get(layer["ring"], 0) for layer in estimate.get("layers", [])) or None,
        "form": form_word(form["height"], form["largest_diameter"], lidded=bool(estimate.get("fits"))),
        "price": None if price is None else _rounded(Decimal(price) / quantity, "0.01"),
    }


def form_word(height: float, diameter: float, *, lidded: bool = False) -> str:
    """A first word for a form, by height and diameter in mm: platter, bowl or vase, with a lid a lidded one."""
    if height <= 0 or diameter <= 0:
        return ""
    share = height / diameter
    word = "platter" if share < FLAT else "bowl" if share < UPRIGHT else "vase"
    return f"lidded {word}" if lidded else word


def _rounded(value: Any, step: str) -> Decimal | None:
    """Rounded half up to a step; None for nothing, which no measure is."""
    number = Decimal(str(value or 0)).quantize(Decimal(step), rounding=ROUND_HALF_UP)
    return number or None


def _woods(estimate: Mapping[str, Any], commission: Commission) -> list[dict[str, Any]]:
    """The woods by their shares of what was turned, the largest first."""
    turned = {key: float(account["turned"]) for key, account in estimate.get("wood", {}).items()}
    whole = sum(turned.values())
    rows = {wood.key: wood for wood in Wood.objects.for_studio(commission.studio).filter(key__in=turned)}
    return [
        {
            "key": key,
            "name": rows[key].name if key in rows else key.replace("_", " "),
            "botanical": rows[key].botanical if key in rows else "",
            "colour": rows[key].colour if key in rows else "",
            "share": _rounded(volume / whole, "0.00001") if whole else None,
        }
        for key, volume in sorted(turned.items(), key=lambda one: (-one[1], one[0]))
    ]


def _coats(commission: Commission) -> list[dict[str, Any]]:
    """A row a coat: as many as the finish has or as were put on, with the days the bench or the hours log has."""
    finish = finish_of(commission.design) if commission.design else None
    steps = BenchStep.objects.for_studio(commission.studio_id).filter(
        commission=commission, state=StepState.DONE, ended_at__isnull=False
    )
    days = [_day(step.ended_at) for step in steps.order_by("ended_at") if COAT in step.shares]
    if not days:
        logged = commission.hours.filter(operation=COAT, minutes__isnull=False)
        days = sorted(set(logged.values_list("worked_on", flat=True)))
    count = max(len(days), finish.coats if finish else 0)
    name = finish.name if finish else "finish"
    return [{"name": name, "put_on": days[at] if at < len(days) else None} for at in range(count)]


def _made_on(commission: Commission) -> datetime.date:
    """The day of the last work that is known of; today where none is."""
    ended = commission.steps.filter(ended_at__isnull=False).order_by("-ended_at").first()
    days = [_day(ended.ended_at)] if ended else []
    days += commission.hours.order_by("-worked_on").values_list("worked_on", flat=True)[:1]
    return min(max(days, default=timezone.localdate()), timezone.localdate())


def copies_of(commission: Commission, *, piece: int) -> dict[str, list[dict[str, Any]]]:
    """Copies of the commission's own rows as plain values, lengths mm as text; what there is none of is not there."""
    copies = {
        "moisture": [
            _copied(row, "what", "percent", "read_on", "note") for row in _oldest(commission.readings)
        ],
        "adhesive": glued_with(commission, piece=piece),
        "boards": _boards(commission),
        "saw": [
            _copied(
                row, "saw", "miter_deg", "tilt_deg", "shown_deg", "segments", "closed", "gap", "proven_on"
            )
            for row in commission.saw_settings.order_by("proven_on", "pk")
        ],
        "as_built": [
            _copied(row, "part", "glue_up", "height", "run_out", "verdict", "at")
            for row in AsBuilt.objects.for_studio(commission.studio_id).filter(
                commission=commission, piece=piece
            )
        ],
        "mishaps": [
            {**_copied(row, "kind", "note", "layers", "rings", "at"), "step": row.step.name}
            for row in _of_steps(Mishap.objects, commission)
        ],
        "notes": [
            {**_copied(row, "text", "at"), "step": row.step.name}
            for row in _of_steps(StepNote.objects.exclude(text=""), commission)
        ],
    }
    return {name: rows for name, rows in copies.items() if rows}


def _oldest(rows: Any) -> Any:
    return rows.order_by("read_on", "pk")


def _of_steps(rows: Any, commission: Commission) -> Any:
    return rows.filter(step__commission=commission).select_related("step").order_by("at", "pk")


def _boards(commission: Commission) -> list[dict[str, Any]]:
    """The boards that were cut for it, with where they lay and what was noted of them."""
    cuts = BoardEvent.objects.for_studio(commission.studio_id).filter(
        commission=commission, what=Happening.CUT
    )
    rows = cuts.select_related("board__wood").order_by("at", "pk")
    return [
        {
            "count": cut.count,
            **_copied(cut.board, "what", "place", "note"),
            "wood": cut.board.wood.name,
            "cut_on": _day(cut.at).isoformat(),
        }
        for cut in rows
    ]


def _day(moment: datetime.datetime | None) -> datetime.date:
    return timezone.localtime(moment).date()


def _copied(row: Any, *names: str) -> dict[str, Any]:
    """Fields as JSON has them: days, moments and decimals as text."""
    values = {name: getattr(row, name) for name in names}
    return {
        name: value if value is None or isinstance(value, str | int | bool | list) else _plain(value)
        for name, value in values.items()
    }


def _plain(value: Any) -> str:
    return value.isoformat() if isinstance(value, datetime.date) else format(value.normalize(), "f")
