"""Two windows, two plans, two commissions, one rack: boards are reserved at once, and nothing is lost."""

from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.contrib.auth.models import User
from django.test import Client
from playwright.sync_api import Browser, BrowserContext, Page

from projects.models import Board, Commission, Reservation, SawingPlan, Studio
from projects.services import rack, sawing_search
from projects.services.commissions import commission_create
from projects.services.sawing import plan_create
from projects.services.sawing_search import search
from projects.services.studios import member_add
from tests.browser.conftest import Heard
from tests.browser.test_every_page import RULES

ROUNDS = 3


@pytest.fixture(autouse=True)
def started(monkeypatch: Any) -> list[SawingPlan]:
    """Searches that a page would have started in a process of their own, which would not know this database."""
    claimed: list[SawingPlan] = []
    monkeypatch.setattr(sawing_search, "search_start", claimed.append)
    return claimed


@pytest.fixture
def jobs(job: Commission) -> list[Commission]:
    """Two commissions of one design."""
    other = commission_create(studio=job.studio, client=job.client, title="Low vase", design=job.design)
    return [job, other]


@pytest.fixture
def windows(browser: Browser, live_server: Any, jobs: list[Commission]) -> Any:
    """Alice's window and Bob's; both work in the studio."""
    bob = User.objects.create_user("bob", password="plane-and-gouge")
    member_add(studio=jobs[0].studio, user=bob)
    contexts = []
    for name in ("alice", "bob"):
        client = Client()
        client.force_login(User.objects.get(username=name))
        context = browser.new_context(base_url=live_server.url)
        cookie = {"name": "sessionid", "value": client.cookies["sessionid"].value, "url": live_server.url}
        context.add_cookies([cookie])  # type: ignore[list-item]
        context.set_default_timeout(10_000)
        contexts.append(context)
    yield [context.new_page() for context in contexts]
    for context in contexts:
        context.close()


def _lying(studio: Studio, count: int) -> list[Board]:
    """So many of each wood the bowl is of, with nothing else on the rack."""
    for old in Board.objects.for_studio(studio).on_rack():
        rack.board_delete(board=old)
    woods = studio.woods.filter(key__in=["maple", "walnut", "cherry"])
    return [
        rack.board_create(
            studio=studio, wood=wood, length=2400, width=220, thickness=52, count=count, price=60
        )
        for wood in woods
    ]


def _plans(jobs: list[Commission]) -> list[SawingPlan]:
    plans = [plan_create(studio=job.studio, commissions=[job]) for job in jobs]
    for plan in plans:
        search(plan=plan.pk, runner=plan.runner)
    return plans


def _press_both(pages: list[Page]) -> list[str]:
    """Both buttons pressed before either answer is there; what each window then shows."""
    press = "setTimeout(() => document.querySelector('[action$=\"/reserve/\"]').requestSubmit(), 150)"
    for page in pages:
        page.evaluate(press)
    for page in pages:
        page.locator(".notice").first.wait_for()
    return [page.locator("main").inner_text() for page in pages]


def _adds_up(boards: list[Board]) -> None:
    for board in boards:
        board.refresh_from_db()
        assert board.reserved == sum(board.reservations.values_list("count", flat=True))
        assert 0 <= board.reserved <= board.count


def test_two_windows_reserve_the_boards_of_two_plans_at_once_and_nothing_is_lost(
    windows: list[Page], jobs: list[Commission]
) -> None:
    for _ in range(ROUNDS):
        # One of each: only one plan can have them.
        boards = _lying(jobs[0].studio, 1)
        plans = _plans(jobs)
        for page, plan in zip(windows, plans, strict=True):
            page.goto(f"/sawing/{plan.pk}/")
        shown = _press_both(windows)
        won = ["Reserved: every board of the rack in this plan." in text for text in shown]
        assert sum(won) == 1, shown
        winner, loser = won.index(True), won.index(False)
        assert "none free, 1 asked for." in shown[loser]
        assert "Nothing was reserved" in shown[loser]
        _adds_up(boards)
        kept = Reservation.objects.filter(board__in=boards).values_list("commission__title", flat=True)
        assert set(kept) == {jobs[winner].title}

        # The one who came second plans again from what is left, in the same window, and buys the rest.
        windows[loser].get_by_role("button", name="Plan again").click()
        text = windows[loser].locator("main").inner_text()
        assert "Planned anew." in text
        assert "to buy" in windows[loser].locator(".answer").inner_text()
        windows[winner].get_by_role("button", name="Release the boards").click()
        windows[winner].get_by_text("its boards are free again").wait_for()
        _adds_up(boards)
        assert not Reservation.objects.exists()
        SawingPlan.objects.all().delete()

        # Two of each: both have theirs.
        boards = _lying(jobs[0].studio, 2)
        plans = _plans(jobs)
        for page, plan in zip(windows, plans, strict=True):
            page.goto(f"/sawing/{plan.pk}/")
        shown = _press_both(windows)
        assert all("Reserved: every board of the rack in this plan." in text for text in shown), shown
        _adds_up(boards)
        taken = sum(plan.boards.filter(reserved=True).count() for plan in plans)
        assert sum(board.reserved for board in boards) == taken > 1
        who = {
            event.member.user.username for board in boards for event in board.events.filter(what="reserved")
        }
        assert who == {"alice", "bob"}
        for page in windows:
            page.get_by_role("button", name="Release the boards").click()
            page.get_by_text("its boards are free again").wait_for()
        SawingPlan.objects.all().delete()


def test_a_plan_is_made_watched_reserved_and_cut_in_the_browser(
    as_alice: BrowserContext,
    page: Page,
    heard: Heard,
    live_server: Any,
    jobs: list[Commission],
    started: list[SawingPlan],
) -> None:
    _lying(jobs[0].studio, 3)
    page.goto(f"{live_server.url}/sawing/new/")
    for job in jobs:
        page.get_by_label(job.title).check()
    page.get_by_role("button", name="Plan the sawing").click()
    page.get_by_role("button", name="Stop the search").wait_for()
    assert "Seeking a cheaper plan." in page.locator("#progress").inner_text()
    (plan,) = started
    # The search ends behind the page, which finds that out by itself.
    search(plan=plan.pk, runner=plan.runner)
    page.get_by_role("button", name="Stop the search").wait_for(state="detached")
    page.get_by_role("button", name="Reserve th").click()
    page.get_by_text("Reserved: every board").wait_for()
    page.get_by_role("button", name="Log board 1 as cut").click()
    page.get_by_text("Logged: board 1 cut").wait_for()
    page.locator("summary", has_text="as cut …").click()
    page.locator("#boards > form button").click()
    page.get_by_text("Logged: all boards cut").wait_for()
    plan.refresh_from_db()
    assert plan.state == "cut"
    assert not Reservation.objects.exists()
    offcuts = Board.objects.on_rack().filter(from_board__isnull=False)
    assert offcuts.exists()


def test_the_sawing_pages_are_accessible_and_fit_any_screen(
    as_alice: BrowserContext, page: Page, heard: Heard, live_server: Any, jobs: list[Commission]
) -> None:
    _lying(jobs[0].studio, 1)
    plan = plan_create(studio=jobs[0].studio, commissions=jobs)
    wrong = []
    for state in ("searching", "ready"):
        SawingPlan.objects.update(state=state)
        for address in ("", "new/", f"{plan.pk}/", f"{plan.pk}/saw-list/"):
            page.goto(f"{live_server.url}/sawing/{address}")
            page.evaluate("for (const fold of document.querySelectorAll('details')) fold.open = true")
            found = Axe().run(page, options=RULES).response["violations"]
            wrong += [
                f"{address} {rule['id']}: {node['html'][:160]}" for rule in found for node in rule["nodes"]
            ]
            for width in (320, 390):
                page.set_viewport_size({"width": width, "height": 800})
                reach = page.evaluate("document.documentElement.scrollWidth")
                wrong += [f"{address} is {reach} px wide on a screen of {width}"] if reach > width else []
            page.set_viewport_size({"width": 1280, "height": 900})
    assert wrong == []
