"""A commission between two windows, the maker's and the client's: from the enquiry to the day it is paid."""

import re
from collections.abc import Iterator
from decimal import Decimal
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, BrowserContext, BrowserType, Page, expect

from projects.models import CalendarPlan, Client, Commission, Quote, QuoteEvent, Reservation, Studio
from projects.models.studio import Member
from projects.options import Choice
from projects.services import calendar_search, quote_link
from projects.services.quote_accept import planned_boards
from projects.services.quote_life import quote_answer, quote_ask
from projects.services.quote_options import options_set
from projects.services.quotes import quote_draft, quote_issue
from projects.services.studios import client_create, studio_update
from projects.statement import statement
from projects.templatetags.turnery import money
from tests.browser.conftest import CHROMIUM, Heard
from tests.browser.test_every_page import RULES
from tests.browser.test_solid import SOFTWARE_WEBGL
from tests.factories import BoardFactory

WIDTHS = (1280, 390, 320)
PATIENCE = 60_000
"""ms; a quote is estimated and both its papers are printed while the page waits."""


@pytest.fixture(autouse=True)
def begun(monkeypatch: Any) -> list[CalendarPlan]:
    """Plans that would have begun in a process of its own, which would not know this database."""
    found: list[CalendarPlan] = []

    def start(plan: CalendarPlan, *, anew: bool) -> None:
        assert anew
        found.append(plan)

    monkeypatch.setattr(calendar_search, "search_start", start)
    return found


@pytest.fixture(autouse=True)
def patient() -> Iterator[None]:
    """Papers are printed while the page waits."""
    expect.set_options(timeout=PATIENCE)
    yield
    expect.set_options(timeout=5_000)


@pytest.fixture
def buyer(workshop: Studio) -> Client:
    """Someone who wants a piece at home; the studio can be written to, and has wood on the rack."""
    studio_update(studio=workshop, email="studio@example.com", bank_details="Account 12-34")
    for key in ("maple", "walnut"):
        BoardFactory(wood=workshop.woods.get(key=key), length=2400, width=200, thickness=25.4, count=3)
    return client_create(studio=workshop, kind="private", name="Wilmet Sarrow", email="wilmet@example.com")


@pytest.fixture
def theirs(browser: Browser, heard: Heard, live_server: Any) -> Iterator[Page]:
    """The client's window: another browser, logged in nowhere, and listened to as the maker's is."""
    context = browser.new_context(viewport={"width": 390, "height": 844})
    context.set_default_timeout(PATIENCE)
    page = context.new_page()
    page.on("pageerror", lambda error: heard.errors.append(str(error)))
    page.on("console", lambda said: heard.errors.append(said.text) if said.type == "error" else None)
    mine = (live_server.url, "data:", "blob:")
    page.on("request", lambda asked: asked.url.startswith(mine) or heard.elsewhere.append(asked.url))
    yield page
    context.close()


def test_from_the_enquiry_to_the_day_it_is_paid(
    as_alice: BrowserContext,
    page: Page,
    theirs: Page,
    heard: Heard,
    live_server: Any,
    buyer: Client,
    begun: list[CalendarPlan],
) -> None:
    as_alice.set_default_timeout(PATIENCE)
    _quoted(page, live_server.url)
    quote = Quote.objects.get(state="issued")
    price = quote.estimate["price"]
    total = money(price["total"], price["currency"])

    # The address is made on the commission's page and opened in the other window.
    page.goto(f"{live_server.url}/jobs/{quote.commission_id}/")
    page.get_by_role("button", name="Make a private address").click()
    address = page.locator("code.address").inner_text()
    expect(page.locator("#client")).to_contain_text("not opened yet")
    theirs.goto(address)
    expect(theirs.locator("h1")).to_have_text("Bowl for the stair")
    expect(theirs.locator("#answer")).to_contain_text(total)
    _asked_and_answered(page, theirs)

    theirs.locator("#accept_name").fill("Wilmet Sarrow")
    theirs.get_by_role("button", name="Accept the quote").click()
    expect(theirs.locator("#answer")).to_contain_text("Accepted by Wilmet Sarrow")
    page.reload()
    expect(page.locator("#client")).to_contain_text("Accepted by Wilmet Sarrow")
    job = Commission.objects.get()
    assert job.stage == "agreed"
    planned = planned_boards(quote.estimate)
    assert planned
    assert dict(Reservation.objects.filter(commission=job).values_list("board_id", "count")) == dict(planned)
    assert [plan.studio for plan in begun] == [job.studio]

    _signed_before_the_saw(page, theirs)
    _paid(page, theirs, f"{live_server.url}/jobs/{job.pk}/", quote)


def _quoted(page: Page, site: str) -> None:
    """An enquiry drawn, estimated and quoted."""
    page.goto(f"{site}/jobs/new/")
    page.fill("#id_title", "Bowl for the stair")
    page.select_option("#id_client", label="Wilmet Sarrow")
    page.get_by_role("button", name="Take it on").click()
    page.get_by_role("link", name="Draw the piece").click()
    page.check("#id_start_bowl")
    page.fill("#id_height", "60 mm")
    page.fill("#id_diameter", "180 mm")
    page.get_by_role("button", name="Put it on the drawing board").click()
    page.get_by_role("link", name="Estimate", exact=True).click()
    expect(page.locator("#rings tbody tr")).not_to_have_count(0)
    page.get_by_role("link", name="Draw up the quote").click()
    page.get_by_role("button", name="Issue the quote").click()
    expect(page.locator("#notices")).to_contain_text(re.compile(r"Issued: quote \d{4}-001"))


def _asked_and_answered(page: Page, theirs: Page) -> None:
    theirs.locator("#ask_words").fill("Could it be ready by May?")
    theirs.locator("#ask_name").fill("Wilmet")
    theirs.get_by_role("button", name="Ask").click()
    expect(theirs.locator("#talk")).to_contain_text("Could it be ready by May?")
    page.reload()
    questions = page.locator("#questions")
    expect(questions).to_contain_text("Could it be ready by May?")
    questions.locator("textarea").fill("Yes, by the middle of April.")
    questions.get_by_role("button", name="Answer").click()
    expect(page.locator("#notices .success")).to_be_visible()
    theirs.reload()
    expect(theirs.locator("#talk .answered")).to_contain_text("by the middle of April")


def _signed_before_the_saw(page: Page, theirs: Page) -> None:
    page.get_by_role("link", name="Put a drawing or sample to the client").click()
    page.get_by_role("button", name="Put it to the client").click()
    expect(page.locator("#notices .success")).to_be_visible()
    theirs.reload()
    waiting = theirs.locator("article.waits")
    waiting.get_by_label("Your name").fill("Wilmet Sarrow")
    waiting.get_by_role("button", name="Sign it").click()
    expect(theirs.locator("article.put")).to_contain_text("Signed by Wilmet Sarrow")
    expect(theirs.locator("article.waits")).to_have_count(0)


def _paid(page: Page, theirs: Page, home: str, quote: Quote) -> None:
    """Deposit asked for and paid, made, delivered, the balance asked for and paid."""
    price = quote.estimate["price"]
    for paper, amount in (("Deposit request", price["deposit"]), ("Balance request", price["balance"])):
        written = money(amount, price["currency"])
        if paper == "Balance request":
            _made(page, home)
            _hand_out(page, home, "Delivery note")
            page.get_by_role("button", name="It is delivered").click()
            expect(page.locator("#notices")).to_contain_text("Now: delivered")
        _hand_out(page, home, paper)
        theirs.reload()
        expect(theirs.locator("#owing")).to_contain_text(written)
        _take_down(page, home, amount, reference=paper)
        theirs.reload()
    found = statement(Commission.objects.get(), today=quote.issued_at.date())
    assert found.balance == 0
    assert found.paid_in == Decimal(price["total"])
    expect(theirs.locator("#owing")).to_contain_text("All is paid")
    page.goto(home)
    expect(page.locator("#money")).to_contain_text("All paid")
    page.get_by_role("button", name="Paid: close it").click()
    expect(page.locator("#notices")).to_contain_text("Now: closed")
    assert Commission.objects.get().stage == "closed"


def _made(page: Page, home: str) -> None:
    page.goto(home)
    for step, stage in (("Start making", "making"), ("It is finished", "finished")):
        page.get_by_role("button", name=step).click()
        expect(page.locator("#notices")).to_contain_text(f"Now: {stage}")


def _hand_out(page: Page, home: str, paper: str) -> None:
    page.goto(home)
    page.locator("#papers").get_by_role("link", name=paper, exact=True).click()
    page.get_by_role("button", name="Hand it out").click()
    expect(page.locator("#notices")).to_contain_text("Handed out")


def _take_down(page: Page, home: str, amount: str, *, reference: str) -> None:
    page.goto(home)
    form = page.locator("#money form", has=page.locator("summary", has_text="Take down a payment"))
    form.locator("summary").click()
    form.locator("input[name=amount]").fill(amount)
    form.locator("input[name=reference]").fill(reference)
    form.get_by_role("button", name="Take it down").click()
    expect(page.locator("#notices")).to_contain_text(re.compile("taken down", re.IGNORECASE))


@pytest.fixture
def shown(job: Commission) -> str:
    """A gallery's quote with an option and a question answered, at its address."""
    draft = quote_draft(commission=job, message="As we said.")
    options_set(quote=draft, options=[("A pair", Choice(quantity=2))])
    quote = quote_issue(quote=draft)
    quote_ask(quote=quote, words="In cherry?", name="P. Lorn")
    quote_answer(quote=quote, words="Gladly.", member=Member.objects.get())
    return quote_link.link_path(quote_link.link_make(commission=job))


def _complaints(page: Page, where: str) -> list[str]:
    """What is wrong with a page, everything unfolded, at the widths that people have."""
    page.evaluate("for (const fold of document.querySelectorAll('details')) fold.open = true")
    wrong = []
    for width in WIDTHS:
        page.set_viewport_size({"width": width, "height": 844})
        found = Axe().run(page, options=RULES).response["violations"]
        wrong += [
            f"{where} at {width}: {rule['id']}: {node['html'][:160]}"
            for rule in found
            for node in rule["nodes"]
        ]
        reach = page.evaluate("document.documentElement.scrollWidth")
        wrong += [f"{where} is {reach} px wide on a screen of {width}"] if reach > width else []
    return wrong


def test_the_clients_page_is_accessible_and_fits_any_screen(
    theirs: Page, heard: Heard, live_server: Any, shown: str
) -> None:
    theirs.goto(live_server.url + shown)
    wrong = _complaints(theirs, "open")
    theirs.locator("#accept_name").fill(" ")
    theirs.evaluate("document.querySelector('#accept_name').required = false")
    theirs.locator("#decide").get_by_label("A pair").check()
    theirs.get_by_role("button", name="Accept the quote").click()
    expect(theirs.locator("#decide [role=alert]")).to_be_visible()
    expect(theirs.locator("#decide").get_by_label("A pair")).to_be_checked()
    wrong += _complaints(theirs, "refused")
    # The browser's own word for the answer that refuses.
    assert ["400" in said for said in heard.errors] == [True]
    heard.errors.clear()
    theirs.locator("#accept_name").fill("P. Lorn")
    theirs.get_by_role("button", name="Accept the quote").click()
    expect(theirs.locator("#answer")).to_contain_text("Accepted by P. Lorn")
    wrong += _complaints(theirs, "accepted")
    assert wrong == []
    event = QuoteEvent.objects.get(what="accepted")
    assert event.option is not None
    assert event.option.title == "A pair"


def test_it_is_asked_about_and_accepted_without_scripts(
    browser: Browser, live_server: Any, shown: str
) -> None:
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(live_server.url + shown)
    expect(page.get_by_role("button", name="See it in the round")).to_be_hidden()
    page.locator("#ask_words").fill("And in oak?")
    page.get_by_role("button", name="Ask").click()
    expect(page.locator("#talk")).to_contain_text("And in oak?")
    page.locator("#accept_name").fill("P. Lorn")
    page.get_by_role("button", name="Accept the quote").click()
    expect(page.locator("#answer")).to_contain_text("Accepted by P. Lorn")
    context.close()


def test_the_piece_is_shown_in_the_round_once_that_is_asked_for(
    browser_type: BrowserType, live_server: Any, shown: str
) -> None:
    browser = browser_type.launch(executable_path=CHROMIUM, args=["--no-sandbox", *SOFTWARE_WEBGL])
    page = browser.new_context(reduced_motion="reduce").new_page()
    wrong: list[str] = []
    asked: list[str] = []
    page.on("pageerror", lambda error: wrong.append(str(error)))
    page.on("console", lambda said: wrong.append(said.text) if said.type == "error" else None)
    page.on("request", lambda request: asked.append(request.url))
    page.goto(live_server.url + shown)
    page.wait_for_load_state("networkidle")
    assert [url for url in asked if "round.glb" in url or "three" in url] == []
    page.get_by_role("button", name="See it in the round").click()
    figure = page.locator("[data-solid]")
    expect(figure).to_have_attribute("data-state", "shown", timeout=30_000)
    drawn = int(figure.get_attribute("data-triangles") or 0)
    assert drawn > 1000
    page.get_by_label("Cut through the middle").check()
    expect(figure).to_have_attribute("data-calls", "2")
    # Another model that is still on its way does not take the drawing's place again.
    arrived: list[str] = []
    page.on("response", lambda answer: arrived.append(answer.url) if "option=" in answer.url else None)
    page.locator("input[data-model]").nth(1).check()
    page.get_by_role("button", name="Back to the drawing").click()
    expect(page.locator("[data-part=still]")).to_be_visible()
    page.wait_for_load_state("networkidle")
    expect(page.locator("[data-part=still]")).to_be_visible()
    page.get_by_role("button", name="See it in the round").click()
    expect(figure).to_have_attribute("data-state", "shown")
    assert arrived != []
    assert [url for url in asked if not url.startswith((live_server.url, "data:", "blob:"))] == []
    assert wrong == []
    browser.close()
