"""Made-up records around a quote: carriage, links, acts, sign-offs, changes, papers, payments, letters."""

import datetime
import hashlib
import secrets
from decimal import Decimal

import factory
from django.utils import timezone
from factory.django import DjangoModelFactory

from projects import models
from tests.factories import CommissionFactory, QuoteFactory, StudioFactory


class CarriageFactory(DjangoModelFactory):
    """A step of the table of carriage."""

    class Meta:
        model = models.CarriageRate

    studio = factory.SubFactory(StudioFactory)
    up_to_kg = Decimal(5)
    price = Decimal("12.50")


class ClientLinkFactory(DjangoModelFactory):
    """A private link to a commission that opens for a month; its token is not known."""

    class Meta:
        model = models.ClientLink

    studio = factory.SelfAttribute("commission.studio")
    commission = factory.SubFactory(CommissionFactory)
    token_hash = factory.LazyFunction(lambda: secrets.token_hex(32))
    expires_on = factory.LazyFunction(lambda: timezone.localdate() + datetime.timedelta(days=30))


class QuoteOptionFactory(DjangoModelFactory):
    """Another wood on a draft quote."""

    class Meta:
        model = models.QuoteOption

    quote = factory.SubFactory(QuoteFactory)
    position = 1
    title = "in cherry"


class QuoteEventFactory(DjangoModelFactory):
    """A quote seen through the client's link."""

    class Meta:
        model = models.QuoteEvent

    quote = factory.SubFactory(QuoteFactory)
    what = "seen"


class SignOffFactory(DjangoModelFactory):
    """A colour chip that waits for the client."""

    class Meta:
        model = models.SignOff

    studio = factory.SelfAttribute("commission.studio")
    commission = factory.SubFactory(CommissionFactory)
    kind = "chip"
    words = "Oil on walnut, two coats."
    text = "Oil on walnut, two coats."
    sha256 = factory.LazyAttribute(lambda row: hashlib.sha256(row.text.encode()).hexdigest())


class ChangeOrderFactory(DjangoModelFactory):
    """A change that waits for the client."""

    class Meta:
        model = models.ChangeOrder

    quote = factory.SubFactory(QuoteFactory)
    commission = factory.SelfAttribute("quote.commission")
    studio = factory.SelfAttribute("quote.studio")
    number = factory.Sequence(lambda n: n + 1)
    title = "A wider rim"
    base = 100
    tax = 0
    amount = 100
    valid_until = factory.LazyFunction(lambda: timezone.localdate() + datetime.timedelta(days=14))
    text = "A wider rim."
    sha256 = factory.LazyAttribute(lambda row: hashlib.sha256(row.text.encode()).hexdigest())


class PaperSeriesFactory(DjangoModelFactory):
    """Order confirmations of a year."""

    class Meta:
        model = models.PaperSeries

    studio = factory.SubFactory(StudioFactory)
    kind = "confirmation"
    year = 2026
    count = 1


class IssuedPaperFactory(DjangoModelFactory):
    """A request for a deposit of 500."""

    class Meta:
        model = models.IssuedPaper

    studio = factory.SelfAttribute("commission.studio")
    commission = factory.SubFactory(CommissionFactory)
    kind = "deposit"
    number = factory.Sequence(lambda n: f"2026-{n + 1:03}")
    issued_on = factory.LazyFunction(timezone.localdate)
    due_on = factory.LazyFunction(lambda: timezone.localdate() + datetime.timedelta(days=14))
    base = 500
    tax = 0
    amount = 500


class PaymentFactory(DjangoModelFactory):
    """A deposit that came in by bank transfer."""

    class Meta:
        model = models.Payment

    studio = factory.SelfAttribute("commission.studio")
    commission = factory.SubFactory(CommissionFactory)
    amount = 500


class LetterFactory(DjangoModelFactory):
    """Mail that waits to be sent."""

    class Meta:
        model = models.Letter

    studio = factory.SelfAttribute("commission.studio")
    commission = factory.SubFactory(CommissionFactory)
    to = "someone@example.com"
    subject = "Your quote"
    body = "Here it is."
