"""The demo's papers: one quote accepted, signed and paid for in part, another that its gallery is asking about."""

import datetime

from django.utils import timezone

from projects.models import Commission, Letter, Member, Studio
from projects.models.issued import PaperKind
from projects.services import papers, payments, quote_accept, quote_life, quote_link, quotes, sign_offs
from projects.statement import statement

QUESTION = "Could it be ready two weeks sooner if we bring the walnut ourselves?"


def agree(commission: Commission, maker: Member) -> None:
    """Quote a commission, take its acceptance down, have its drawing signed, and take the deposit, weeks ago."""
    begun = timezone.localtime().replace(hour=10, minute=20) - datetime.timedelta(days=28)
    quote = quotes.quote_issue(quote=quotes.quote_draft(commission=commission), now=begun)
    client = commission.client.name
    accepted = begun + datetime.timedelta(days=1)
    words = "By telephone."
    quote_accept.quote_accept(quote=quote, name=client, member=maker, words=words, now=accepted)
    commission.refresh_from_db()
    drawing = sign_offs.sign_off_ask(commission=commission, kind="drawing", member=maker, now=accepted)
    signed = accepted + datetime.timedelta(days=1)
    sign_offs.sign_off_answer(sign_off=drawing, agreed=True, name=client, member=maker, now=signed)
    today = timezone.localdate(accepted)
    papers.paper_issue(commission=commission, kind=PaperKind.CONFIRMATION, member=maker, today=today)
    asked = papers.paper_issue(commission=commission, kind=PaperKind.DEPOSIT, member=maker, today=today)
    payments.payment_take(
        commission=commission,
        member=maker,
        paper=asked,
        amount=statement(commission, today=today).requests[0].open,
        paid_on=today + datetime.timedelta(days=2),
        reference=asked.number,
    )


def ask(commission: Commission, maker: Member, *, message: str) -> None:
    """Issue a commission's quote; its client has opened the private page, and asks something."""
    quote = quotes.quote_issue(quote=quotes.quote_draft(commission=commission, message=message))
    link = quote_link.link_make(commission=commission, member=maker)
    quote_link.link_seen(link=link)
    quote_life.quote_seen(quote=quote, link=link)
    quote_life.quote_ask(quote=quote, words=QUESTION, name=commission.client.contact, link=link)


def throw_letters_away(studio: Studio) -> None:
    """Nobody in the demo has a letter box: what was written for them is not sent."""
    Letter.objects.for_studio(studio).delete()
