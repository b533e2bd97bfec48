"""A sawing plan sought further: each answer kept, stopped, taken over, broken off, and only so many at once."""

from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.core.management import CommandError, call_command
from django.utils import timezone

from projects.models import Board, Commission, SawingPlan, Studio
from projects.models.sawing import EFFORTS, SILENT, PlanState
from projects.services.commissions import commission_update
from projects.services.sawing import MOST_AT_ONCE, plan_create, thawed
from projects.services.sawing_search import better, search, search_go_on, search_stop
from tests.factories import BoardFactory, CommissionFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def jobs(studio: Studio) -> list[Commission]:
    """Two agreed commissions of maple and walnut."""
    return [CommissionFactory(studio=studio, stage="agreed", title=title) for title in ("Bowl", "Vase")]


@pytest.fixture
def lying(studio: Studio) -> dict[str, Board]:
    """Boards enough for both."""
    return {
        key: BoardFactory(wood=studio.woods.get(key=key), length=2000, width=200, thickness=27, count=3)
        for key in ("maple", "walnut")
    }


@pytest.fixture
def plan(studio: Studio, jobs: list[Commission], lying: Any) -> SawingPlan:
    """The first answer for both."""
    return plan_create(studio=studio, commissions=jobs)


def _searched(plan: SawingPlan) -> SawingPlan:
    search(plan=plan.pk, runner=plan.runner)
    plan.refresh_from_db()
    return plan


def test_a_search_keeps_every_answer_never_dearer_and_ends_proven_or_with_all_tried(plan: SawingPlan) -> None:
    assert plan.state == PlanState.SEARCHING
    _searched(plan)
    assert plan.state == PlanState.READY
    costs = [Decimal(step["cost"]) for step in plan.steps]
    bounds = [Decimal(step["bound"]) for step in plan.steps]
    assert costs == sorted(costs, reverse=True)
    assert bounds == sorted(bounds)
    assert plan.proven or plan.effort == EFFORTS[-1]
    assert [step["effort"] for step in plan.steps] == list(EFFORTS)[: len(plan.steps)]
    assert plan.runner == ""
    assert thawed(plan).plan.cutting.cost == pytest.approx(float(plan.cost), abs=1e-4)


def test_the_same_search_twice_finds_the_same_plan(
    studio: Studio, jobs: list[Commission], lying: Any
) -> None:
    plans = [_searched(plan_create(studio=studio, commissions=jobs)) for _ in range(2)]
    assert plans[0].plan == plans[1].plan


def test_a_search_asked_to_stop_keeps_what_it_has_and_goes_on_later(plan: SawingPlan) -> None:
    search_stop(plan=plan)
    _searched(plan)
    assert (plan.state, plan.effort, plan.can_go_on) == (PlanState.READY, 0, True)
    assert "Stopped" in plan.progress
    plan = search_go_on(plan=plan)
    assert plan.state == PlanState.SEARCHING
    assert _searched(plan).effort > 0
    if not plan.can_go_on:
        with pytest.raises(ValidationError, match="all was tried"):
            search_go_on(plan=plan)


def test_a_search_that_fell_silent_is_known_is_taken_over_and_writes_no_more(plan: SawingPlan) -> None:
    first = plan.runner
    SawingPlan.objects.update(beat_at=timezone.now() - 2 * SILENT)
    plan.refresh_from_db()
    assert (plan.is_silent, plan.is_running, plan.can_go_on) == (True, False, True)
    again = search_go_on(plan=plan)
    assert again.runner != first
    search(plan=plan.pk, runner=first)
    plan.refresh_from_db()
    assert (plan.state, plan.effort, plan.runner) == (PlanState.SEARCHING, 0, again.runner)
    SawingPlan.objects.update(beat_at=timezone.now() - 2 * SILENT)
    plan.refresh_from_db()
    assert search_stop(plan=plan).state == PlanState.READY


def test_a_search_that_breaks_off_leaves_the_plan_and_says_so(plan: SawingPlan, monkeypatch: Any) -> None:
    def breaks(*args: Any, **kwargs: Any) -> None:
        raise MemoryError("no room")

    monkeypatch.setattr("estimating.sawing.plan_sawing", breaks)
    with pytest.raises(MemoryError):
        search(plan=plan.pk, runner=plan.runner)
    plan.refresh_from_db()
    assert plan.state == PlanState.FAILED
    assert plan.trouble.startswith("Something went wrong in it (MemoryError); the server's log says what.")
    assert "no room" not in plan.trouble
    assert thawed(plan).plan.cutting.boards
    assert plan.can_go_on


def test_only_so_many_searches_run_at_once(studio: Studio, jobs: list[Commission], lying: Any) -> None:
    plans = [plan_create(studio=studio, commissions=jobs) for _ in range(MOST_AT_ONCE + 1)]
    assert [one.state for one in plans] == [PlanState.SEARCHING] * MOST_AT_ONCE + [PlanState.READY]
    assert "searches run already" in plans[-1].progress
    with pytest.raises(ValidationError, match="run already"):
        search_go_on(plan=plans[-1])
    _searched(plans[0])
    assert search_go_on(plan=plans[-1]).state == PlanState.SEARCHING


def test_the_command_seeks_a_plan_and_refuses_one_that_is_not_there(plan: SawingPlan) -> None:
    call_command("plan_sawing", plan.pk, "--runner", plan.runner)
    plan.refresh_from_db()
    assert plan.state == PlanState.READY
    with pytest.raises(CommandError, match="no sawing plan 987654"):
        call_command("plan_sawing", 987654)


def test_of_two_answers_the_one_that_buys_less_is_kept_then_the_cheaper(plan: SawingPlan) -> None:
    found = thawed(plan)
    cutting = found.plan.cutting

    def like(**values: Any) -> Any:
        return replace(found, plan=replace(found.plan, cutting=replace(cutting, **values)))

    dear, cheap = like(cost=100.0, bound=80.0, proven=False), like(cost=90.0, bound=70.0, proven=False)
    best = better(dear, cheap).plan.cutting
    assert (best.cost, best.bound, best.proven) == (90.0, 80.0, False)
    best = better(cheap, dear).plan.cutting
    assert (best.cost, best.bound) == (90.0, 80.0)
    assert better(cheap, like(cost=95.0, bound=90.0)).plan.cutting.proven
    buys = like(cost=1.0, bound=1.0, boards=tuple(replace(board, buy=True) for board in cutting.boards))
    assert better(dear, buys) == dear
    assert better(buys, dear) == dear


def test_a_change_of_the_drawing_while_it_is_sought_ends_the_search(
    plan: SawingPlan, jobs: list[Commission]
) -> None:
    commission_update(commission=jobs[0], quantity=2)
    _searched(plan)
    assert plan.state == PlanState.STALE
    assert "changed while the plan was sought" in plan.progress
