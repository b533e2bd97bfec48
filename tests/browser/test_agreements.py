"""Sign-offs and changes in two windows: the maker puts them, the client answers, and each sees what the other did."""

from collections.abc import Iterator
from decimal import Decimal
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, BrowserContext, Page, expect

from projects.models import Band, ChangeOrder, Commission, Member, SignOff
from projects.services import quote_accept as accepting
from projects.services.change_orders import change_ask
from projects.services.quote_accept import quote_accept
from projects.services.quote_link import link_make, link_path
from projects.services.quotes import quote_draft, quote_issue
from projects.services.sign_offs import sign_off_ask
from tests.browser.conftest import Heard
from tests.browser.test_every_page import RULES

NAME = "Perpetua Lorn"
WIDTHS = (1280, 390, 320)


@pytest.fixture
def agreed(job: Commission, monkeypatch: Any) -> Commission:
    """The bowl's commission with its quote accepted; no search for days is begun."""
    monkeypatch.setattr(accepting, "calendar_asked", lambda studio: None)
    quote_accept(quote=quote_issue(quote=quote_draft(commission=job)), name=NAME, member=Member.objects.get())
    job.refresh_from_db()
    return job


@pytest.fixture
def address(agreed: Commission, live_server: Any) -> str:
    """The client's private address."""
    return f"{live_server.url}{link_path(link_make(commission=agreed))}"


@pytest.fixture
def theirs(browser: Browser, heard: Heard) -> Iterator[Page]:
    """The client's window, logged in nowhere, on a telephone."""
    context = browser.new_context(viewport={"width": 390, "height": 844})
    context.set_default_timeout(15_000)
    page = context.new_page()
    page.on("pageerror", lambda error: heard.errors.append(str(error)))
    yield page
    context.close()


def other_rim(job: Commission) -> None:
    """Another wood in the topmost band."""
    band = Band.objects.filter(part__design=job.design).order_by("position").last()
    assert band is not None
    band.woods = ["walnut"]
    band.save()


def test_a_drawing_and_a_change_go_there_and_back(
    as_alice: BrowserContext,
    page: Page,
    theirs: Page,
    heard: Heard,
    agreed: Commission,
    address: str,
    live_server: Any,
) -> None:
    as_alice.set_default_timeout(15_000)
    here = f"{live_server.url}/jobs/{agreed.pk}/"
    page.goto(here)
    page.get_by_role("link", name="Put a drawing or sample to the client").click()
    page.get_by_label("What it shows").fill("Please look at the rim.")
    page.get_by_role("button", name="Put it to the client").click()
    expect(page.locator("h1")).to_have_text("Drawing for Harbour bowl")
    page.goto(f"{here}cut/")
    expect(page.get_by_text("The drawing waits to be signed.")).to_be_visible()

    theirs.goto(address)
    theirs.get_by_role("link", name="A drawing to sign").click()
    theirs.get_by_label("Your name").first.fill(NAME)
    theirs.get_by_role("button", name="Sign it").click()
    expect(theirs.get_by_text(f"Signed by {NAME}")).to_be_visible()
    page.reload()
    expect(page.get_by_text("The drawing waits to be signed.")).to_have_count(0)

    other_rim(agreed)
    page.reload()
    page.get_by_role("link", name="Price the change").click()
    page.get_by_label("The change").fill("A rim of walnut")
    page.get_by_label("Goes up by").fill("40")
    page.get_by_role("button", name="Put it to the client").click()
    expect(page.locator("h1")).to_have_text("Change 1: A rim of walnut")

    theirs.reload()
    expect(theirs.locator("#changes-head + article")).to_contain_text("$40.00")
    theirs.get_by_role("button", name="Agree to the change").click()
    # The browser itself asks for the name first.
    assert ChangeOrder.objects.get().is_waiting
    theirs.locator("#changes-head + article").get_by_label("Your name").fill(NAME)
    theirs.get_by_role("button", name="Agree to the change").click()
    expect(theirs.get_by_text(f"Agreed by {NAME}")).to_be_visible()

    page.goto(here)
    expect(page.locator("#changes")).to_contain_text(f"agreed to by {NAME}")
    page.get_by_role("button", name="Start making").click()
    expect(page.get_by_text("Now: making.")).to_be_visible()
    assert SignOff.objects.get().answer == ChangeOrder.objects.get().answer == "agreed"


def _complaints(page: Page, address: str) -> list[str]:
    page.set_viewport_size({"width": 1280, "height": 900})
    page.goto(address)
    page.evaluate("for (const fold of document.querySelectorAll('details')) fold.open = true")
    found = Axe().run(page, options=RULES).response["violations"]
    wrong = [f"{address} {rule['id']}: {node['html'][:160]}" for rule in found for node in rule["nodes"]]
    for width in WIDTHS:
        page.set_viewport_size({"width": width, "height": 800})
        if (reach := page.evaluate("document.documentElement.scrollWidth")) > width:
            wrong.append(f"{address} is {reach} px wide on a screen of {width}")
    return wrong


def test_every_page_of_them_is_accessible_and_fits_any_screen(
    as_alice: BrowserContext,
    page: Page,
    theirs: Page,
    heard: Heard,
    agreed: Commission,
    address: str,
    live_server: Any,
) -> None:
    as_alice.set_default_timeout(15_000)
    maker = Member.objects.get()
    row = sign_off_ask(commission=agreed, kind="drawing", words="W" * 200, member=maker)
    sign_off_ask(commission=agreed, kind="chip", words="Oil on walnut.", member=maker)
    other_rim(agreed)
    change = change_ask(commission=agreed, title="A box " + "x" * 100, amount=Decimal(40), member=maker)
    job = f"/jobs/{agreed.pk}/"
    pages = [
        "/", job, f"{job}sign-offs/new/", f"{job}changes/new/", f"{job}withdraw-quote/", f"{job}client-said/",
        f"{job}cut/", f"/sign-offs/{row.pk}/", f"/changes/{change.pk}/",
    ]  # fmt: skip
    wrong = [words for one in pages for words in _complaints(page, f"{live_server.url}{one}")]
    wrong += _complaints(theirs, address)
    assert not wrong, "\n".join(wrong)
