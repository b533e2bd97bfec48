"""Two people in two windows at one rack: nothing is promised twice, and neither loses what they typed."""

from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.contrib.auth.models import User
from django.test import Client
from playwright.sync_api import Browser, BrowserContext, Page

from projects.models import Board, Commission, Reservation, Studio
from projects.services import rack
from projects.services.commissions import commission_create
from projects.services.studios import member_add
from tests.browser.conftest import Heard
from tests.browser.test_every_page import RULES

ROUNDS = 4


def _window(browser: Browser, address: str, name: str) -> BrowserContext:
    """A window of its own, in which someone is logged in."""
    client = Client()
    client.force_login(User.objects.get(username=name))
    context = browser.new_context(base_url=address)
    context.add_cookies([{"name": "sessionid", "value": client.cookies["sessionid"].value, "url": address}])
    context.set_default_timeout(10_000)
    return context


@pytest.fixture
def windows(browser: Browser, live_server: Any, job: Commission) -> Any:
    """Alice's window and Bob's; both work in the studio."""
    bob = User.objects.create_user("bob", password="plane-and-gouge")
    member_add(studio=job.studio, user=bob)
    contexts = [_window(browser, live_server.url, name) for name in ("alice", "bob")]
    yield [context.new_page() for context in contexts]
    for context in contexts:
        context.close()


def _put(studio: Studio, count: int) -> Board:
    wood = studio.woods.get(key="maple")
    return rack.board_create(studio=studio, wood=wood, length=1800, width=150, thickness=25, count=count)


def _choose(page: Page, board: Board, job: Commission, count: int) -> None:
    page.goto(f"/rack/{board.pk}/")
    page.select_option("[name=commission]", label=job.title)
    page.fill("[name=count]", str(count))


def _press_both(pages: list[Page]) -> list[str]:
    """Both buttons pressed before either answer is there; what each window then shows."""
    for page in pages:
        # Sent on its way without waiting, so that the second press does not come after the first answer.
        page.evaluate(
            "setTimeout(() => document.querySelector('[action$=\"/reserve/\"]').requestSubmit(), 150)"
        )
    for page in pages:
        page.locator(".notice").first.wait_for()
    return [page.locator("main").inner_text() for page in pages]


def test_two_windows_reserve_boards_for_two_commissions_at_once_and_nothing_is_lost(
    windows: list[Page], job: Commission
) -> None:
    other = commission_create(studio=job.studio, client=job.client, title="Low vase")
    jobs = [job, other]
    for _ in range(ROUNDS):
        last, plenty = _put(job.studio, 1), _put(job.studio, 5)

        for page, one in zip(windows, jobs, strict=True):
            _choose(page, last, one, 1)
        shown = _press_both(windows)
        won = [f"Reserved: 1 for {one.title}." in text for one, text in zip(jobs, shown, strict=True)]
        assert sum(won) == 1, shown
        loser = won.index(False)
        assert "none free, 1 asked for." in shown[loser]
        assert "Nothing was reserved." in shown[loser]
        # What the loser typed is still there, and the page says who has the board.
        chosen = windows[loser].locator("[name=commission] option:checked").last
        assert chosen.inner_text() == jobs[loser].title
        assert f"1 for {jobs[1 - loser].title}" in shown[loser]

        for page, one, count in zip(windows, jobs, (2, 3), strict=True):
            _choose(page, plenty, one, count)
        shown = _press_both(windows)
        assert "Reserved: 2 for Harbour bowl." in shown[0]
        assert "Reserved: 3 for Low vase." in shown[1]

        last.refresh_from_db()
        plenty.refresh_from_db()
        assert (last.count, last.reserved, plenty.count, plenty.reserved) == (1, 1, 5, 5)
        kept = Reservation.objects.filter(board=plenty).values_list("commission__title", "count")
        assert dict(kept) == {"Harbour bowl": 2, "Low vase": 3}
        who = plenty.events.filter(what="reserved").values_list("member__user__username", "count")
        assert dict(who) == {"alice": 2, "bob": 3}


def test_a_board_is_added_reserved_and_cut_and_its_offcut_lies_on_the_rack(
    as_alice: BrowserContext, page: Page, heard: Heard, live_server: Any, job: Commission
) -> None:
    page.goto(f"{live_server.url}/rack/new/")
    page.select_option("[name=wood]", label=job.studio.woods.get(key="walnut").name)
    page.fill("[name=length]", "8 ft")
    page.fill("[name=width]", "6 in")
    page.select_option("[name=nominal]", "8/4")
    page.select_option("[name=surface]", "rough")
    page.fill("[name=price]", "9.50")
    page.select_option("[name=bought_by]", "board_foot")
    page.fill("[name=defects]", "300 to 380, 0 to 40")
    page.get_by_role("button", name="Save").click()
    page.get_by_role("row").filter(has_text="300 to 380").get_by_role("link").first.click()
    # 8 ft × 6 in × 2 in is 8 board feet.
    assert "$76.00 a board, at $9.50 a board foot" in page.locator("main").inner_text()
    assert page.locator("svg.board-strip .unused").count() == 1
    page.select_option("[name=commission]", label=job.title)
    page.get_by_role("button", name="Reserve", exact=True).click()
    page.get_by_role("link", name="Log a cut").click()
    page.fill("[name=offcuts-0-length]", "600")
    page.fill("[name=offcuts-0-width]", "6 in")
    page.get_by_role("button", name="Log it").last.click()
    assert "Logged: 1 cut, 1 offcut back on the rack." in page.locator("main").inner_text()
    assert "none left; kept for its history" in page.locator("main").inner_text()
    page.get_by_role("link", name="1 of").click()
    assert "600 × 152.4 × 50.8 mm" in page.locator("h1").inner_text()
    board = Board.objects.on_rack().get()
    assert board.from_board is not None
    assert not Reservation.objects.exists()


def _complaints(page: Page) -> list[str]:
    found = Axe().run(page, options=RULES).response["violations"]
    wrong = [f"{page.url} {rule['id']}: {node['html'][:160]}" for rule in found for node in rule["nodes"]]
    for width in (320, 390):
        page.set_viewport_size({"width": width, "height": 800})
        reach = page.evaluate("document.documentElement.scrollWidth")
        wrong += [f"{page.url} is {reach} px wide on a screen of {width}"] if reach > width else []
    page.set_viewport_size({"width": 1280, "height": 900})
    return wrong


def test_the_racks_pages_are_accessible_and_fit_any_screen(
    as_alice: BrowserContext, page: Page, heard: Heard, live_server: Any, job: Commission
) -> None:
    board = _put(job.studio, 3)
    rack.board_update(board=board, defects=[[300, 380], [900, 960, 0, 40]], place="by the door")
    rack.reserve(boards={board: 1}, commission=job)
    rack.cut_logged(board=board, offcuts=[rack.Offcut(length=board.length / 2, width=board.width)])
    wrong = []
    for address in ("", f"{board.pk}/", f"{board.pk}/change/", f"{board.pk}/cut/", "used-up/", "import/"):
        page.goto(f"{live_server.url}/rack/{address}")
        page.evaluate("for (const fold of document.querySelectorAll('details')) fold.open = true")
        wrong += _complaints(page)
    for text in (
        "wood,length,width,thickness\nmaple,900,120,25\n",
        "wood,length,width,thickness\noak,x,0,25\n",
    ):
        page.goto(f"{live_server.url}/rack/import/")
        page.fill("#text", text)
        page.get_by_role("button", name="Look at it first").click()
        page.locator("table").wait_for()
        wrong += _complaints(page)
    heard.errors[:] = [error for error in heard.errors if "400" not in error]  # the refusal's own status
    assert wrong == []
