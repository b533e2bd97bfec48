"""The pages of sawing plans: the answer, the buttons, refusals that keep what is there, and who may see them."""

from math import degrees
from typing import Any

import pytest
from django.db import connection
from django.test import Client as Browser
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from projects.models import Board, Commission, Reservation, SawingPlan, Studio
from projects.models.sawing import SILENT, PlanState
from projects.services import rack, sawing_search
from projects.services.commissions import commission_update
from projects.services.sawing import plan_create, thawed
from projects.services.sawing_rack import plan_reserve
from projects.services.sawing_search import search
from tests.factories import BoardFactory, CommissionFactory

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def started(monkeypatch: Any) -> list[SawingPlan]:
    """Searches that a page would have started in a process of their own."""
    claimed: list[SawingPlan] = []
    monkeypatch.setattr(sawing_search, "search_start", claimed.append)
    return claimed


@pytest.fixture
def jobs(studio: Studio) -> list[Commission]:
    """One agreed, one being made, one only asked for."""
    stages = {"Bowl": "agreed", "Vase": "making", "Box": "enquiry"}
    return [CommissionFactory(studio=studio, stage=stage, title=title) for title, stage in stages.items()]


@pytest.fixture
def lying(studio: Studio) -> dict[str, Board]:
    """Boards enough."""
    return {
        key: BoardFactory(wood=studio.woods.get(key=key), length=2000, width=200, thickness=27, count=3)
        for key in ("maple", "walnut")
    }


@pytest.fixture
def plan(studio: Studio, jobs: list[Commission], lying: Any) -> SawingPlan:
    """A plan of the two that are to be sawn for, sought to its end."""
    made = plan_create(studio=studio, commissions=jobs[:2])
    search(plan=made.pk, runner=made.runner)
    made.refresh_from_db()
    return made


def _text(answer: Any) -> str:
    return answer.content.decode()


def test_agreed_commissions_are_ticked_and_a_plan_of_them_is_made_and_sought(
    as_alice: Browser, jobs: list[Commission], lying: Any, started: list[SawingPlan]
) -> None:
    page = _text(as_alice.get("/sawing/new/"))
    ticked = [f'value="{job.pk}" checked' in page for job in jobs]
    assert ticked == [True, True, False]
    page = _text(as_alice.get(f"/sawing/new/?job={jobs[2].pk}"))
    assert [f'value="{job.pk}" checked' in page for job in jobs] == [False, False, True]
    answer = as_alice.post("/sawing/new/", {"commissions": [job.pk for job in jobs[:2]]})
    made = SawingPlan.objects.get()
    assert answer.url == f"/sawing/{made.pk}/"
    assert started == [made]
    assert made.member is not None
    page = _text(as_alice.get(answer.url))
    assert "of your rack</strong>" in page
    assert "above the least possible" in page
    assert 'hx-trigger="every 2s"' in page
    assert "Stop the search" in page
    assert page.count('<figure class="board-sheet"') == made.boards.count()
    assert "<strong>A</strong> is Bowl" in page


def test_nothing_chosen_or_what_cannot_be_planned_is_refused_and_ticks_stay(
    as_alice: Browser, jobs: list[Commission], other_studio: Studio
) -> None:
    answer = as_alice.post("/sawing/new/", {})
    assert answer.status_code == 400
    assert "Choose at least one commission." in _text(answer)
    jobs[2].design.parts.get().bands.update(layers=2)
    answer = as_alice.post("/sawing/new/", {"commissions": [jobs[0].pk, jobs[2].pk]})
    assert answer.status_code == 400
    page = _text(answer)
    assert "Box: " in page
    assert [f'value="{job.pk}" checked' in page for job in jobs] == [True, False, True]
    theirs = CommissionFactory(studio=other_studio)
    assert as_alice.post("/sawing/new/", {"commissions": [theirs.pk]}).status_code == 400
    assert as_alice.post("/sawing/new/", {"commissions": ["'"]}).status_code == 400
    assert not SawingPlan.objects.exists()


def test_the_page_asks_for_progress_and_loads_itself_anew_once_there_is_news(
    as_alice: Browser, studio: Studio, jobs: list[Commission], lying: Any
) -> None:
    made = plan_create(studio=studio, commissions=jobs[:2])
    seen = f"{made.cost} searching False"
    made.refresh_from_db()
    answer = as_alice.get(f"/sawing/{made.pk}/progress/", {"seen": f"{made.cost} searching False"})
    assert answer.status_code == 200
    assert "HX-Refresh" not in answer.headers
    assert "Seeking a cheaper plan." in _text(answer)
    search(plan=made.pk, runner=made.runner)
    answer = as_alice.get(f"/sawing/{made.pk}/progress/", {"seen": seen})
    assert answer.headers["HX-Refresh"] == "true"
    page = _text(as_alice.get(f"/sawing/{made.pk}/"))
    assert "hx-trigger" not in page
    assert "How it went" in page


def test_a_search_is_stopped_and_goes_on_and_an_interrupted_one_is_said_to_be(
    as_alice: Browser, studio: Studio, jobs: list[Commission], lying: Any, started: list[SawingPlan]
) -> None:
    made = plan_create(studio=studio, commissions=jobs[:2])
    as_alice.post(f"/sawing/{made.pk}/stop/")
    search(plan=made.pk, runner=made.runner)
    page = _text(as_alice.get(f"/sawing/{made.pk}/"))
    assert "Stopped before the end." in page
    as_alice.post(f"/sawing/{made.pk}/go-on/")
    assert [one.pk for one in started] == [made.pk]
    SawingPlan.objects.update(beat_at=timezone.now() - 2 * SILENT)
    page = _text(as_alice.get(f"/sawing/{made.pk}/"))
    assert "it was interrupted" in page
    assert "What it had found is kept." in page
    assert "Go on seeking" in page
    as_alice.post(f"/sawing/{made.pk}/go-on/")
    assert len(started) == 2


def test_boards_are_reserved_released_and_cut_from_the_page(
    as_alice: Browser, plan: SawingPlan, lying: Any
) -> None:
    here = f"/sawing/{plan.pk}/"
    page = _text(as_alice.post(f"{here}reserve/", {"cost": str(plan.cost)}, follow=True))
    assert "Reserved: every board of the rack in this plan." in page
    assert "reserved for " in page
    page = _text(as_alice.post(f"{here}release/", follow=True))
    assert "free again" in page
    assert not Reservation.objects.exists()
    as_alice.post(f"{here}reserve/", {"cost": str(plan.cost)})
    page = _text(as_alice.post(f"{here}cut/", {"board": "1"}, follow=True))
    assert "Logged: board 1 cut, " in page
    assert " by alice" in page
    answer = as_alice.post(f"{here}cut/", {"board": "1"})
    assert answer.status_code == 409
    assert "logged as cut already" in _text(answer)
    for junk in ("", "x", "999999999", "²"):
        assert as_alice.post(f"{here}cut/", {"board": junk}).status_code == 400
    if plan.boards.count() > 1:
        assert "Logged: all boards cut" in _text(as_alice.post(f"{here}cut/", {"board": "all"}, follow=True))
    plan.refresh_from_db()
    assert plan.state == PlanState.CUT
    for board in lying.values():
        board.refresh_from_db()
        assert board.reserved == 0


def test_boards_taken_meanwhile_are_named_and_planning_again_mends_it(
    as_alice: Browser, studio: Studio, plan: SawingPlan, lying: Any
) -> None:
    other = CommissionFactory(studio=studio)
    rack.reserve(boards={lying["walnut"]: 3}, commission=other)
    answer = as_alice.post(f"/sawing/{plan.pk}/reserve/", {"cost": str(plan.cost)})
    assert answer.status_code == 409
    page = _text(answer)
    assert "black walnut, 2000 × 200 × 27 mm: none free" in page
    assert f"Board {lying['walnut'].pk} is gone, or reserved for another commission." in page
    assert "Plan again</button>" in page
    plan.refresh_from_db()
    assert plan.state == PlanState.STALE
    page = _text(as_alice.post(f"/sawing/{plan.pk}/again/", follow=True))
    assert "Planned anew." in page
    assert "to buy</strong>" in page
    assert "2500" in page or "To buy" in page
    plan.refresh_from_db()
    page = _text(as_alice.post(f"/sawing/{plan.pk}/reserve/", {"cost": str(plan.cost)}, follow=True))
    assert "Reserved: every board" in page


def test_a_plan_out_of_date_says_what_changed(
    as_alice: Browser, plan: SawingPlan, jobs: list[Commission]
) -> None:
    commission_update(commission=jobs[0], quantity=3)
    page = _text(as_alice.get(f"/sawing/{plan.pk}/"))
    assert "This plan is out of date:" in page
    assert "Bowl asks for other strips" in page


def test_a_plan_that_cannot_be_read_any_more_says_so_and_can_be_planned_again(
    as_alice: Browser, plan: SawingPlan
) -> None:
    SawingPlan.objects.update(plan={"version": 0})
    page = _text(as_alice.get(f"/sawing/{plan.pk}/"))
    assert "not read any more" in page
    assert "Planned anew." in _text(as_alice.post(f"/sawing/{plan.pk}/again/", follow=True))


def test_a_plan_is_taken_away(as_alice: Browser, plan: SawingPlan) -> None:
    page = _text(as_alice.post(f"/sawing/{plan.pk}/take-away/", follow=True))
    assert "Taken away: Bowl, Vase." in page
    assert not SawingPlan.objects.exists()


WAYS = ("", "progress/")
PRESSES = ("go-on/", "stop/", "again/", "reserve/", "release/", "cut/", "take-away/")


def test_an_outsider_finds_no_plan(as_charlie: Browser, plan: SawingPlan) -> None:
    for way in WAYS:
        assert as_charlie.get(f"/sawing/{plan.pk}/{way}").status_code == 404, way
    for way in PRESSES:
        assert as_charlie.post(f"/sawing/{plan.pk}/{way}", {"board": "all"}).status_code == 404, way
    assert as_charlie.get(f"/api/v1/sawing-plans/{plan.pk}/").status_code == 404
    assert "Bowl, Vase" not in _text(as_charlie.get("/sawing/"))
    plan.refresh_from_db()
    assert plan.state == PlanState.READY


def test_a_stranger_is_shown_the_way_in_and_a_forged_press_is_refused(plan: SawingPlan, alice: Any) -> None:
    assert "/account/log-in/" in Browser().get(f"/sawing/{plan.pk}/").url
    strict = Browser(enforce_csrf_checks=True)
    strict.force_login(alice)
    for way in PRESSES:
        assert strict.post(f"/sawing/{plan.pk}/{way}").status_code == 403, way
        assert strict.get(f"/sawing/{plan.pk}/{way}").status_code == 405, way


def test_markup_in_titles_is_shown_as_text(
    as_alice: Browser, studio: Studio, jobs: list[Commission], lying: Any
) -> None:
    nasty = "<script>alert(1)</script>"
    for job in jobs[:2]:
        commission_update(commission=job, title=nasty)
    studio.woods.update(name=f"wood {nasty}")
    BoardFactory(wood=studio.woods.get(key="maple"), place=nasty, length=1990)
    made = plan_create(studio=studio, commissions=jobs[:2])
    for address in ("/sawing/", "/sawing/new/", f"/sawing/{made.pk}/", f"/sawing/{made.pk}/progress/?seen="):
        assert "<script>alert" not in _text(as_alice.get(address)), address


def test_the_api_shows_plans_with_their_boards_and_changes_none(
    as_alice: Browser, plan: SawingPlan, jobs: list[Commission]
) -> None:
    listed = as_alice.get("/api/v1/sawing-plans/").json()["results"]
    assert [one["id"] for one in listed] == [plan.pk]
    assert set(listed[0]["commissions"]) == {job.pk for job in jobs[:2]}
    assert "plan" not in listed[0]
    whole = as_alice.get(f"/api/v1/sawing-plans/{plan.pk}/").json()
    assert len(whole["boards"]) == len(whole["plan"]["plan"]["cutting"]["boards"]) == plan.boards.count()
    assert float(whole["cost"]) >= float(whole["bound"])
    for verb in ("post", "put", "patch", "delete"):
        assert getattr(as_alice, verb)(f"/api/v1/sawing-plans/{plan.pk}/").status_code == 405


@pytest.mark.parametrize("path", ["/sawing/", "/api/v1/sawing-plans/"])
def test_a_list_asks_the_database_no_more_for_six_plans_than_for_one(
    as_alice: Browser, studio: Studio, plan: SawingPlan, jobs: list[Commission], path: str
) -> None:
    def queries() -> int:
        with CaptureQueriesContext(connection) as asked:
            assert as_alice.get(path).status_code == 200
        return len(asked)

    for_one = queries()
    for _ in range(5):
        plan_create(studio=studio, commissions=jobs[:2])
    assert queries() == for_one


def test_a_plan_asks_the_database_no_more_for_many_boards_than_for_few(
    as_alice: Browser, studio: Studio, jobs: list[Commission]
) -> None:
    def queries(made: SawingPlan) -> int:
        with CaptureQueriesContext(connection) as asked:
            assert as_alice.get(f"/sawing/{made.pk}/").status_code == 200
        return len(asked)

    few = plan_create(studio=studio, commissions=jobs[:1])
    BoardFactory.create_batch(8, wood=studio.woods.get(key="maple"), length=700, width=90, count=1)
    BoardFactory.create_batch(8, wood=studio.woods.get(key="walnut"), length=700, width=90, count=1)
    commission_update(commission=jobs[0], quantity=8)
    many = plan_create(studio=studio, commissions=jobs[:1])
    assert many.boards.count() > few.boards.count() + 5
    SawingPlan.objects.update(state="ready", runner="")
    queries(few)
    assert queries(many) == queries(few)


def test_a_commissions_own_lists_say_that_a_plan_has_boards_for_it_already(
    as_alice: Browser, studio: Studio, jobs: list[Commission], lying: Any
) -> None:
    made = plan_create(studio=studio, commissions=jobs[:2])
    pages = [f"/jobs/{jobs[0].pk}/cut/", f"/jobs/{jobs[0].pk}/to-buy/"]
    link = f'<a href="/sawing/{made.pk}/">sawing plan {made.pk}</a>'
    assert [link in _text(as_alice.get(page)) for page in pages] == [False, False]
    plan_reserve(plan=made)
    for page in pages:
        text = _text(as_alice.get(page))
        assert f"Boards are reserved for this by {link}" in text
        assert "Do not saw or buy by both." in text


def test_one_saw_list_serves_all_commissions_of_a_plan(as_alice: Browser, plan: SawingPlan) -> None:
    page = as_alice.get(reverse("sawing_work", args=[plan.pk]))
    assert page.status_code == 200
    sheets, frozen = page.context["sheets"], thawed(plan)
    strips = [strip for board in frozen.plan.cutting.boards for strip in board.strips]
    assert sum(line.count for line in sheets.work.lines) == sum(strip.segments for strip in strips)
    rings = page.context["rings"]
    assert [(one.first, one.commission.pk) for one in rings] == [
        (first + 1, key) for first, key in zip(frozen.plan.first_ring, frozen.commissions, strict=True)
    ]
    assert {line.ring for line in sheets.work.lines} == set(range(1, rings[-1].last + 1))
    assert (
        "Each fence and each stop is set once"
        in as_alice.get(reverse("sawing_plan", args=[plan.pk])).content.decode()
    )


def test_the_saw_list_of_a_design_changed_since_says_so_instead(
    as_alice: Browser, plan: SawingPlan, jobs: list[Commission]
) -> None:
    band = jobs[0].design.parts.first().bands.first()  # type: ignore[union-attr]
    band.segments *= 2
    band.save()
    page = as_alice.get(reverse("sawing_work", args=[plan.pk]))
    assert f"{jobs[0].title} asks for other strips than it did. Plan again." in _text(page)


def test_set_ups_name_each_angle_once_and_the_search_says_what_effort_is(
    as_alice: Browser, plan: SawingPlan
) -> None:
    answer = as_alice.get(reverse("sawing_plan", args=[plan.pk]))
    shown, page = answer.context["shown"], _text(answer)
    needs = thawed(plan).plan.needs
    miters = {round(degrees(need.miter), 2) for need in needs}
    assert [float(angle[:-1]) for angle, _ in shown.stops] == sorted(miters)
    assert shown.stop_count == sum(len(lengths) for _, lengths in shown.stops)
    for angle, lengths in shown.stops:
        assert page.count(f"<dt>Stop at {angle}, mm</dt>") == 1
        assert f"<dd>{', '.join(lengths)}</dd>" in page
    assert "Effort 0 is the first answer" in page


def test_an_outsider_finds_no_saw_list_of_a_plan(as_charlie: Browser, plan: SawingPlan) -> None:
    assert as_charlie.get(reverse("sawing_work", args=[plan.pk])).status_code == 404
