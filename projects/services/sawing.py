"""Sawing plans made, kept and thrown away; sought further in `sawing_search`, taken to the rack in `sawing_rack`."""

import secrets
from collections import Counter
from collections.abc import Iterable, Sequence
from decimal import ROUND_HALF_UP, Decimal
from typing import TYPE_CHECKING, Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Q
from django.utils import timezone

from projects.models import Board, Commission, Member, PlannedBoard, SawingPlan, Studio
from projects.models.commissions import OPEN_STAGES
from projects.models.sawing import PlanState
from projects.sawing import Inputs, changes, inputs_of
from projects.sawing_json import FrozenPlan, freeze, thaw
from projects.services.saving import checked

if TYPE_CHECKING:
    from estimating.sawing import SawingPlan as Sawn
    from estimating.wood.strips import SawnBoard

MOST_AT_ONCE = 2
"""Searches of one studio that run at the same time."""

BUSY = f"{MOST_AT_ONCE} searches run already. Seek on when one of them has ended."
_PLACES = Decimal("0.0001")


def plan_create(
    *, studio: Studio, commissions: Iterable[Commission], member: Member | None = None
) -> SawingPlan:
    """A first plan at once. Unless it is proven the best, a search is claimed for it, which someone has to start.

    Errors: ValidationError, at `commissions` where one of them cannot be planned.
    """
    chosen = _chosen(studio, commissions)
    inputs = inputs_of(studio, chosen)
    sawn = inputs.planned(effort=0)
    plan = SawingPlan(studio=studio, member=member, title=_title(chosen))
    with transaction.atomic():
        put(plan, inputs, sawn, effort=0, seconds=None)
        plan.commissions.set(chosen)
    return plan


def plan_again(*, plan: SawingPlan) -> SawingPlan:
    """The plan made anew from what the designs, the shop and the rack are now, in place of the old one.

    Errors: ValidationError where boards are reserved or cut by it, or as `plan_create`; the old plan stays then.
    """
    chosen = list(plan.commissions.select_related("client", "design__studio").order_by("pk"))
    inputs = inputs_of(plan.studio, chosen)
    sawn = inputs.planned(effort=0)
    with transaction.atomic():
        row = held_plan(plan)
        if row.boards.filter(reserved=True).exists():
            raise ValidationError("Boards are reserved by this plan. Release them first.")
        if row.boards.filter(cut_at__isnull=False).exists():
            raise ValidationError("Boards of this plan are cut already. Make a new plan for what is left.")
        row.steps = []
        return put(row, inputs, sawn, effort=0, seconds=None)


def plan_delete(*, plan: SawingPlan) -> None:
    """Throw a plan away; refused while it holds boards, or once it was sawn by."""
    with transaction.atomic():
        row = held_plan(plan)
        if row.boards.filter(reserved=True).exists():
            raise ValidationError("Boards are reserved by this plan. Release them first.")
        if row.boards.filter(cut_at__isnull=False).exists():
            raise ValidationError("Boards were cut by this plan. It is kept for their history.")
        row.delete()


def plan_checked(plan: SawingPlan) -> list[str]:
    """What has changed since the plan was made, in words; a plan that nobody holds boards for is marked by it."""
    if plan.state not in (PlanState.READY, PlanState.STALE, PlanState.RESERVED):
        return []
    chosen = list(plan.commissions.select_related("client", "design__studio").order_by("pk"))
    names = {f"job {one.pk}": one.title for one in chosen}
    try:
        words = changes(plan.marks, inputs_of(plan.studio, chosen).marks, names)
    except ValidationError as refusal:
        words = list(refusal.messages)
    if plan.state != PlanState.RESERVED:
        state = PlanState.STALE if words else PlanState.READY
        if state != plan.state:
            # Only if nobody has reserved, cut or sought on meanwhile.
            SawingPlan.objects.filter(pk=plan.pk, state=plan.state).update(state=state)
            plan.state = state
    return words


def plans_kept(commission: Commission) -> list[SawingPlan]:
    """The plans whose boards are reserved or cut, wholly or in part, for this commission; the newest first."""
    kept = Q(state__in=(PlanState.RESERVED, PlanState.CUT)) | Q(boards__cut_at__isnull=False)
    return list(SawingPlan.objects.filter(kept, commissions=commission).defer("plan", "marks").distinct())


def held_plan(plan: SawingPlan) -> SawingPlan:
    """The plan's row, locked and read anew. Errors: ValidationError where it is gone."""
    row = SawingPlan.objects.select_for_update(of=("self",)).select_related("studio").filter(pk=plan.pk)
    found: SawingPlan | None = row.first()
    if found is None:
        raise ValidationError("This plan was thrown away.")
    return found


def put(plan: SawingPlan, inputs: Inputs, sawn: "Sawn", *, effort: int, seconds: float | None) -> SawingPlan:
    """A first answer kept as the plan, with its boards; within a transaction."""
    plan.trouble, plan.progress, plan.stop_asked = "", "", False
    plan.marks = dict(inputs.marks)
    plan.finished_at = None
    keep_answer(plan, FrozenPlan(sawn, inputs.commissions, inputs.shop), effort=effort, seconds=seconds)
    claim(plan)
    checked(plan)
    write_boards(plan, sawn, inputs.commissions)
    return plan


def keep_answer(plan: SawingPlan, frozen: FrozenPlan, *, effort: int, seconds: float | None) -> None:
    """Put an answer and its figures into the record, without saving it."""
    cutting = frozen.plan.cutting
    plan.plan = freeze(frozen)
    plan.effort = effort
    plan.cost = _money(cutting.cost)
    plan.bound = min(_money(cutting.bound), plan.cost)
    plan.proven = cutting.proven
    step = {"effort": effort, "cost": str(plan.cost), "bound": str(plan.bound), "proven": cutting.proven}
    plan.steps = [*plan.steps, step | {"seconds": None if seconds is None else round(seconds, 1)}]


def _money(figure: float) -> Decimal:
    return Decimal(repr(figure)).quantize(_PLACES, rounding=ROUND_HALF_UP)


def claim(plan: SawingPlan) -> bool:
    """Set a plan searching under a new runner, unless it is proven or too many searches run; without saving it."""
    plan.runner = ""
    if plan.proven:
        plan.state, plan.finished_at = PlanState.READY, timezone.now()
        return False
    # The studio's row is held, so that two who start a search at once are counted one after the other.
    Studio.objects.select_for_update().get(pk=plan.studio_id)
    running = SawingPlan.objects.for_studio(plan.studio_id).filter(state=PlanState.SEARCHING)
    if (
        sum(other.is_running for other in running.exclude(pk=plan.pk).only("state", "beat_at"))
        >= MOST_AT_ONCE
    ):
        plan.state, plan.progress = PlanState.READY, BUSY
        return False
    plan.state, plan.runner = PlanState.SEARCHING, secrets.token_hex(16)
    plan.stop_asked, plan.trouble = False, ""
    plan.started_at = plan.beat_at = timezone.now()
    plan.finished_at = None
    plan.progress = "Seeking a cheaper plan."
    return True


def write_boards(plan: SawingPlan, sawn: "Sawn", commissions: Sequence[int]) -> None:
    """The plan's boards as rows, in place of those it had."""
    plan.boards.all().delete()
    refs = [int(board.ref) for board in sawn.cutting.boards if board.ref]
    known = set(Board.objects.for_studio(plan.studio_id).filter(pk__in=refs).values_list("pk", flat=True))
    rows = []
    for number, board in enumerate(sawn.cutting.boards, start=1):
        there = int(board.ref) if board.ref and int(board.ref) in known else None
        whose = commissions[serves_most(sawn, board)]
        rows.append(PlannedBoard(plan=plan, number=number, board_id=there, for_commission_id=whose))
    PlannedBoard.objects.bulk_create(rows)


def serves_most(sawn: "Sawn", board: "SawnBoard") -> int:
    """The job, from 0, that most of the wood of a board's strips is for; the first of them where it is even."""
    shares: Counter[int] = Counter()
    for strip in board.strips:
        jobs = {sawn.ring(ring)[0] for ring in strip.rings}
        for job in sorted(jobs):
            shares[job] += round(1000 * strip.volume / len(jobs))
    return min(shares, key=lambda job: (-shares[job], job), default=0)


def thawed(plan: SawingPlan) -> FrozenPlan:
    """The plan as it was found. Errors: projects.sawing_json.UnreadablePlan."""
    return thaw(plan.plan)


def _chosen(studio: Studio, commissions: Iterable[Commission]) -> list[Commission]:
    keys = {one.pk for one in commissions}
    rows = Commission.objects.for_studio(studio).filter(pk__in=keys)
    chosen = list(rows.select_related("client", "design__studio").order_by("pk"))
    wrong: list[Any] = []
    if len(chosen) < len(keys):
        wrong.append("Choose commissions of this studio.")
    wrong += [
        f"{one} is {one.get_stage_display()}: nothing is to be sawn for it."
        for one in chosen
        if one.stage not in OPEN_STAGES
    ]
    if wrong:
        raise ValidationError({"commissions": wrong})
    return chosen


def _title(chosen: Sequence[Commission]) -> str:
    """Their titles, as many as there is room for."""
    words = ", ".join(one.title for one in chosen)
    return words if len(words) <= 160 else f"{words[:150].rstrip(', ')} … ({len(chosen)} commissions)"
