"""Sawing plans from commissions to the rack: made, reserved, let go, cut, and found out of date."""

from decimal import Decimal
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from projects.models import Board, Commission, Member, PlannedBoard, Reservation, SawingPlan, Studio
from projects.models.sawing import PlanState
from projects.sawing_json import freeze
from projects.services import rack
from projects.services.commissions import commission_delete, commission_move, commission_update
from projects.services.sawing import plan_again, plan_checked, plan_create, plan_delete, plans_kept, thawed
from projects.services.sawing_rack import boards_cut, plan_release, plan_reserve
from projects.services.sawing_search import search, search_stop
from tests.factories import BoardFactory, CommissionFactory, MemberFactory

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


def test_a_plan_serves_each_commission_with_all_it_needs(
    studio: Studio, jobs: list[Commission], lying: Any
) -> None:
    # Of other strips than the bowl, so that each strip is for one of them alone.
    jobs[1].design.parts.get().bands.update(segments=16)
    found = thawed(plan_create(studio=studio, commissions=jobs))
    assert found.commissions == tuple(job.pk for job in jobs)
    served = [0, 0]
    for board in found.plan.cutting.boards:
        for strip in board.strips:
            (job,) = {found.plan.ring(ring)[0] for ring in strip.rings}
            served[job] += strip.segments
    # Ten layers of twelve and of sixteen segments; the shop saws spares on top.
    assert served == [
        sum(count for need in job.needs.strips for _, count in need.rings) for job in found.plan.jobs
    ]
    assert served[0] >= 120
    assert served[1] >= 160


def test_every_board_of_the_plan_is_one_of_the_rack_or_to_buy(plan: SawingPlan, lying: Any) -> None:
    sawn = thawed(plan).plan.cutting.boards
    rows = list(plan.boards.all())
    assert [row.number for row in rows] == list(range(1, len(sawn) + 1))
    for row, board in zip(rows, sawn, strict=True):
        assert (row.board_id is None) == board.buy
        if row.board is not None:
            assert (float(row.board.length), row.board.wood.key) == (board.length, board.wood)
            assert row.board in lying.values()


def test_boards_reserved_for_other_commissions_are_not_planned_but_those_of_its_own_are(
    studio: Studio, jobs: list[Commission], lying: Any
) -> None:
    other = CommissionFactory(studio=studio)
    rack.reserve(boards={lying["maple"]: 3}, commission=other)
    rack.reserve(boards={lying["walnut"]: 3}, commission=jobs[0])
    plan = plan_create(studio=studio, commissions=jobs)
    used = {board.wood: board.buy for board in thawed(plan).plan.cutting.boards}
    assert used == {"maple": True, "walnut": False}


def test_commissions_that_cannot_be_planned_are_refused_by_name(studio: Studio, other_studio: Studio) -> None:
    with pytest.raises(ValidationError, match="Choose at least one"):
        plan_create(studio=studio, commissions=[])
    bare = CommissionFactory(studio=studio, design=None, title="Undrawn")
    with pytest.raises(ValidationError, match="Undrawn has no design yet"):
        plan_create(studio=studio, commissions=[bare])
    closed = CommissionFactory(studio=studio, stage="closed", title="Gone")
    with pytest.raises(ValidationError, match="Gone is closed"):
        plan_create(studio=studio, commissions=[closed])
    with pytest.raises(ValidationError, match="of this studio"):
        plan_create(studio=studio, commissions=[CommissionFactory(studio=other_studio)])
    wrong = CommissionFactory(studio=studio, title="Short")
    wrong.design.parts.get().bands.update(layers=2)
    with pytest.raises(ValidationError, match="Short: "):
        plan_create(studio=studio, commissions=[wrong])
    assert not SawingPlan.objects.exists()


def test_a_plan_reserves_all_its_boards_and_lets_them_go_again(plan: SawingPlan, lying: Any) -> None:
    _searched(plan)
    used = [row.board_id for row in plan.boards.all() if row.board_id]
    assert used
    plan_reserve(plan=plan)
    plan.refresh_from_db()
    assert plan.state == PlanState.RESERVED
    for board in lying.values():
        board.refresh_from_db()
        assert board.reserved == used.count(board.pk)
    with pytest.raises(ValidationError, match="reserved or cut already"):
        plan_reserve(plan=plan)
    with pytest.raises(ValidationError, match="Release them first"):
        plan_again(plan=plan)
    with pytest.raises(ValidationError, match="Release them first"):
        plan_delete(plan=plan)
    assert plan_checked(plan) == []
    plan_release(plan=plan)
    assert not Reservation.objects.exists()
    assert plan_again(plan=plan).state in (PlanState.READY, PlanState.SEARCHING)
    plan_delete(plan=plan)
    assert not PlannedBoard.objects.exists()


def test_what_a_commission_had_reserved_before_counts_and_stays_when_the_plan_lets_go(
    studio: Studio, jobs: list[Commission], lying: Any
) -> None:
    rack.reserve(boards={lying["maple"]: 1}, commission=jobs[1])
    plan = plan_create(studio=studio, commissions=jobs)
    plan_reserve(plan=plan)
    used = list(plan.boards.filter(board=lying["maple"]))
    lying["maple"].refresh_from_db()
    assert lying["maple"].reserved == len(used)
    plan_release(plan=plan)
    lying["maple"].refresh_from_db()
    assert lying["maple"].reserved == 1


def test_boards_that_someone_else_took_are_named_and_nothing_is_reserved(
    studio: Studio, plan: SawingPlan, lying: Any
) -> None:
    rack.reserve(boards={lying["walnut"]: 3}, commission=CommissionFactory(studio=studio))
    lying["walnut"].refresh_from_db()
    with pytest.raises(ValidationError) as refused:
        plan_reserve(plan=plan)
    words = " ".join(refused.value.messages)
    assert f"{lying['walnut'].what}: none free" in words
    assert "Plan again" in words
    assert words.count("Nothing was reserved") == 1
    lying["maple"].refresh_from_db()
    assert lying["maple"].reserved == 0
    again = plan_again(plan=plan)
    assert {board.wood for board in thawed(again).plan.cutting.boards if board.buy} == {"walnut"}
    plan_reserve(plan=again)


def test_a_plan_that_got_better_meanwhile_is_looked_at_first(plan: SawingPlan) -> None:
    with pytest.raises(ValidationError, match="A better plan was found"):
        plan_reserve(plan=plan, cost_seen="99999.0000")
    plan_reserve(plan=plan, cost_seen=str(plan.cost))


def test_two_plans_do_not_count_on_the_same_boards_for_one_commission(
    studio: Studio, plan: SawingPlan, jobs: list[Commission]
) -> None:
    second = plan_create(studio=studio, commissions=jobs[:1])
    plan_reserve(plan=plan)
    boards_before = list(Board.objects.order_by("pk").values("pk", "count"))
    search_stop(plan=second)
    SawingPlan.objects.filter(pk=second.pk).update(state=PlanState.READY, runner="")
    for attempt in (plan_reserve, boards_cut):
        with pytest.raises(ValidationError) as refusal:
            attempt(plan=second)
        assert f"Sawing plan {plan.pk} has boards reserved for Bowl already." in str(refusal.value)
    second.refresh_from_db()
    assert second.state == PlanState.READY
    assert list(Board.objects.order_by("pk").values("pk", "count")) == boards_before
    plan_release(plan=plan)
    assert plan_reserve(plan=second).state == PlanState.RESERVED


def test_plans_that_hold_or_cut_boards_for_a_commission_are_known_from_it(
    studio: Studio, plan: SawingPlan, jobs: list[Commission]
) -> None:
    assert plans_kept(jobs[0]) == []
    plan_reserve(plan=plan)
    assert plans_kept(jobs[0]) == plans_kept(jobs[1]) == [plan]
    boards_cut(plan=plan, numbers=[1])
    plan_release(plan=plan)
    assert plans_kept(jobs[1]) == [plan]


def test_a_plan_for_a_design_drawn_anew_reserves_nothing(plan: SawingPlan, jobs: list[Commission]) -> None:
    commission_update(commission=jobs[0], quantity=2)
    with pytest.raises(ValidationError, match="has changed"):
        plan_reserve(plan=plan)
    assert not Reservation.objects.exists()


def test_what_changed_is_named_and_a_plan_is_ready_again_once_all_is_as_it_was(
    plan: SawingPlan, jobs: list[Commission], lying: Any, studio: Studio
) -> None:
    _searched(plan)
    assert plan_checked(plan) == []
    commission_update(commission=jobs[0], quantity=2)
    (words,) = plan_checked(plan)
    assert words.startswith("Bowl asks for other strips")
    assert plan.state == PlanState.STALE
    commission_update(commission=jobs[0], quantity=None)
    assert plan_checked(plan) == []
    plan.refresh_from_db()
    assert plan.state == PlanState.READY
    new = BoardFactory(wood=studio.woods.get(key="maple"))
    rack.board_update(board=lying["maple"], price=Decimal(11))
    rack.board_update(board=lying["walnut"], count=2)
    studio.shop.rip_kerf = Decimal("1.5")
    studio.shop.save()
    studio.woods.filter(key="walnut").update(price_per_m3=1)
    studio = Studio.objects.get(pk=studio.pk)
    words = " ".join(plan_checked(SawingPlan.objects.get(pk=plan.pk)))
    for said in (
        f"Board {new.pk} is new on the rack",
        f"Board {lying['maple'].pk} has changed",
        f"Of board {lying['walnut'].pk}, 2 may be sawn, not 3.",
        "A setting of the saw",
        "The price of walnut",
    ):
        assert said in words


def test_a_board_logged_as_cut_leaves_and_its_offcuts_come_back_by_themselves(
    plan: SawingPlan, lying: Any, studio: Studio
) -> None:
    _searched(plan)
    member = MemberFactory(studio=studio)
    plan_reserve(plan=plan, member=member)
    first = plan.boards.filter(board__isnull=False).first()
    sawn = thawed(plan).plan.cutting.boards[first.number - 1]
    before = first.board.count
    back = boards_cut(plan=plan, numbers=[first.number], member=member)
    board = Board.objects.get(pk=first.board_id)
    assert board.count == before - 1
    assert board.reserved == plan.boards.filter(board=board, cut_at=None).count()
    assert [(float(one.length), float(one.width)) for one in back] == [
        pytest.approx((offcut.length, offcut.width), abs=2e-3) for offcut in sawn.offcuts
    ]
    assert all(one.from_board_id == board.pk for one in back)
    event = board.events.get(what="cut")
    assert (event.note, event.member) == (f"Sawing plan {plan.pk}, board {first.number}.", member)
    assert event.commission in plan.commissions.all()
    with pytest.raises(ValidationError, match="logged as cut already"):
        boards_cut(plan=plan, numbers=[first.number])
    plan.refresh_from_db()
    assert plan_checked(plan) == []  # what the plan itself did to the rack makes it no older
    with pytest.raises(ValidationError, match="cut already"):
        plan_again(plan=plan_release(plan=plan))


def test_all_boards_are_logged_at_once_those_to_buy_too_and_the_plan_is_done(
    studio: Studio, jobs: list[Commission]
) -> None:
    plan = _searched(plan_create(studio=studio, commissions=jobs[:1]))
    assert all(board.buy for board in thawed(plan).plan.cutting.boards)
    with pytest.raises(ValidationError, match="No board of the rack"):
        plan_reserve(plan=plan)
    back = boards_cut(plan=plan)
    plan.refresh_from_db()
    assert plan.state == PlanState.CUT
    assert not plan.boards.filter(cut_at=None).exists()
    for row in plan.boards.select_related("board"):
        assert row.board.count == 0
        assert [event.what for event in row.board.events.order_by("pk")] == ["put", "cut"]
    kept = sum(len(board.offcuts) for board in thawed(plan).plan.cutting.boards)
    assert len(back) == kept
    assert Board.objects.on_rack().count() == kept
    with pytest.raises(ValidationError, match="Every board"):
        boards_cut(plan=plan)
    with pytest.raises(ValidationError, match="kept for their history"):
        plan_delete(plan=plan)


def test_boards_to_buy_are_planned_and_put_on_the_rack_as_the_shop_buys_them(
    studio: Studio, jobs: list[Commission]
) -> None:
    shop = studio.shop
    shop.usual_board_surface = "rough"
    shop.save()
    plan = _searched(plan_create(studio=studio, commissions=jobs[:1]))
    assert {board.surface for board in thawed(plan).plan.cutting.boards} == {"rough"}
    boards_cut(plan=plan)
    assert {row.board.surface for row in plan.boards.select_related("board")} == {"rough"}


def test_a_cut_that_cannot_be_logged_whole_logs_nothing(studio: Studio, plan: SawingPlan, lying: Any) -> None:
    _searched(plan)
    rack.reserve(boards={lying["walnut"]: 3}, commission=CommissionFactory(studio=studio))
    with pytest.raises(ValidationError, match=r"Board \d+: "):
        boards_cut(plan=plan)
    lying["maple"].refresh_from_db()
    assert lying["maple"].count == 3
    assert not plan.boards.filter(cut_at__isnull=False).exists()


def test_a_commission_declined_or_thrown_away_lets_go_and_the_plan_says_so(
    plan: SawingPlan, jobs: list[Commission]
) -> None:
    plan_reserve(plan=plan)
    commission_move(commission=jobs[0], to="declined")
    commission_delete(commission=jobs[1])
    plan.refresh_from_db()
    assert plan_checked(plan)
    assert not Reservation.objects.exists()
    plan_release(plan=plan)
    assert not plan.boards.filter(reserved=True).exists()


def test_the_database_itself_holds_what_a_plan_may_be(plan: SawingPlan) -> None:
    bad: list[dict[str, Any]] = [
        {"state": "dreaming"},
        {"effort": 9},
        {"bound": plan.cost + 1},
        {"cost": None},
        {"state": "searching", "runner": ""},
    ]
    for values in bad:
        with pytest.raises(IntegrityError), transaction.atomic():
            SawingPlan.objects.filter(pk=plan.pk).update(**values)
    one = plan.boards.first()
    with pytest.raises(IntegrityError), transaction.atomic():
        PlannedBoard.objects.filter(pk=one.pk).update(board=None, reserved=True)
    with pytest.raises(IntegrityError), transaction.atomic():
        PlannedBoard.objects.create(plan=plan, number=one.number)


def test_what_is_frozen_is_what_was_planned(plan: SawingPlan) -> None:
    assert freeze(thawed(plan)) == SawingPlan.objects.get(pk=plan.pk).plan


def test_a_planned_board_is_of_its_own_studio(plan: SawingPlan, other_studio: Studio) -> None:
    one = plan.boards.first()
    one.board = BoardFactory(wood=other_studio.woods.first())
    one.for_commission = CommissionFactory(studio=other_studio)
    with pytest.raises(ValidationError) as refused:
        one.full_clean()
    assert set(refused.value.message_dict) == {"board", "for_commission"}
    assert Member.objects.count() == 0
