"""What a client has agreed to as drawn, and how the design stands to it: what is signed, what waits, what differs."""

import datetime
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django.utils import timezone

from projects.design_differs import Difference, Said, differences, fingerprint
from projects.estimates import piece_data
from projects.models import ChangeOrder, Commission, SignOff, Studio, Wood
from projects.models.agreements import Answer, SignOffKind
from projects.models.commissions import Stage
from projects.quote_state import accepted_quote
from projects.wording import said_length

AT_AN_END = (Stage.DELIVERED, Stage.CLOSED, Stage.DECLINED)
"""Nothing is put to the client any more."""

_VALUES = {
    "cut": "cut segments",
    "sliced": "sawn from thick rings",
    "wall": "an even wall",
    "curve": "its own curve",
}


@dataclass(frozen=True, slots=True)
class AgreedPiece:
    """The piece as the client last agreed to it: its frozen `sheet` with the finish by name.

    `words` say what it was agreed by ("the drawing that ... signed"); `is_signed` is False where that was the quote.
    """

    sheet: Mapping[str, Any]
    words: str
    at: datetime.datetime
    is_signed: bool


@dataclass(frozen=True, slots=True)
class DrawingState:
    """Where the drawing of a commission stands: what waits for the client, what was agreed, and what differs from it.

    `is_sent` says that the drawing which waits is of the design as it is now.
    """

    commission: Commission
    waits: SignOff | None
    is_sent: bool
    agreed: AgreedPiece | None
    differs: tuple[str, ...]
    change: ChangeOrder | None
    is_priced: bool

    @property
    def is_quiet(self) -> bool:
        """Whether there is nothing to say before the saw."""
        return self.waits is None and not self.differs

    @property
    def words(self) -> str:
        """What is to be said before the saw; empty where nothing is."""
        said = []
        if self.waits is not None:
            said.append("The drawing waits to be signed.")
        if self.differs and self.agreed is not None:
            said.append(f"The design differs from {self.agreed.words}: {self._to_do}")
        return " ".join(said)

    @property
    def _to_do(self) -> str:
        if self.is_priced and self.change is not None:
            return f"change {self.change.number} waits for the client."
        return "it waits for the client." if self.waits is not None and self.is_sent else "price the change."


def named_finish(sheet: Mapping[str, Any], name: str) -> dict[str, Any]:
    """A sheet with its finish by name, to be frozen and compared."""
    return {**sheet, "finish": {**sheet.get("finish", {}), "name": name}}


def readable(sheet: Mapping[str, Any]) -> dict[str, Any]:
    """A frozen sheet as estimating reads it, which knows finishes without names."""
    finish = {key: value for key, value in sheet.get("finish", {}).items() if key != "name"}
    return {**sheet, "finish": finish}


def agreed_piece(commission: Commission) -> AgreedPiece | None:
    """The latest of: the signed drawing, the accepted change that has one, the quote accepted; None before any."""
    found = [
        one for one in (_signed(commission), _changed(commission), _quoted(commission)) if one is not None
    ]
    return max(found, key=lambda one: one.at, default=None)


def _signed(commission: Commission) -> AgreedPiece | None:
    rows = SignOff.objects.filter(commission=commission, kind=SignOffKind.DRAWING, answer=Answer.AGREED)
    row = rows.defer("drawing").order_by("-answered_at", "-pk").first()
    if row is None or row.answered_at is None:
        return None
    return AgreedPiece(row.sheet, f"the drawing signed on {_day(row.answered_at)}", row.answered_at, True)


def _changed(commission: Commission) -> AgreedPiece | None:
    rows = ChangeOrder.objects.filter(commission=commission, answer=Answer.AGREED).exclude(drawing="")
    row = rows.defer("drawing", "estimate").order_by("-answered_at", "-pk").first()
    if row is None or row.answered_at is None:
        return None
    words = f"the drawing of change {row.number}, agreed on {_day(row.answered_at)}"
    return AgreedPiece(row.sheet, words, row.answered_at, True)


def _quoted(commission: Commission) -> AgreedPiece | None:
    accepted = accepted_quote(commission)
    if accepted is None:
        return None
    quote, event = accepted
    frozen = event.option or quote
    sheet = named_finish(frozen.sheet, frozen.finish.get("name", ""))
    return AgreedPiece(sheet, f"quote {quote.reference} as it was accepted", event.at, False)


def _day(moment: datetime.datetime) -> str:
    day = timezone.localdate(moment)
    return f"{day.day} {day:%B %Y}"


def drawing_state(commission: Commission) -> DrawingState:
    """Where the drawing of one commission stands."""
    asked = SignOff.objects.filter(commission=commission, kind=SignOffKind.DRAWING, answer=Answer.WAITING)
    waits = asked.defer("drawing").first()
    changes = ChangeOrder.objects.filter(commission=commission, answer=Answer.WAITING)
    change = changes.defer("drawing", "estimate").first()
    agreed = agreed_piece(commission)
    now = piece_data(commission.design, commission=commission) if commission.design else {}
    differs = design_differs(commission, agreed.sheet, now) if agreed and now else ()
    mark = fingerprint(now)
    return DrawingState(
        commission=commission,
        waits=waits,
        is_sent=waits is not None and fingerprint(waits.sheet) == mark,
        agreed=agreed,
        differs=differs,
        change=change,
        is_priced=change is not None and bool(change.sheet) and fingerprint(change.sheet) == mark,
    )


def drawing_states(commissions: Iterable[Commission]) -> list[DrawingState]:
    """Those of which there is something to say before the saw."""
    states = [drawing_state(one) for one in commissions if one.stage not in AT_AN_END]
    return [state for state in states if not state.is_quiet]


def design_differs(
    commission: Commission, before: Mapping[str, Any], after: Mapping[str, Any]
) -> tuple[str, ...]:
    """What is other about the second sheet's piece, each in a line in the studio's units; none where nothing is."""
    found = differences(before, after)
    if not found:
        return ()
    studio = commission.studio
    woods = dict(Wood.objects.for_studio(studio).values_list("key", "name"))
    return tuple(difference_words(one, studio=studio, woods=woods) for one in found)


def difference_words(one: Difference, *, studio: Studio, woods: Mapping[str, str]) -> str:
    """One difference in a line: `layer thickness of band 2: 14 mm, now 14.5 mm`."""
    if one.was is None and one.now is None:
        return one.what
    before, after = (_said(value, one, studio=studio, woods=woods) for value in (one.was, one.now))
    return f"{one.what}: {before}, now {after}"


def _said(value: Said, one: Difference, *, studio: Studio, woods: Mapping[str, str]) -> str:
    if value is None or value == ():
        return "none"
    if isinstance(value, tuple):
        return " and ".join(woods.get(key, key.replace("_", " ")) for key in value)
    if isinstance(value, str):
        return _VALUES.get(value, value)
    if one.kind == "length":
        return f"{said_length(float(value), studio)} {studio.length_unit}"
    return f"{value * 100:g} %" if one.kind == "share" else f"{value:g}"
