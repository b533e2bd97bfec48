"""A plan at the rack: its boards reserved, let go, and logged as cut, with the offcuts straight from the plan.

Rows are held in one order, so that no two people wait for each other: plan, commissions, boards.
"""

from collections import Counter
from collections.abc import Iterable, Sequence
from decimal import ROUND_FLOOR, Decimal
from typing import TYPE_CHECKING, Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from projects.models import Board, Commission, Member, PlannedBoard, Reservation, SawingPlan, Wood
from projects.models.sawing import PlanState
from projects.sawing import inputs_of, marks_now, reserved_for, stops_reserving
from projects.services import rack
from projects.services.rack_rows import held
from projects.services.saving import checked
from projects.services.sawing import held_plan, thawed

if TYPE_CHECKING:
    from estimating.wood.strips import Offcut, SawnBoard

AGAIN = "Nothing was reserved, and the plan is as it was. Plan again to saw from what is there now."
OLD = "What this plan was made from has changed, so its strips or boards would be wrong."
NEWER = "A better plan was found while you looked at this one. Look at it first."
NOTHING = "Nothing was reserved."  # how the rack ends a refusal; said once for all boards here
_MM = Decimal("0.001")
_PLACES = Decimal("0.0001")


def plan_reserve(
    *, plan: SawingPlan, member: Member | None = None, cost_seen: str | None = None
) -> SawingPlan:
    """Set aside every board of the rack that the plan saws from, each for the commission it serves most: all or none.

    What these commissions had reserved before counts. A search that still runs ends with it. `cost_seen` is the cost
    of the plan as it was looked at. Errors: ValidationError that names each board that is short, or says that the plan
    is out of date.
    """
    with transaction.atomic():
        row = held_plan(plan)
        if row.state in (PlanState.RESERVED, PlanState.CUT):
            raise ValidationError(f"{row} is reserved or cut already.")
        if cost_seen is not None and cost_seen != str(row.cost):
            raise ValidationError(NEWER)
        commissions = _held_commissions(row)
        _refuse_twice(row, commissions)
        planned = _to_saw(row)
        if not planned:
            raise ValidationError("No board of the rack is left to reserve in this plan.")
        _refuse_old(row, commissions, planned)
        held(one.board for one in planned if one.board)
        _set_aside(planned, commissions, member)
        row.state, row.runner, row.stop_asked, row.progress = PlanState.RESERVED, "", False, ""
        row.finished_at = row.finished_at or timezone.now()
        return checked(row)


def plan_release(*, plan: SawingPlan, member: Member | None = None) -> SawingPlan:
    """Let go of the boards this plan holds and has not cut."""
    with transaction.atomic():
        row = held_plan(plan)
        if row.state != PlanState.RESERVED:
            raise ValidationError("This plan holds no boards.")
        commissions = {one.pk: one for one in _held_commissions(row)}
        planned = [one for one in _to_saw(row) if one.reserved]
        held(one.board for one in planned if one.board)
        wanted: dict[int, Counter[Board]] = {}
        for one in planned:
            if one.board is not None and one.for_commission_id in commissions:
                wanted.setdefault(one.for_commission_id, Counter())[one.board] += 1
        for key, boards in wanted.items():
            # What somebody let go on the rack's own page is not held any more.
            left = {board: min(count, _has(board, key)) for board, count in boards.items()}
            if still := {board: count for board, count in left.items() if count}:
                rack.release(commission=commissions[key], boards=still, member=member)
        row.boards.filter(reserved=True).update(reserved=False)
        row.state = PlanState.READY
        return checked(row)


def boards_cut(
    *, plan: SawingPlan, numbers: Iterable[int] | None = None, member: Member | None = None
) -> list[Board]:
    """Log boards of the plan as cut, by number, or all that are left. Returns the offcuts that went on the rack.

    Each board leaves the rack and its offcuts come back as the plan has them; a board to buy is put there first, as
    it was planned. All of it or nothing. Errors: ValidationError that names the board.
    """
    with transaction.atomic():
        row = held_plan(plan)
        commissions = _held_commissions(row)
        asked = None if numbers is None else set(numbers)
        chosen = [
            one for one in row.boards.select_related("board__wood") if asked is None or one.number in asked
        ]
        todo = [one for one in chosen if one.cut_at is None]
        if asked is not None and (len(chosen) < len(asked) or len(todo) < len(chosen)):
            done = sorted(asked - {one.number for one in todo})
            raise ValidationError(f"Board {done[0]} of this plan is logged as cut already, or is not in it.")
        if not todo:
            raise ValidationError("Every board of this plan is logged as cut already.")
        if row.state == PlanState.SEARCHING:
            raise ValidationError("The plan is still sought. Stop the search first.")
        if row.state != PlanState.RESERVED:
            _refuse_twice(row, commissions)
        held(one.board for one in todo if one.board)
        sawn = thawed(row).plan.cutting.boards
        back = [
            one
            for planned in todo
            for one in _cut(row, planned, sawn[planned.number - 1], commissions, member)
        ]
        _note_rack(row, commissions, [one.board for one in todo if one.board] + back)
        if not row.boards.filter(cut_at__isnull=True).exists():
            row.state = PlanState.CUT
            row.finished_at = timezone.now()
        checked(row)
        return back


def _held_commissions(row: SawingPlan) -> list[Commission]:
    keys = list(row.commissions.order_by("pk").values_list("pk", flat=True))
    rows = Commission.objects.select_for_update(of=("self",)).filter(pk__in=keys).order_by("pk")
    return list(rows.select_related("client", "design__studio"))


def _refuse_twice(row: SawingPlan, commissions: Sequence[Commission]) -> None:
    """Not while another plan holds boards for one of the commissions: both would count on the same ones."""
    others = SawingPlan.objects.for_studio(row.studio).filter(state=PlanState.RESERVED).exclude(pk=row.pk)
    for other in others.filter(commissions__in=commissions).order_by("pk")[:1]:
        both = other.commissions.filter(pk__in=[job.pk for job in commissions]).order_by("pk")
        named = ", ".join(job.title for job in both)
        raise ValidationError(
            f"Sawing plan {other.pk} has boards reserved for {named} already. Release them there first, or saw by it."
        )


def _to_saw(row: SawingPlan) -> list[PlannedBoard]:
    """Its boards of the rack that are not cut yet."""
    rows = row.boards.filter(board__isnull=False, cut_at__isnull=True)
    return list(rows.select_related("board__wood", "for_commission"))


def _refuse_old(row: SawingPlan, commissions: Sequence[Commission], planned: Sequence[PlannedBoard]) -> None:
    try:
        now = inputs_of(row.studio, commissions).marks
    except ValidationError as refusal:
        raise ValidationError([OLD, *refusal.messages, AGAIN]) from refusal
    if stops_reserving(row.marks, now, [str(one.board_id) for one in planned]):
        raise ValidationError([OLD, AGAIN])


def _set_aside(
    planned: Sequence[PlannedBoard], commissions: Sequence[Commission], member: Member | None
) -> None:
    """Reserve what the commissions have not reserved before; every board that is short is named."""
    before = Counter(reserved_for(commissions))
    wanted: dict[int, Counter[Board]] = {}
    known = {one.pk: one for one in commissions}
    for one in planned:
        if one.board is None:
            continue
        if before[one.board.pk] > 0:
            before[one.board.pk] -= 1
            continue
        whose = one.for_commission_id if one.for_commission_id in known else commissions[0].pk
        one.for_commission_id, one.reserved = whose, True
        wanted.setdefault(whose, Counter())[one.board] += 1
    short: list[str] = []
    for key in sorted(wanted):
        try:
            rack.reserve(boards=wanted[key], commission=known[key], member=member)
        except ValidationError as refusal:
            short += [words for words in refusal.messages if words not in short and words != NOTHING]
    if short:
        raise ValidationError([*short, AGAIN])
    PlannedBoard.objects.bulk_update(planned, ["reserved", "for_commission"])


def _has(board: Board, commission: int) -> int:
    own = (
        Reservation.objects.filter(board=board, commission=commission).values_list("count", flat=True).first()
    )
    return own or 0


def _cut(
    row: SawingPlan,
    planned: PlannedBoard,
    sawn: "SawnBoard",
    commissions: Sequence[Commission],
    member: Member | None,
) -> list[Board]:
    note = f"Sawing plan {row.pk}, board {planned.number}."
    if planned.board is None:
        planned.board = _bought(row, sawn, member, note)
    whose = _whose(planned, commissions)
    try:
        back = rack.cut_logged(
            board=planned.board,
            offcuts=[_offcut(one, sawn, planned.board) for one in sawn.offcuts],
            commission=whose,
            member=member,
            note=note,
        )
    except ValidationError as refusal:
        raise ValidationError([f"Board {planned.number}: {words}" for words in refusal.messages]) from refusal
    planned.reserved, planned.cut_at, planned.cut_by = False, timezone.now(), member
    checked(planned)
    return back


def _whose(planned: PlannedBoard, commissions: Sequence[Commission]) -> Commission | None:
    """The commission that is served most; where it has none of the board, one of the plan's that has."""
    keys = [one.pk for one in commissions]
    kept = Reservation.objects.filter(board=planned.board, commission__in=keys)
    have = set(kept.values_list("commission_id", flat=True))
    ordered = sorted(
        commissions, key=lambda one: (one.pk not in have, one.pk != planned.for_commission_id, one.pk)
    )
    return ordered[0] if ordered else None


def _bought(row: SawingPlan, sawn: "SawnBoard", member: Member | None, note: str) -> Board:
    """A board to buy put on the rack, of the size and price that it was planned with."""
    wood = Wood.objects.for_studio(row.studio_id).filter(key=sawn.wood).first()
    if wood is None:
        raise ValidationError(f"The studio has no wood {sawn.wood} any more.")
    sizes: dict[str, Any] = {side: _mm(getattr(sawn, side)) for side in ("length", "width", "thickness")}
    sizes["surface"] = sawn.surface
    return rack.board_create(
        studio=row.studio, wood=wood, member=member, price=sawn.price.quantize(_PLACES), note=note, **sizes
    )


def _offcut(one: "Offcut", sawn: "SawnBoard", board: Board) -> rack.Offcut:
    """As the rack takes it, never a thousandth more than there is; as thick as the board where it was not resawn."""
    whole = abs(one.thickness - sawn.thickness) < float(_MM)
    return rack.Offcut(
        length=min(_mm(one.length), board.length),
        width=min(_mm(one.width), board.width),
        thickness=None if whole else _mm(one.thickness),
    )


def _mm(figure: float) -> Decimal:
    # Rounded first, so that 1199.9999999 is 1200 and not a thousandth less.
    return Decimal(repr(round(figure, 6))).quantize(_MM, rounding=ROUND_FLOOR)


def _note_rack(row: SawingPlan, commissions: Sequence[Commission], boards: Sequence[Board]) -> None:
    """What the plan itself has done to the rack is no change that makes it old."""
    marks = dict(row.marks)
    for key, mark in marks_now(row.studio, commissions, boards).items():
        if mark is None:
            marks.pop(key, None)
        else:
            marks[key] = mark
    row.marks = marks
