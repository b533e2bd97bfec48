"""What a piece took beside what its estimate said: wood by the cuts, adhesive by the mixes, work by the hours log."""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from django.db.models import Sum

from projects.models import BoardEvent, Commission, PieceRecord, TakenLine, Wood
from projects.models.rack import Happening
from projects.models.records import TakenKind
from projects.services.saving import checked

LARGE_SHARE = Decimal("0.25")
"""From this share of the estimate on, a difference is large; a setting of our own."""

LEAST: Mapping[str, Decimal] = {
    TakenKind.WOOD: Decimal(250_000),
    TakenKind.ADHESIVE: Decimal(20),
    TakenKind.OPERATION: Decimal(15),
}
"""And at least so much: mm³, ml, minutes. Less is not worth a reason, however large a share it is."""

_STEP = Decimal("0.01")


@dataclass(frozen=True, slots=True)
class Line:
    """One thing a piece took: mm³, ml or minutes; None where nothing says it."""

    kind: str
    key: str
    name: str
    estimated: Decimal | None
    taken: Decimal | None


def is_large(estimated: Decimal | None, taken: Decimal | None, *, kind: str) -> bool:
    """Whether the two are so far apart that a reason is asked for: 25 % and more, and no trifle."""
    if estimated is None or taken is None:
        return False
    off = abs(taken - estimated)
    return off >= LEAST[kind] and off >= LARGE_SHARE * estimated


def lines_of(commission: Commission, estimate: Mapping[str, Any]) -> list[Line]:
    """One piece's share of all that the commission took, woods first, then adhesive, then operations."""
    pieces = int(estimate.get("quantity") or commission.quantity or 1)
    lines = [*_wood(commission, estimate), *_adhesive(commission, estimate), *_work(commission, estimate)]
    return [
        Line(one.kind, one.key, one.name, _share(one.estimated, pieces), _share(one.taken, pieces))
        for one in lines
    ]


def _share(amount: Decimal | None, pieces: int) -> Decimal | None:
    return None if amount is None else (amount / pieces).quantize(_STEP, rounding=ROUND_HALF_UP)


def _wood(commission: Commission, estimate: Mapping[str, Any]) -> list[Line]:
    """Boards less what comes back: as estimated, and as the rack's history has it."""
    said = {
        key: Decimal(repr(float(account["boards"]) - float(account["kept"])))
        for key, account in estimate.get("wood", {}).items()
    }
    took: dict[str, Decimal] = defaultdict(Decimal)
    happened = BoardEvent.objects.for_studio(commission.studio_id).filter(commission=commission)
    for event in happened.filter(what__in=(Happening.CUT, Happening.OFFCUT)).select_related("board__wood"):
        board = event.board
        volume = event.count * board.length * board.width * board.thickness
        took[board.wood.key] += volume if event.what == Happening.CUT else -volume
    names = dict(Wood.objects.for_studio(commission.studio_id).values_list("key", "name"))
    return [
        Line(
            TakenKind.WOOD,
            key,
            names.get(key, key.replace("_", " ")),
            said.get(key),
            # An offcut alone, of a board that was cut for another commission, is nothing that this one took.
            max(took[key], Decimal(0)) if key in took else None,
        )
        for key in [*said, *(key for key in took if key not in said)]
    ]


def _adhesive(commission: Commission, estimate: Mapping[str, Any]) -> list[Line]:
    """What was measured into the cups: as estimated for all mixes, and by the cards of those that were mixed."""
    to_buy = estimate.get("adhesive", {}).get("to_buy")
    said = None if to_buy is None else _ml(to_buy)
    cards = commission.steps.filter(mixed_at__isnull=False).values_list("card", flat=True)
    mixes = [_ml(mix) for card in cards for mix in card.get("mixes", [])]
    if said is None and not mixes:
        return []
    return [Line(TakenKind.ADHESIVE, "adhesive", "adhesive", said, sum(mixes, Decimal(0)) if mixes else None)]


def _ml(mix: Mapping[str, Any]) -> Decimal:
    return Decimal(repr(float(mix["part_a_ml"]) + float(mix["part_b_ml"])))


def _work(commission: Commission, estimate: Mapping[str, Any]) -> list[Line]:
    """Minutes by operation: the estimate's means, and the hours log. A clock that still runs counts for nothing."""
    said = {
        row["name"]: Decimal(repr(float(row["mean"])))
        for row in estimate.get("labour", {}).get("operations", [])
        if row["mean"]
    }
    logged = commission.hours.filter(minutes__isnull=False).order_by().values_list("operation")
    took = dict(logged.annotate(Sum("minutes")))
    return [
        Line(TakenKind.OPERATION, name, name, said.get(name), took.get(name))
        for name in [*said, *sorted(name for name in took if name not in said)]
    ]


def lines_kept(record: PieceRecord, lines: list[Line]) -> None:
    """Write what a piece took; a reason given stays with its line, and a line with a reason stays."""
    there = {(row.kind, row.key): row for row in record.taken.all()}
    for position, line in enumerate(lines, start=1):
        row = there.pop((line.kind, line.key), None) or TakenLine(
            record=record, kind=line.kind, key=line.key[:80]
        )
        row.position, row.name = position, line.name[:120]
        row.estimated, row.taken = line.estimated, line.taken
        checked(row)
    for row in there.values():
        if not row.reason:
            row.delete()
