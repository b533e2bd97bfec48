"""A studio with one of everything: a row of each model, for tests that hold of them all."""

from projects.models import BenchStep, Commission, Studio
from projects.services import rack
from projects.services.sawing import plan_create
from tests.factories import (
    AsBuiltFactory,
    BenchStepFactory,
    BenchTapFactory,
    BoardFactory,
    CalendarPlanFactory,
    CommissionFactory,
    DayOffFactory,
    FeedAddressFactory,
    HoursChangeFactory,
    HoursEntryFactory,
    JobDatesFactory,
    LearningSettingsFactory,
    MishapFactory,
    MoistureReadingFactory,
    QuoteFactory,
    RateFactory,
    SawSettingFactory,
    StepNoteFactory,
)
from tests.factories_papers import (
    CarriageFactory,
    ChangeOrderFactory,
    ClientLinkFactory,
    IssuedPaperFactory,
    LetterFactory,
    PaperSeriesFactory,
    PaymentFactory,
    QuoteEventFactory,
    QuoteOptionFactory,
    SignOffFactory,
)
from tests.factories_records import AdhesiveLotFactory, one_of_everything


def furnish(studio: Studio) -> None:
    """Put a row of each model into a studio that has its settings, woods and people."""
    commission = CommissionFactory(studio=studio)
    rack.reserve(boards={BoardFactory(wood=studio.woods.first()): 1}, commission=commission)
    RateFactory(studio=studio)
    CarriageFactory(studio=studio)
    _quote(commission)
    HoursChangeFactory(member=HoursEntryFactory(commission=commission).member)
    MoistureReadingFactory(commission=commission)
    SawSettingFactory(studio=studio)
    LearningSettingsFactory(studio=studio)
    plan_create(studio=studio, commissions=[commission])
    _use_the_bench(studio, BenchStepFactory(commission=commission))
    one_of_everything(studio)


def _quote(commission: Commission) -> None:
    quote = QuoteFactory(commission=commission)
    QuoteOptionFactory(quote=quote)
    QuoteEventFactory(quote=quote)
    ChangeOrderFactory(quote=quote)
    for factory in (ClientLinkFactory, SignOffFactory, IssuedPaperFactory, PaymentFactory, LetterFactory):
        factory(commission=commission)
    PaperSeriesFactory(studio=commission.studio)


def _use_the_bench(studio: Studio, step: BenchStep) -> None:
    BenchTapFactory(step=step)
    StepNoteFactory(step=step)
    MishapFactory(step=step)
    AdhesiveLotFactory(step=step)
    AsBuiltFactory(commission=step.commission)
    JobDatesFactory(commission=step.commission)
    DayOffFactory(studio=studio)
    CalendarPlanFactory(studio=studio)
    FeedAddressFactory(studio=studio)
