"""Made-up records for tests. A studio comes with settings, glue, finish and two woods to estimate with."""

import datetime
from decimal import Decimal
from typing import Any
from uuid import uuid4

import factory
from django.contrib.auth.models import User
from django.utils import timezone
from factory.django import DjangoModelFactory

from projects import models


class UserFactory(DjangoModelFactory):
    """A log-in; its password is `plane-and-gouge`."""

    class Meta:
        model = User
        skip_postgeneration_save = True

    username = factory.Sequence(lambda n: f"turner{n}")
    password = factory.django.Password("plane-and-gouge")


def open_bench(studio: models.Studio) -> None:
    """Monday to Friday, 8 to 12 and 13 to 17."""
    hours = [(datetime.time(8), datetime.time(12)), (datetime.time(13), datetime.time(17))]
    models.BenchHours.objects.bulk_create(
        models.BenchHours(studio=studio, weekday=day, opens=opens, closes=closes)
        for day in range(5)
        for opens, closes in hours
    )


class StudioFactory(DjangoModelFactory):
    """A studio with shop settings, prices, a usual adhesive and finish, maple and walnut."""

    class Meta:
        model = models.Studio
        skip_postgeneration_save = True

    name = factory.Sequence(lambda n: f"Studio {n}")

    @factory.post_generation
    def furnished(obj: models.Studio, create: bool, extracted: Any, **kwargs: Any) -> None:  # noqa: N805
        """Put in what a first estimate needs."""
        if not create or extracted is False:
            return
        models.ShopSettings.objects.create(studio=obj)
        models.PricingDefaults.objects.create(studio=obj)
        models.BenchSettings.objects.create(studio=obj)
        models.PaperDefaults.objects.create(studio=obj)
        open_bench(obj)
        AdhesiveFactory(studio=obj, name="Epoxy", usual=True)
        FinishFactory(studio=obj, name="Varnish", usual=True)
        WoodFactory(studio=obj, key="maple", name="hard maple", botanical="Acer saccharum")
        WoodFactory(studio=obj, key="walnut", name="black walnut", botanical="Juglans nigra", density=610)


class MemberFactory(DjangoModelFactory):
    """Someone who works in a studio."""

    class Meta:
        model = models.Member

    user = factory.SubFactory(UserFactory)
    studio = factory.SubFactory(StudioFactory)


class ClientFactory(DjangoModelFactory):
    """A gallery."""

    class Meta:
        model = models.Client

    studio = factory.SubFactory(StudioFactory)
    kind = "gallery"
    name = factory.Sequence(lambda n: f"Gallery {n}")


class WoodFactory(DjangoModelFactory):
    """A wood that costs something."""

    class Meta:
        model = models.Wood

    studio = factory.SubFactory(StudioFactory)
    key = factory.Sequence(lambda n: f"wood_{n}")
    name = factory.LazyAttribute(lambda wood: wood.key.replace("_", " "))
    density = 700
    price_per_m3 = Decimal(4000)


class BoardFactory(DjangoModelFactory):
    """Two boards on the rack."""

    class Meta:
        model = models.Board

    wood = factory.SubFactory(WoodFactory)
    length = 1200
    width = 150
    thickness = 25
    count = 2
    price = Decimal(38)


class AdhesiveFactory(DjangoModelFactory):
    """A two-part epoxy, not the usual one."""

    class Meta:
        model = models.Adhesive

    studio = factory.SubFactory(StudioFactory)
    name = factory.Sequence(lambda n: f"Epoxy {n}")


class FinishFactory(DjangoModelFactory):
    """A finish, not the usual one."""

    class Meta:
        model = models.Finish

    studio = factory.SubFactory(StudioFactory)
    name = factory.Sequence(lambda n: f"Oil {n}")


class RateFactory(DjangoModelFactory):
    """A standing rate."""

    class Meta:
        model = models.StandingRate

    studio = factory.SubFactory(StudioFactory)
    operation = "crosscut segments"
    stage = "cutting"
    setup_minutes = 4
    setup_per = "stop setting"
    minutes_per_unit = Decimal("0.2")
    unit = "segment"


class DesignFactory(DjangoModelFactory):
    """A cylinder 100 mm tall and 120 mm across, 8 mm walls, of ten layers that just fill it."""

    class Meta:
        model = models.Design
        skip_postgeneration_save = True

    studio = factory.SubFactory(StudioFactory)
    title = factory.Sequence(lambda n: f"Pot {n}")

    @factory.post_generation
    def shaped(obj: models.Design, create: bool, extracted: Any, **kwargs: Any) -> None:  # noqa: N805
        """Give it a part with a form, and a band of ten layers that are 100 mm tall with their nine bond lines."""
        if not create or extracted is False:
            return
        PartFactory(design=obj, **kwargs)


class PartFactory(DjangoModelFactory):
    """A body with its form and a band; bare with `shaped=False`."""

    class Meta:
        model = models.Part
        skip_postgeneration_save = True

    design = factory.SubFactory(DesignFactory, shaped=False)
    position = 1
    name = "body"
    allowance_outside = 3
    allowance_inside = 3
    allowance_top = 0
    allowance_bottom = 0

    @factory.post_generation
    def shaped(obj: models.Part, create: bool, extracted: Any, **kwargs: Any) -> None:  # noqa: N805
        """Give it a form and a band that just fills it."""
        if not create or extracted is False:
            return
        FormFactory(part=obj)
        BandFactory(part=obj)


class FormFactory(DjangoModelFactory):
    """A cylinder 100 mm tall, radius 60."""

    class Meta:
        model = models.Form

    part = factory.SubFactory(PartFactory, shaped=False)
    outer = factory.LazyFunction(lambda: [[0, 60], [100, 60]])
    inside = "wall"
    wall = 8
    floor = 10


class BandFactory(DjangoModelFactory):
    """Ten layers of 9.93 mm, which with nine bond lines of 0.08 mm make 100.02."""

    class Meta:
        model = models.Band

    part = factory.SubFactory(PartFactory, shaped=False)
    position = 1
    name = "wall"
    layers = 10
    thickness = Decimal("9.93")
    segments = 12
    woods = factory.LazyFunction(lambda: ["maple", "walnut"])
    offsets = factory.LazyFunction(lambda: [0.5])


class CommissionFactory(DjangoModelFactory):
    """A gallery's enquiry for a design."""

    class Meta:
        model = models.Commission

    studio = factory.SubFactory(StudioFactory)
    client = factory.SubFactory(ClientFactory, studio=factory.SelfAttribute("..studio"))
    title = factory.Sequence(lambda n: f"Commission {n}")
    design = factory.SubFactory(DesignFactory, studio=factory.SelfAttribute("..studio"))


class QuoteFactory(DjangoModelFactory):
    """A draft quote."""

    class Meta:
        model = models.Quote

    studio = factory.SelfAttribute("commission.studio")
    commission = factory.SubFactory(CommissionFactory)


class MoistureReadingFactory(DjangoModelFactory):
    """A dry board."""

    class Meta:
        model = models.MoistureReading

    commission = factory.SubFactory(CommissionFactory)
    member = factory.SubFactory(MemberFactory, studio=factory.SelfAttribute("..commission.studio"))
    what = "board A"
    percent = Decimal("7.8")


class HoursEntryFactory(DjangoModelFactory):
    """Half an hour's work."""

    class Meta:
        model = models.HoursEntry

    commission = factory.SubFactory(CommissionFactory)
    member = factory.SubFactory(MemberFactory, studio=factory.SelfAttribute("..commission.studio"))
    operation = "crosscut segments"
    minutes = 30


class HoursChangeFactory(DjangoModelFactory):
    """An entry that was half an hour."""

    class Meta:
        model = models.HoursChange

    member = factory.SubFactory(MemberFactory)
    entry_number = 1
    worked_on = datetime.date(2026, 3, 2)
    what = "changed"
    before = factory.LazyFunction(lambda: {"minutes": "30"})


class LearningSettingsFactory(DjangoModelFactory):
    """The usual weight of the hours log."""

    class Meta:
        model = models.LearningSettings

    studio = factory.SubFactory(StudioFactory)


class SawSettingFactory(DjangoModelFactory):
    """A setting that closed a ring of twelve."""

    class Meta:
        model = models.SawSetting

    studio = factory.SubFactory(StudioFactory)
    member = factory.SubFactory(MemberFactory, studio=factory.SelfAttribute("..studio"))
    saw = "table saw with the long sled"
    miter_deg = 15
    shown_deg = Decimal("15.04")
    segments = 12


class BenchStepFactory(DjangoModelFactory):
    """Half an hour's coating that waits."""

    class Meta:
        model = models.BenchStep

    commission = factory.SubFactory(CommissionFactory)
    key = factory.Sequence(lambda n: f"p1.g{n}.coat")
    name = "Glue layers 1 to 4"
    kind = "hands_on"
    position = factory.Sequence(lambda n: n)
    shares = factory.LazyFunction(lambda: {"glue stack": [30, 4]})
    minutes = 30


class BenchTapFactory(DjangoModelFactory):
    """A start."""

    class Meta:
        model = models.BenchTap

    step = factory.SubFactory(BenchStepFactory)
    studio = factory.SelfAttribute("step.commission.studio")
    member = factory.SubFactory(MemberFactory, studio=factory.SelfAttribute("..studio"))
    uuid = factory.LazyFunction(uuid4)
    act = "start"
    at = factory.LazyFunction(timezone.now)


class StepNoteFactory(DjangoModelFactory):
    """A few words."""

    class Meta:
        model = models.StepNote

    step = factory.SubFactory(BenchStepFactory)
    member = factory.SubFactory(MemberFactory, studio=factory.SelfAttribute("..step.commission.studio"))
    text = "A thin film all round."


class MishapFactory(DjangoModelFactory):
    """A layer that slid."""

    class Meta:
        model = models.Mishap

    step = factory.SubFactory(BenchStepFactory)
    member = factory.SubFactory(MemberFactory, studio=factory.SelfAttribute("..step.commission.studio"))
    kind = "slipped"
    layers = factory.LazyFunction(lambda: [2])


class AsBuiltFactory(DjangoModelFactory):
    """A stack that came out a little low."""

    class Meta:
        model = models.AsBuilt

    commission = factory.SubFactory(CommissionFactory)
    member = factory.SubFactory(MemberFactory, studio=factory.SelfAttribute("..commission.studio"))
    height = Decimal("39.6")


class DayOffFactory(DjangoModelFactory):
    """The days between the years."""

    class Meta:
        model = models.DayOff

    studio = factory.SubFactory(StudioFactory)
    first = datetime.date(2026, 12, 28)
    last = datetime.date(2026, 12, 31)


class CalendarPlanFactory(DjangoModelFactory):
    """A calendar that nobody has planned yet."""

    class Meta:
        model = models.CalendarPlan

    studio = factory.SubFactory(StudioFactory)


class JobDatesFactory(DjangoModelFactory):
    """A job that is done in a week, or two days later."""

    class Meta:
        model = models.JobDates

    commission = factory.SubFactory(CommissionFactory)
    planned_at = factory.LazyFunction(timezone.now)
    finish = factory.LazyAttribute(lambda dates: dates.planned_at + datetime.timedelta(7))
    likely = factory.LazyAttribute(lambda dates: dates.finish + datetime.timedelta(2))


class FeedAddressFactory(DjangoModelFactory):
    """An address whose token nobody knows."""

    class Meta:
        model = models.FeedAddress

    studio = factory.SubFactory(StudioFactory)
    member = factory.SubFactory(MemberFactory, studio=factory.SelfAttribute("..studio"))
    token_hash = factory.Sequence(lambda n: f"{n:064x}")
