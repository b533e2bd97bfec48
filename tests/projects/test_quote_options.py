"""Options on a quote: put on its draft, frozen as they would be drawn, printed, and chosen on a page."""

from decimal import Decimal
from functools import partial
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.test import Client as Browser
from django.urls import reverse
from hypothesis import given, settings
from hypothesis import strategies as st

from estimating.options import Option, vary
from estimating.piece import Sheet
from estimating.sheet import read_sheet
from projects.estimates import estimate_data, sheet_data, workshop_of
from projects.models import Commission, Design, Quote, QuoteOption, Studio
from projects.options import Choice, options_of, otherwise
from projects.papers.offered import says_more
from projects.papers.quote import quote_pdf
from projects.services import quote_options as services
from projects.services.quotes import quote_draft, quote_issue
from projects.templatetags.turnery import money
from tests.factories import (
    BandFactory,
    CommissionFactory,
    DesignFactory,
    FinishFactory,
    FormFactory,
    PartFactory,
)
from tests.projects.frozen import text_of

pytestmark = pytest.mark.django_db
NAMES = ("title", "wood", "by", "size", "finish", "quantity")
EMPTY = {f"{n}-{name}": "" for n in (1, 2, 3) for name in NAMES}


@pytest.fixture
def job(studio: Studio) -> Commission:
    return CommissionFactory(studio=studio, title="Pot <b>", design=DesignFactory(studio=studio))


@pytest.fixture
def draft(job: Commission) -> Quote:
    return quote_draft(commission=job)


def test_options_are_put_on_a_draft_in_the_place_of_those_it_has(draft: Quote, studio: Studio) -> None:
    oil = FinishFactory(studio=studio, name="Oil")
    services.options_set(quote=draft, options=[("Small", Choice(size=0.5))])
    made = services.options_set(quote=draft, options=[("", Choice(wood="walnut", by="maple", finish=oil))])
    assert list(QuoteOption.objects.all()) == made
    (option,) = made
    assert option.title == "Hard maple in place of black walnut, finish: Oil"
    assert services.choice_of(option, studio=studio) == Choice(wood="walnut", by="maple", finish=oil)


def test_an_option_that_changes_nothing_or_one_too_many_is_refused(draft: Quote) -> None:
    with pytest.raises(ValidationError) as refusal:
        services.options_set(quote=draft, options=[("Small", Choice(size=0.5)), ("The same", Choice())])
    assert list(refusal.value.message_dict) == ["options[1]"]
    with pytest.raises(ValidationError, match="At most 3"):
        services.options_set(quote=draft, options=[("", Choice(quantity=n)) for n in range(2, 6)])
    assert not QuoteOption.objects.exists()


@pytest.mark.usefixtures("cheap_paper")
def test_issuing_freezes_them_as_estimates_of_their_own(
    draft: Quote, job: Commission, studio: Studio
) -> None:
    oil = FinishFactory(studio=studio, name="Oil", coats=2)
    choices = [Choice(size=0.9), Choice(wood="walnut", by="maple", finish=oil), Choice(quantity=2)]
    services.options_set(
        quote=draft, options=[(f"Option {n}", one) for n, one in enumerate(choices, start=1)]
    )
    quote = quote_issue(quote=draft)
    small, maple, pair = quote.options.order_by("position")
    # A second way: each choice tried on the sheet, as the options' own page does.
    assert job.design is not None
    _, *tried = options_of(job.design, commission=job, choices=choices)
    for option, one in zip((small, maple, pair), tried, strict=True):
        assert one.estimate is not None
        assert Decimal(option.estimate["price"]["total"]) == one.estimate.price.total
        assert option.drawing.lstrip().startswith("<svg")
        sheet, _ = estimate_data(option.sheet, studio=studio)  # it stands alone and reads back
        assert sheet.quantity == option.estimate["quantity"]
    assert small.says == ["10 % smaller all over"]
    assert maple.finish == {"name": "Oil", "coats": 2}
    assert [wood["key"] for wood in maple.species] == ["maple"]
    assert pair.says == ["2 pieces"]
    for act in (small.save, small.delete):
        with pytest.raises(ValidationError, match="cannot be changed"):
            act()
    with pytest.raises(ValidationError, match="cannot be changed"):
        services.options_set(quote=quote, options=[])


def test_an_option_that_cannot_be_made_keeps_the_quote_from_being_issued(
    draft: Quote, studio: Studio
) -> None:
    studio.shop.usual_board_width = 60
    studio.shop.save()
    services.options_set(quote=draft, options=[("Huge", Choice(size=4))])
    with pytest.raises(ValidationError, match="Huge cannot be made so"):
        quote_issue(quote=draft)
    draft.refresh_from_db()
    assert draft.number == ""


def test_options_changed_while_it_is_issued_are_not_frozen_unseen(draft: Quote, job: Commission) -> None:
    services.options_set(quote=draft, options=[("A pair", Choice(quantity=2))])
    frozen = services.options_frozen(job)
    services.options_set(quote=draft, options=[("Three", Choice(quantity=3))])
    with pytest.raises(ValidationError, match="changed while"):
        services.options_freeze(quote=draft, frozen=frozen)


def test_an_option_whose_finish_is_gone_says_so(draft: Quote, studio: Studio) -> None:
    oil = FinishFactory(studio=studio, name="Oil")
    services.options_set(quote=draft, options=[("Oiled", Choice(finish=oil))])
    oil.delete()
    with pytest.raises(ValidationError, match="Oiled: its finish"):
        quote_issue(quote=draft)


def test_they_are_printed_on_both_papers(draft: Quote) -> None:
    services.options_set(quote=draft, options=[("A <pair>", Choice(quantity=2))])
    quote = quote_issue(quote=draft)
    option = quote.options.get()
    price = option.estimate["price"]
    for paper in (quote.client_pdf, quote.trade_pdf):
        text = text_of(bytes(paper))
        assert "Also to be had" in text
        assert "A <pair>" in text
        assert "2 pieces" in text
        assert money(price["total"], price["currency"]) in text
    assert quote_pdf(quote, copy="client") == bytes(quote.client_pdf)


def test_what_the_title_says_already_is_not_said_twice() -> None:
    said = ["10 % smaller all over", "finish: Oil"]
    assert says_more(QuoteOption(title="10 % smaller all over, finish: oil", says=said)) == []
    assert says_more(QuoteOption(title="A small one", says=said)) == said


def test_a_quote_without_options_says_nothing_of_them(draft: Quote) -> None:
    assert "Also to be had" not in text_of(bytes(quote_issue(quote=draft).client_pdf))


def test_records_made_otherwise_read_as_the_sheet_made_otherwise(studio: Studio) -> None:
    """To the thousandth that records hold, whatever the choice; the design itself stays as it was."""
    design = DesignFactory(studio=studio, shaped=False)
    part = PartFactory(design=design, shaped=False)
    outer = [[0, 40], [50, 70, "corner"], [100, 60]]
    FormFactory(part=part, outer=outer, inside="curve", curve="smooth", inner=[[10, 30], [100, 50]])
    BandFactory(part=part, bored="set", bore=12, plug="walnut", layers=6)
    chart = {"legend": {"a": "walnut", "b": "maple"}, "rows": ["ab"] * 4}
    BandFactory(part=part, position=2, layers=4, woods=[], chart=chart)
    job = CommissionFactory(studio=studio, design=design)
    before = sheet_data(design, commission=job)
    workshop = workshop_of(studio)
    sheet = read_sheet(before, workshop=workshop)

    @settings(max_examples=20)
    @given(size=st.floats(0.3, 3), swap=st.booleans(), quantity=st.none() | st.integers(1, 50))
    def alike(size: float, swap: bool, quantity: int | None) -> None:
        woods = {"wood": "walnut", "by": "maple"} if swap else {}
        made = otherwise(design, Choice(size=size, quantity=quantity, **woods), commission=job)
        _same(
            read_sheet(made.sheet_data(commission=job), workshop=workshop),
            vary(sheet, Option(size=size, quantity=quantity, **woods)),
        )

    alike()
    after = sheet_data(Design.objects.get(pk=design.pk), commission=job)
    assert {name: after[name] for name in ("form", "bands")} == {
        name: before[name] for name in ("form", "bands")
    }


def _same(made: Sheet, meant: Sheet) -> None:
    near = partial(pytest.approx, abs=0.00051)
    assert made.quantity == meant.quantity
    for own, other in zip(made.parts, meant.parts, strict=True):
        assert own.form.corners == other.form.corners
        curves = ((own.form.outer, other.form.outer), (own.form.inside.inner, other.form.inside.inner))
        for line, meant_line in curves:
            for point, meant_point in zip(line, meant_line, strict=True):
                assert point == near(meant_point)
        for band, meant_band in zip(own.bands, other.bands, strict=True):
            assert band.thickness == near(meant_band.thickness)
            assert (band.woods, band.chart, band.plug) == (
                meant_band.woods,
                meant_band.chart,
                meant_band.plug,
            )
            assert band.bore == (near(meant_band.bore) if meant_band.bore else meant_band.bore)


# The page


def _url(job: Commission) -> str:
    return reverse("quote_options", args=[job.pk])


def test_the_page_puts_them_on_the_draft_and_sets_them_side_by_side(
    as_alice: Browser, job: Commission, studio: Studio
) -> None:
    asked = EMPTY | {"1-size": "90", "3-title": "A pair", "3-quantity": "2"}
    answer = as_alice.post(_url(job), asked)
    assert answer.status_code == 302
    assert [(one.position, one.title) for one in QuoteOption.objects.all()] == [
        (1, "10 % smaller all over"),
        (2, "A pair"),
    ]
    page = as_alice.get(_url(job))
    assert [one["name"] for one in page.context["columns"]] == ["as it is", "10 % smaller all over", "A pair"]
    assert page.context["forms"][0]["size"].value() == "90"
    quote_page = as_alice.get(reverse("job_quote", args=[job.pk])).content.decode()
    assert "10 % smaller all over, A pair" in quote_page
    # Sent back as it came, it changes nothing.
    shown = {
        f"{n}-{name}": form[name].value() or ""
        for n, form in enumerate(page.context["forms"], start=1)
        for name in NAMES
    }
    assert as_alice.post(_url(job), shown).status_code == 302
    assert [one.title for one in QuoteOption.objects.all()] == ["10 % smaller all over", "A pair"]


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"1-size": "9000"}, "Must be at most 400 %."),
        ({"2-wood": "walnut"}, "Choose the wood that stands in its place."),
        ({"2-title": "Another"}, "Say what is other than in the piece as drawn"),
    ],
)
def test_what_is_wrong_changes_nothing_and_stays(
    as_alice: Browser, job: Commission, draft: Quote, typed: dict[str, str], said: str
) -> None:
    services.options_set(quote=draft, options=[("A pair", Choice(quantity=2))])
    answer = as_alice.post(_url(job), EMPTY | {"3-title": "Mine", "3-quantity": "7"} | typed)
    page = answer.content.decode()
    assert answer.status_code == 400
    assert said in page
    assert 'value="Mine"' in page
    assert [one.title for one in QuoteOption.objects.all()] == ["A pair"]


def test_an_outsider_finds_no_options(as_charlie: Browser, job: Commission) -> None:
    assert as_charlie.get(_url(job)).status_code == 404
    assert as_charlie.post(_url(job), EMPTY | {"1-quantity": "2"}).status_code == 404
    assert not Quote.objects.exists()


def test_markup_is_escaped(as_alice: Browser, job: Commission, draft: Quote) -> None:
    services.options_set(quote=draft, options=[("<i>pair</i>", Choice(quantity=2))])
    for url in (_url(job), reverse("job_quote", args=[job.pk])):
        page: Any = as_alice.get(url).content.decode()
        assert "<i>pair" not in page
        assert "&lt;i&gt;pair" in page
        assert "Pot <b>" not in page
