"""What tests of sign-offs and changes share: a job whose quote was accepted, and a design that was changed after."""

import datetime
from decimal import Decimal

from django.utils import timezone

from projects.models import Band, ClientLink, Commission, Quote, Studio
from projects.services.quote_link import link_make
from projects.services.quotes import quote_draft, quote_issue
from tests.factories import ClientFactory, CommissionFactory
from tests.factories_papers import QuoteEventFactory

NAME = "Perpetua Lorn"


def private_job(studio: Studio, **values: object) -> Commission:
    """A commission of someone who wants the piece at home, with a design that can be made."""
    client = ClientFactory(studio=studio, kind="private", name="Perpetua Lorn", email="perpetua@example.com")
    return CommissionFactory(studio=studio, client=client, title="Tall pot", **values)


def accepted(job: Commission) -> Quote:
    """Its quote, issued and accepted; the tests that use it print no paper."""
    quote = quote_issue(quote=quote_draft(commission=job))
    QuoteEventFactory(quote=quote, what="accepted", name=NAME, text="All of it.", sha256="x")
    job.refresh_from_db()
    job.stage = "agreed"
    job.save()
    return quote


def thicker(job: Commission, mm: str = "10.0") -> None:
    """Make its layers thicker, the piece as much taller, and so dearer."""
    band = Band.objects.get(part__design=job.design)
    band.thickness = Decimal(mm)
    band.save()
    height = float(10 * Decimal(mm) + 9 * Decimal("0.08"))
    form = band.part.form
    form.outer = [[0, 60], [round(height, 3), 60]]
    form.save()


def link_of(job: Commission) -> ClientLink:
    """A private address that opens for a month."""
    return link_make(commission=job, expires_on=timezone.localdate() + datetime.timedelta(days=30))
