"""Made-up records of finished pieces, with what belongs to them."""

import datetime
from decimal import Decimal

import factory
from django.core.files.base import ContentFile
from factory.django import DjangoModelFactory

from projects import models
from tests.factories import (
    BenchStepFactory,
    CommissionFactory,
    DesignFactory,
    MemberFactory,
    StudioFactory,
)


class RecordFactory(DjangoModelFactory):
    """A walnut bowl of no commission."""

    class Meta:
        model = models.PieceRecord

    studio = factory.SubFactory(StudioFactory)
    serial = factory.Sequence(lambda n: f"T-{n:04}")
    title = factory.Sequence(lambda n: f"Bowl {n}")
    year = 2024
    form = "bowl"
    height = Decimal(90)
    diameter = Decimal(210)
    size = Decimal(210)
    price = Decimal(480)
    currency = "USD"


class RecordWoodFactory(DjangoModelFactory):
    """Most of it walnut."""

    class Meta:
        model = models.RecordWood

    record = factory.SubFactory(RecordFactory)
    key = "walnut"
    name = "black walnut"
    botanical = "Juglans nigra"
    colour = "#5b3f2b"
    share = Decimal("0.7")


class RecordDrawingFactory(DjangoModelFactory):
    """A drawing of one line."""

    class Meta:
        model = models.RecordDrawing

    record = factory.SubFactory(RecordFactory)
    svg = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 10 10"><path d="M0 0h10"/></svg>'


class RecordCoatFactory(DjangoModelFactory):
    """A first coat."""

    class Meta:
        model = models.RecordCoat

    record = factory.SubFactory(RecordFactory)
    name = "varnish"
    put_on = datetime.date(2024, 5, 2)


class TakenLineFactory(DjangoModelFactory):
    """An hour and a half where one was estimated."""

    class Meta:
        model = models.TakenLine

    record = factory.SubFactory(RecordFactory)
    kind = "operation"
    key = "turn outside"
    name = "turn outside"
    estimated = Decimal(60)
    taken = Decimal(90)


class PlaceFactory(DjangoModelFactory):
    """In the studio."""

    class Meta:
        model = models.Place

    record = factory.SubFactory(RecordFactory)
    kind = "studio"
    since = datetime.date(2024, 5, 9)


class PlacePaymentFactory(DjangoModelFactory):
    """A first payment for a piece that a gallery sold."""

    class Meta:
        model = models.PlacePayment

    place = factory.SubFactory(PlaceFactory, kind="sold")
    amount = Decimal(120)
    currency = "USD"
    paid_on = datetime.date(2024, 6, 3)


class RecordChangeFactory(DjangoModelFactory):
    """A title that was another."""

    class Meta:
        model = models.RecordChange

    record = factory.SubFactory(RecordFactory)
    what = "title"
    before = factory.LazyFunction(lambda: {"title": "Bowl"})


class RecordPhotoFactory(DjangoModelFactory):
    """A photo whose files hold a few bytes that nobody looks at."""

    class Meta:
        model = models.RecordPhoto

    record = factory.SubFactory(RecordFactory)
    original = factory.LazyFunction(lambda: ContentFile(b"as it came", name="x"))
    original_name = "IMG_1.jpg"
    shown = factory.LazyFunction(lambda: ContentFile(b"shown", name="x"))
    small = factory.LazyFunction(lambda: ContentFile(b"small", name="x"))
    width, height, small_width, small_height = 400, 300, 400, 300


class RecordWordsFactory(DjangoModelFactory):
    """The words of a bowl."""

    class Meta:
        model = models.RecordWords

    record = factory.SubFactory(RecordFactory)
    words = "walnut bowl"


class MadeFromFactory(DjangoModelFactory):
    """A design made from a bowl."""

    class Meta:
        model = models.MadeFrom

    record = factory.SubFactory(RecordFactory)
    design = factory.SubFactory(DesignFactory, studio=factory.SelfAttribute("..record.studio"))


class AdhesiveLotFactory(DjangoModelFactory):
    """A bottle of resin, without a last day."""

    class Meta:
        model = models.AdhesiveLot

    step = factory.SubFactory(BenchStepFactory)
    member = factory.SubFactory(MemberFactory, studio=factory.SelfAttribute("..step.commission.studio"))
    name = "epoxy"
    part = "a"
    lot = factory.Sequence(lambda n: f"R-{n:04}")


class SavedSearchFactory(DjangoModelFactory):
    """Walnut bowls."""

    class Meta:
        model = models.SavedSearch

    studio = factory.SubFactory(StudioFactory)
    name = factory.Sequence(lambda n: f"Walnut {n}")
    query = "words=walnut"


class SerialSchemeFactory(DjangoModelFactory):
    """The usual scheme."""

    class Meta:
        model = models.SerialScheme

    studio = factory.SubFactory(StudioFactory)


def one_of_everything(studio: models.Studio) -> models.PieceRecord:
    """A record of a commission with one row of each kind that belongs to the log."""
    record: models.PieceRecord = RecordFactory(studio=studio, commission=CommissionFactory(studio=studio))
    belongs = (RecordWoodFactory, RecordCoatFactory, RecordDrawingFactory, TakenLineFactory, PlaceFactory)
    for rows in belongs:
        rows(record=record)
    PlacePaymentFactory(place__record=record)
    for rows in (RecordChangeFactory, RecordWordsFactory):
        rows(record=record)
    RecordPhotoFactory(record=record, original="", shown="", small="")
    MadeFromFactory(record=record)
    SavedSearchFactory(studio=studio)
    SerialSchemeFactory(studio=studio)
    return record
