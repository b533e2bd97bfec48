"""Two people with two plans at one rack, each with a connection of their own: nothing is promised or sawn twice."""

from collections.abc import Callable
from typing import Any

import pytest
from django.core.exceptions import ValidationError

from projects.models import Board, Commission, Reservation, SawingPlan, Studio
from projects.services.sawing import plan_create
from projects.services.sawing_rack import boards_cut, plan_release, plan_reserve
from projects.services.sawing_search import search, search_go_on
from tests.factories import BoardFactory, CommissionFactory, StudioFactory
from tests.projects.threads import at_once

pytestmark = pytest.mark.django_db(transaction=True)
TIMES = 6


def _fresh(plan: SawingPlan) -> SawingPlan:
    # Each thread reads its own row, as two requests would.
    return SawingPlan.objects.get(pk=plan.pk)


def _reserving(plan: SawingPlan) -> Callable[[], Any]:
    return lambda: plan_reserve(plan=_fresh(plan))


def _cutting(plan: SawingPlan) -> Callable[[], Any]:
    return lambda: boards_cut(plan=_fresh(plan))


@pytest.fixture
def jobs() -> list[Commission]:
    """Two commissions of one studio, both of maple and walnut."""
    studio = StudioFactory()
    return [CommissionFactory(studio=studio, stage="agreed") for _ in range(2)]


def _lying(studio: Studio, count: int) -> list[Board]:
    keys = ("maple", "walnut")
    return [
        BoardFactory(wood=studio.woods.get(key=key), length=2000, width=200, thickness=27, count=count)
        for key in keys
    ]


def _adds_up(*boards: Board) -> None:
    for board in boards:
        board.refresh_from_db()
        assert board.reserved == sum(board.reservations.values_list("count", flat=True))
        assert 0 <= board.reserved <= board.count
        last = board.events.order_by("pk").last()
        assert last is None or last.left == board.count


def test_two_plans_that_want_the_last_boards_at_once_do_not_both_get_them_nor_half(
    jobs: list[Commission],
) -> None:
    studio = jobs[0].studio
    for _ in range(TIMES):
        Board.objects.update(count=0, reserved=0)
        lying = _lying(studio, 1)
        plans = [plan_create(studio=studio, commissions=[job]) for job in jobs]
        wants = [
            set(plan.boards.filter(board__isnull=False).values_list("board_id", flat=True)) for plan in plans
        ]
        assert wants[0] == wants[1] != set()
        came = at_once(*map(_reserving, plans))
        refused = [one for one in came if isinstance(one, ValidationError)]
        assert len(refused) == 1, came
        assert "none free, 1 asked for" in " ".join(refused[0].messages)
        _adds_up(*lying)
        winner = next(one for one in came if isinstance(one, SawingPlan))
        kept = Reservation.objects.filter(board__in=lying)
        assert set(kept.values_list("board_id", flat=True)) == wants[0]
        assert set(kept.values_list("commission_id", flat=True)) == {winner.commissions.get().pk}
        loser = next(plan for plan in plans if plan.pk != winner.pk)
        assert _fresh(loser).state != "reserved"
        assert not loser.boards.filter(reserved=True).exists()
        plan_release(plan=winner)
        SawingPlan.objects.all().delete()


def test_two_plans_with_boards_enough_for_both_both_get_theirs(jobs: list[Commission]) -> None:
    studio = jobs[0].studio
    for _ in range(TIMES):
        Board.objects.update(count=0, reserved=0)
        lying = _lying(studio, 2)
        plans = [plan_create(studio=studio, commissions=[job]) for job in jobs]
        came = at_once(*map(_reserving, plans))
        assert all(isinstance(one, SawingPlan) for one in came), came
        _adds_up(*lying)
        taken = sum(plan.boards.filter(reserved=True).count() for plan in plans)
        assert sum(board.reserved for board in lying) == taken > 0
        for plan in plans:
            plan_release(plan=plan)
        SawingPlan.objects.all().delete()


def test_two_who_log_one_plan_as_cut_at_once_cut_each_board_once(jobs: list[Commission]) -> None:
    studio = jobs[0].studio
    for _ in range(TIMES):
        Board.objects.update(count=0, reserved=0)
        lying = _lying(studio, 1)
        plan = plan_create(studio=studio, commissions=jobs)
        search(plan=plan.pk, runner=plan.runner)
        plan_reserve(plan=plan)
        came = at_once(*[_cutting(plan)] * 2)
        refused = [one for one in came if isinstance(one, ValidationError)]
        assert len(refused) == 1, came
        assert "logged as cut already" in " ".join(refused[0].messages)
        _adds_up(*lying)
        for row in plan.boards.select_related("board"):
            assert row.cut_at is not None
            assert row.board.count == 0
            assert row.board.events.filter(what="cut").count() == 1
        assert not Reservation.objects.exists()


def test_one_who_reserves_while_another_cuts_the_same_boards_is_refused_or_first(
    jobs: list[Commission],
) -> None:
    studio = jobs[0].studio
    for _ in range(TIMES):
        Board.objects.update(count=0, reserved=0)
        lying = _lying(studio, 1)
        plans = [plan_create(studio=studio, commissions=[job]) for job in jobs]
        for plan in plans:
            search(plan=plan.pk, runner=plan.runner)
        came = at_once(_reserving(plans[0]), _cutting(plans[1]))
        refused = [one for one in came if isinstance(one, ValidationError)]
        assert len(refused) == 1, came
        _adds_up(*lying)
        if isinstance(came[0], SawingPlan):
            plan_release(plan=plans[0])
        SawingPlan.objects.all().delete()


def test_two_who_let_one_search_go_on_at_once_start_it_once(jobs: list[Commission]) -> None:
    studio = jobs[0].studio
    _lying(studio, 1)
    plan = plan_create(studio=studio, commissions=jobs)
    for _ in range(TIMES):
        SawingPlan.objects.filter(pk=plan.pk).update(state="ready", runner="", effort=0, proven=False)
        came = at_once(*[lambda: search_go_on(plan=_fresh(plan))] * 2)
        assert sum(isinstance(one, SawingPlan) for one in came) == 1, came
