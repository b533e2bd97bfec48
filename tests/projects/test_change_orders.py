"""Change orders: priced against what was agreed, counted once agreed to, answered once."""

import datetime
import hashlib
from decimal import Decimal
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.utils import timezone

from estimating.answer import as_json
from projects.agreed import agreed_piece, drawing_state
from projects.estimates import estimate_design
from projects.models import ChangeOrder, Commission, Member, Quote, Studio
from projects.services.change_orders import change_answer, change_ask, change_proposed, change_withdraw
from projects.services.sign_offs import sign_off_answer, sign_off_ask
from projects.statement import statement
from tests.agreements import NAME, accepted, link_of, private_job, thicker
from tests.factories import CommissionFactory, RateFactory
from tests.factories_papers import QuoteEventFactory

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("cheap_paper")]


@pytest.fixture
def maker(alice: Any) -> Member:
    """Alice."""
    return alice.member


@pytest.fixture
def job(studio: Studio) -> Commission:
    """A piece for somebody's home that takes some sawing."""
    RateFactory(studio=studio)
    return private_job(studio, tax=Decimal("0.2"))


@pytest.fixture
def quote(job: Commission) -> Quote:
    """Its quote, accepted."""
    return accepted(job)


def refused(doing: Any, **values: Any) -> ValidationError:
    """What a service refuses with."""
    with pytest.raises(ValidationError) as refusal:
        doing(**values)
    return refusal.value


def total(job: Commission) -> Decimal:
    """What the whole piece costs at the design as it is."""
    return Decimal(as_json(estimate_design(job.design, commission=job)[1])["price"]["total"])


def test_nothing_is_proposed_where_nothing_was_agreed_or_changed(job: Commission, maker: Member) -> None:
    """A revision is for what was not accepted yet."""
    assert change_proposed(job) is None
    refused(change_ask, commission=job, title="A wider rim", amount=Decimal(10), member=maker)
    accepted(job)
    assert change_proposed(job) is None


def test_the_difference_of_two_estimates_is_proposed(quote: Quote, job: Commission) -> None:
    """At unchanged prices it is what two whole quotes differ by, to the cent, with its tax."""
    before = total(job)
    thicker(job, "12.0")
    proposal = change_proposed(job)
    assert proposal is not None
    assert proposal.amount == total(job) - before > 0
    assert proposal.base + proposal.tax == proposal.amount
    assert proposal.tax == proposal.after.tax - proposal.before.tax > 0
    assert proposal.before.amount == Decimal(quote.estimate["price"]["total"])
    assert "layer thickness of band 1 (wall): 9.93 mm, now 12 mm" in proposal.differs


def test_dearer_hours_since_are_not_the_client_s(quote: Quote, job: Commission) -> None:
    """The terms that were agreed count, and today's rates count for both pieces."""
    thicker(job, "12.0")
    usual = change_proposed(job)
    job.studio.pricing.labour_rate = Decimal(200)
    job.studio.pricing.margin = Decimal("0.5")
    job.studio.pricing.save()
    job.refresh_from_db()
    dearer = change_proposed(job)
    assert usual is not None
    assert dearer is not None
    assert dearer.amount == usual.amount


def test_a_price_that_was_named_does_not_hide_the_difference(job: Commission) -> None:
    """Both estimated from cost, where the quote was issued at the client's figure."""
    job.offered_retail, job.price_from = Decimal(900), "offer"
    job.save()
    accepted(job)
    thicker(job, "12.0")
    proposal = change_proposed(job)
    assert proposal is not None
    assert proposal.amount > 0


def test_a_smaller_piece_is_less(quote: Quote, job: Commission, maker: Member) -> None:
    """Below nothing is given back."""
    thicker(job, "8.0")
    change = change_ask(commission=job, title="A lower pot", member=maker)
    assert change.amount < 0
    assert change.base + change.tax == change.amount


def test_it_is_frozen_and_says_all_that_is_signed(quote: Quote, job: Commission, maker: Member) -> None:
    """Number, words, differences, parts of the price, both totals, days, and the drawing by its hash."""
    thicker(job, "12.0")
    change = change_ask(commission=job, title="A taller pot", words="For the sill.", days=4, member=maker)
    assert (change.number, change.quote_id, change.answer) == (1, quote.pk, "waiting")
    assert change.sheet["bands"][0]["thickness"] == 12
    assert Decimal(change.estimate["price"]["total"]) == total(job)
    assert change.sha256 == hashlib.sha256(change.text.encode()).hexdigest()
    before = Decimal(quote.estimate["price"]["total"])
    for said in (
        f"Change 1 to quote {quote.reference}: A taller pot",
        "For the sill.",
        "- layer thickness of band 1 (wall): 9.93 mm, now 12 mm",
        f"With tax: ${change.amount:,.2f}",
        f"Agreed so far: ${before:,.2f}; with this change: ${before + change.amount:,.2f}",
        "It is ready 4 days later.",
        hashlib.sha256(change.drawing.encode()).hexdigest(),
    ):
        assert said in change.text
    assert "an hour" not in change.text
    thicker(job, "13.0")
    change.refresh_from_db()
    assert change.sheet["bands"][0]["thickness"] == 12


def test_another_amount_is_taxed_as_agreed(quote: Quote, job: Commission, maker: Member) -> None:
    """Typed before tax, as the quote says its prices; half a cent goes up."""
    thicker(job, "12.0")
    change = change_ask(commission=job, title="A taller pot", amount=Decimal("33.33"), member=maker)
    assert (change.base, change.tax, change.amount) == (
        Decimal("33.33"),
        Decimal("6.67"),
        Decimal("40.00"),
    )


def test_an_amount_with_its_tax_in_it(job: Commission, maker: Member) -> None:
    """Where the quote's prices have their tax in them."""
    job.tax_inclusive = True
    job.save()
    accepted(job)
    change = change_ask(commission=job, title="A box for it", amount=Decimal(120), member=maker)
    assert (change.base, change.tax, change.amount) == (Decimal(100), Decimal(20), Decimal(120))
    assert change.sheet == {}
    assert change.drawing == ""


def test_a_change_in_words_alone_needs_its_amount(quote: Quote, job: Commission, maker: Member) -> None:
    """Nothing is where nothing is typed; 0 has to be said; no parts of a cent."""
    ask = {"commission": job, "title": "Sign it under the foot", "member": maker}
    assert "amount" in refused(change_ask, **ask).message_dict
    assert "amount" in refused(change_ask, **ask, amount=Decimal("1.005")).message_dict
    assert "title" in refused(change_ask, **{**ask, "title": " "}, amount=Decimal(0)).message_dict
    past = timezone.localdate() - datetime.timedelta(days=1)
    assert "valid_until" in refused(change_ask, **ask, amount=Decimal(0), valid_until=past).message_dict
    assert "days" in refused(change_ask, **ask, amount=Decimal(0), days=400).message_dict
    assert not ChangeOrder.objects.exists()
    assert change_ask(**ask, amount=Decimal(0)).amount == 0
    refused(change_ask, **ask, amount=Decimal(0))


def test_an_agreed_change_is_counted_and_its_drawing_stands(
    quote: Quote, job: Commission, maker: Member
) -> None:
    """In the statement, and as the drawing that the design is held to; the promise moves by its days."""
    promised = timezone.localdate() + datetime.timedelta(days=60)
    Commission.objects.filter(pk=job.pk).update(promised_on=promised)
    thicker(job, "12.0")
    assert not drawing_state(job).is_quiet
    change = change_ask(commission=job, title="A taller pot", days=5, member=maker)
    before = statement(job, today=timezone.localdate()).agreed
    assert "waits for the client" in drawing_state(job).words
    signed = change_answer(change=change, agreed=True, name=NAME, link=link_of(job))
    assert signed.answer == "agreed"
    assert statement(job, today=timezone.localdate()).agreed == before + change.amount
    assert drawing_state(job).is_quiet
    assert agreed_piece(job).sheet["bands"][0]["thickness"] == 12
    job.refresh_from_db()
    assert job.promised_on == promised + datetime.timedelta(days=5)


def test_the_next_change_is_priced_against_the_last(quote: Quote, job: Commission, maker: Member) -> None:
    """Two steps come to what one step comes to, to the cent."""
    before = total(job)
    for mm in ("11.0", "12.0"):
        thicker(job, mm)
        change = change_ask(commission=job, title=f"{mm} layers", member=maker)
        change_answer(change=change, agreed=True, name=NAME, member=maker)
    amounts = ChangeOrder.objects.values_list("amount", flat=True)
    assert sum(amounts) == total(job) - before
    assert [change.number for change in ChangeOrder.objects.all()] == [1, 2]


def test_a_refused_or_withdrawn_change_counts_for_nothing(
    quote: Quote, job: Commission, maker: Member
) -> None:
    """What was agreed stays, and the notice stays until the design is put back or priced anew."""
    before = statement(job, today=timezone.localdate()).agreed
    thicker(job, "12.0")
    change = change_ask(commission=job, title="A taller pot", member=maker)
    change_answer(change=change, agreed=False, words="Too dear.", link=link_of(job))
    again = change_ask(commission=job, title="A taller pot", amount=Decimal(10), member=maker)
    assert again.number == 2
    change_withdraw(change=again, member=maker)
    assert statement(job, today=timezone.localdate()).agreed == before
    assert drawing_state(job).words.endswith("price the change.")
    for row in (change, again):
        assert refused(change_answer, change=row, agreed=True, name=NAME, member=maker).code == "answered"


def test_a_lapsed_or_orphaned_change_is_not_agreed_to(quote: Quote, job: Commission, maker: Member) -> None:
    """After its last day; and once the quote that it changes stands accepted no more."""
    change = change_ask(commission=job, title="A box", amount=Decimal(40), member=maker)
    late = timezone.now() + datetime.timedelta(days=job.studio.quote_valid_days + 1)
    link = link_of(job)
    lapsed = refused(change_answer, change=change, agreed=True, name=NAME, link=link, now=late)
    assert lapsed.code == "lapsed"
    QuoteEventFactory(quote=quote, what="withdrawn", member=maker)
    refused(change_answer, change=change, agreed=True, name=NAME, link=link)
    assert ChangeOrder.objects.get().is_waiting
    assert change_answer(change=change, agreed=False, link=link).answer == "refused"


def test_what_was_looked_at_is_what_is_asked(quote: Quote, job: Commission, maker: Member) -> None:
    """A design changed between looking and sending is refused, not priced unseen."""
    thicker(job, "12.0")
    seen = change_proposed(job).mark
    thicker(job, "13.0")
    assert refused(change_ask, commission=job, title="Taller", seen=seen, member=maker).code == "changed"
    assert change_ask(commission=job, title="Taller", seen=change_proposed(job).mark, member=maker).pk


def test_a_signed_drawing_stands_before_the_quote(quote: Quote, job: Commission, maker: Member) -> None:
    """What was signed after the acceptance is what a change is priced against."""
    thicker(job, "11.0")
    row = sign_off_ask(commission=job, kind="drawing", member=maker)
    sign_off_answer(sign_off=row, agreed=True, name=NAME, member=maker)
    assert change_proposed(job) is None
    thicker(job, "12.0")
    assert change_proposed(job).agreed.is_signed
    assert change_proposed(job).before.amount > Decimal(quote.estimate["price"]["total"])


def test_a_gallery_pays_its_part_of_a_change(studio: Studio, maker: Member) -> None:
    """On consignment: the studio's part of the difference, as the statement counts the quote."""
    RateFactory(studio=studio)
    job = CommissionFactory(studio=studio, gallery_share=Decimal("0.4"))
    accepted(job)
    before = statement(job, today=timezone.localdate()).agreed
    retail = total(job)
    thicker(job, "12.0")
    change = change_ask(commission=job, title="A taller pot", member=maker)
    change_answer(change=change, agreed=True, name=NAME, member=maker)
    assert 0 < change.amount < total(job) - retail
    assert statement(job, today=timezone.localdate()).agreed == before + change.amount
