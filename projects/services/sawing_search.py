"""A plan sought further: effort after effort, each better answer kept at once, so that nothing is lost by a stop."""

import logging
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from django.conf import settings
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from projects.models import SawingPlan
from projects.models.sawing import EFFORTS, PlanState
from projects.sawing import Inputs, inputs_of
from projects.sawing_json import FrozenPlan
from projects.services.saving import checked
from projects.services.sawing import claim, held_plan, keep_answer, thawed, write_boards

log = logging.getLogger(__name__)

CHANGED = "A design, a setting or the rack changed while the plan was sought. Plan again."
STOPPED = "Stopped before the end. Go on where it stopped whenever you like."
SAME = 1e-9


KEPT = "What was found before is kept: go on seeking, or plan again."


def search_start(plan: SawingPlan) -> None:
    """Start the search that was claimed for a plan, in a process of its own that outlives this request."""
    if plan.state != PlanState.SEARCHING:
        return
    manage = Path(settings.BASE_DIR) / "manage.py"
    subprocess.Popen(
        [sys.executable, str(manage), "plan_sawing", str(plan.pk), "--runner", plan.runner],
        cwd=settings.BASE_DIR,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        start_new_session=True,
    )


def search_go_on(*, plan: SawingPlan) -> SawingPlan:
    """Claim a new search for a plan whose last one has ended or fallen silent; someone has to start it.

    Errors: ValidationError where there is nothing more to seek, or nobody may now.
    """
    with transaction.atomic():
        row = held_plan(plan)
        if not row.can_go_on:
            raise ValidationError("This plan is sought already, is proven the best, or all was tried.")
        if not claim(row):
            raise ValidationError(row.progress)
        return checked(row)


def search_stop(*, plan: SawingPlan) -> SawingPlan:
    """Ask a search to stop; one that has fallen silent is ended here."""
    with transaction.atomic():
        row = held_plan(plan)
        if row.state == PlanState.SEARCHING:
            if row.is_silent:
                _ended(row, PlanState.READY, STOPPED)
            else:
                row.stop_asked, row.progress = True, "Stopping."
            checked(row)
        return row


def search(*, plan: int, runner: str, clock: Callable[[], float] = time.monotonic) -> None:
    """Seek a plan further as its `runner`, until it is proven, all efforts are tried, or someone stops it."""
    row = _mine(plan, runner)
    if row is None:
        return
    try:
        inputs = inputs_of(
            row.studio, row.commissions.select_related("client", "design__studio").order_by("pk")
        )
        if inputs.marks != row.marks:
            end(plan, runner, PlanState.STALE, CHANGED)
            return
        for effort in EFFORTS:
            if effort > row.effort and not _sought(plan, runner, inputs, effort, clock):
                return
    except ValidationError as refusal:
        end(plan, runner, PlanState.STALE, CHANGED, trouble=" ".join(refusal.messages))
    except Exception as trouble:
        # Whatever it was, the plan found before stays, and the page says that the search broke off.
        log.exception("The search for sawing plan %s broke off", plan)
        end(
            plan,
            runner,
            PlanState.FAILED,
            "The search broke off.",
            trouble=f"Something went wrong in it ({type(trouble).__name__}); the server's log says what. {KEPT}",
        )
        raise
    else:
        end(plan, runner, PlanState.READY, "All was tried that this search tries.")


def _sought(plan: int, runner: str, inputs: Inputs, effort: int, clock: Callable[[], float]) -> bool:
    """One effort. Whether to go on with the next."""
    step = EFFORTS.index(effort)
    words = f"Effort {effort} of {EFFORTS[-1]}, step {step} of {len(EFFORTS) - 1}."
    if not beat(plan, runner, progress=words):
        return False
    began = clock()
    sawn = inputs.planned(effort=effort)
    found = FrozenPlan(sawn, inputs.commissions, inputs.shop)
    return _kept(plan, runner, found, effort=effort, seconds=clock() - began)


def _kept(plan: int, runner: str, found: FrozenPlan, *, effort: int, seconds: float) -> bool:
    with transaction.atomic():
        row = _mine(plan, runner, lock=True)
        if row is None:
            return False
        before = thawed(row)
        best = better(before, found)
        keep_answer(row, best, effort=effort, seconds=seconds)
        if best.plan.cutting.boards != before.plan.cutting.boards:
            write_boards(row, best.plan, best.commissions)
        row.beat_at = timezone.now()
        if row.proven:
            _ended(row, PlanState.READY, "No cheaper plan exists.")
        elif row.stop_asked:
            _ended(row, PlanState.READY, STOPPED)
        checked(row)
        return row.state == PlanState.SEARCHING


def better(before: FrozenPlan, found: FrozenPlan) -> FrozenPlan:
    """The one that buys less wood, then the cheaper; the old one where they are alike, with the tighter bound.

    A bound holds for plans that buy no more than its own, so it passes only between two that buy the same.
    """
    old, new = before.plan.cutting, found.plan.cutting
    volumes = [sum(board.volume for board in cutting.boards if board.buy) for cutting in (old, new)]
    alike = abs(volumes[0] - volumes[1]) <= SAME * max(volumes)
    if not alike:
        return found if volumes[1] < volumes[0] else before
    best = found if new.cost < old.cost * (1 - SAME) else before
    cutting = best.plan.cutting
    bound = min(max(old.bound, new.bound), cutting.cost)
    tightened = replace(cutting, bound=bound, proven=cutting.cost <= bound * (1 + SAME))
    return replace(best, plan=replace(best.plan, cutting=tightened))


def beat(plan: int, runner: str, *, progress: str | None = None) -> bool:
    """Sign that the search lives. Whether it is still this runner's, and nobody has asked it to stop."""
    said = {"beat_at": timezone.now()} | ({} if progress is None else {"progress": progress})
    mine = SawingPlan.objects.filter(pk=plan, runner=runner, state=PlanState.SEARCHING)
    if not mine.filter(stop_asked=False).update(**said):
        end(plan, runner, PlanState.READY, STOPPED)
        return False
    return True


def end(plan: int, runner: str, state: PlanState, progress: str, *, trouble: str = "") -> None:
    """End this runner's search; one that is no longer its own it leaves alone."""
    with transaction.atomic():
        row = _mine(plan, runner, lock=True)
        if row is not None:
            row.trouble = trouble
            _ended(row, state, progress)
            checked(row)


def _ended(row: SawingPlan, state: PlanState, progress: str) -> None:
    row.state, row.progress, row.runner = state, progress, ""
    row.stop_asked, row.finished_at = False, timezone.now()


def _mine(plan: int, runner: str, *, lock: bool = False) -> SawingPlan | None:
    rows = SawingPlan.objects.select_related("studio").filter(
        pk=plan, runner=runner, state=PlanState.SEARCHING
    )
    if not runner:
        return None
    return (rows.select_for_update(of=("self",)) if lock else rows).first()
