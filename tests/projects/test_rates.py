"""The hours log as the estimates take it: what teaches, what does not, and what it costs to ask."""

import datetime
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from estimating.work.labour import standing_rates
from estimating.work.learning import JobLog, Method, learn
from projects import calendar, rates
from projects.estimates import estimate_design, workshop_of
from projects.models import Commission, Design, Studio
from tests.factories import (
    BenchStepFactory,
    CommissionFactory,
    DesignFactory,
    HoursEntryFactory,
    LearningSettingsFactory,
    RateFactory,
)

pytestmark = pytest.mark.django_db

CROSSCUT = "crosscut segments"
DAY = datetime.date(2026, 3, 2)


def log(job: Commission, minutes: float, quantity: float | None = 100, **values: Any) -> None:
    values = {"worked_on": DAY, "operation": CROSSCUT, **values}
    HoursEntryFactory(commission=job, minutes=minutes, quantity=quantity, **values)


@pytest.fixture
def job(studio: Studio) -> Commission:
    return CommissionFactory(studio=studio)


def test_a_studio_without_a_log_estimates_by_its_standing_rates(studio: Studio) -> None:
    RateFactory(studio=studio, minutes_per_unit=Decimal("0.5"))
    found = workshop_of(studio)
    assert found.rates[CROSSCUT].minutes_per_unit == 0.5
    assert {**found.rates, CROSSCUT: standing_rates()[CROSSCUT]} == standing_rates()
    assert found.repeat_rate == 1.0


def test_the_entries_of_one_commission_are_one_job(studio: Studio, job: Commission) -> None:
    log(job, 30, 100, setups=2)
    log(job, 12, 50, worked_on=DAY + datetime.timedelta(3))
    log(CommissionFactory(studio=studio), 40, 120, setups=4)
    found = {one.name: one for one in rates.jobs_of(studio)[CROSSCUT]}
    day = float((DAY + datetime.timedelta(3)).toordinal())
    assert found[str(job.pk)] == JobLog(42.0, 3.0, 150.0, day, str(job.pk), 2)
    assert len(found) == 2


def test_estimates_take_the_learned_rate_as_the_method_has_it(studio: Studio, job: Commission) -> None:
    log(job, 60)
    standing = standing_rates()[CROSSCUT]
    by_hand = learn(standing, [JobLog(60, 1, 100, DAY.toordinal())], method=Method(), today=DAY.toordinal())
    found = workshop_of(studio).rates
    assert found[CROSSCUT] == by_hand.rate
    assert found[CROSSCUT].minutes_per_unit > standing.minutes_per_unit
    assert found[CROSSCUT].source == "hours log, 1 job"
    assert {**found, CROSSCUT: standing} == standing_rates()


def test_slow_hours_make_the_next_estimate_longer(studio: Studio) -> None:
    design: Design = DesignFactory(studio=studio)
    before = estimate_design(design)[1].labour
    for _ in range(3):
        log(CommissionFactory(studio=studio), 240)
    after = estimate_design(design)[1].labour
    slow = {one.name: one.median for one in after.operations}
    quick = {one.name: one.median for one in before.operations}
    assert slow.pop(CROSSCUT) > 1.5 * quick.pop(CROSSCUT)
    assert slow == quick


def test_age_counts_from_the_last_day_in_the_log(studio: Studio, job: Commission) -> None:
    """A year before the last entry counts half; the calendar on the wall counts for nothing."""
    log(job, 60, worked_on=DAY - datetime.timedelta(365))
    standing = rates.standing_of(studio)
    alone = rates.learned_of(studio, rates.settings_of(studio), standing)[CROSSCUT]
    assert alone.weight == 1.0
    log(job, 10, 1, operation="rip strips")
    faded = rates.learned_of(studio, rates.settings_of(studio), standing)[CROSSCUT]
    assert faded.weight == pytest.approx(0.5)


@pytest.mark.parametrize(
    "values",
    [
        {"quantity": None},
        {"minutes": 0},
        {"quantity": 0, "setups": 0},
        {"operation": "an operation nobody has a rate for"},
    ],
    ids=["no quantity", "no minutes", "nothing done", "no rate"],
)
def test_what_teaches_nothing_changes_nothing(
    studio: Studio, job: Commission, values: dict[str, Any]
) -> None:
    log(job, **{"minutes": 60, **values})
    assert workshop_of(studio).rates == standing_rates()


def test_a_running_clock_teaches_nothing_yet(studio: Studio, job: Commission) -> None:
    log(job, None, started_at=datetime.datetime(2026, 3, 2, 9, tzinfo=datetime.UTC))  # type: ignore[arg-type]
    assert workshop_of(studio).rates == standing_rates()


def test_another_studio_s_log_teaches_nothing_here(studio: Studio, other_studio: Studio) -> None:
    log(CommissionFactory(studio=other_studio), 600)
    assert workshop_of(studio).rates == standing_rates()
    assert workshop_of(other_studio).rates != standing_rates()


def test_the_log_can_be_left_out_and_trusted_more_or_less(studio: Studio, job: Commission) -> None:
    log(job, 60)
    usual = workshop_of(studio).rates[CROSSCUT].minutes_per_unit
    settings = LearningSettingsFactory(studio=studio, standing_weight=1)
    assert workshop_of(studio).rates[CROSSCUT].minutes_per_unit > usual
    settings.use_log = False
    settings.repeat_rate = Decimal("0.9")
    settings.save()
    assert workshop_of(studio).rates == standing_rates()
    assert workshop_of(studio).repeat_rate == 0.9


def test_a_shop_costs_as_many_queries_with_many_entries_as_with_one(studio: Studio, job: Commission) -> None:
    def asked() -> int:
        with CaptureQueriesContext(connection) as queries:
            workshop_of(studio)
        return len(queries)

    log(job, 60)
    for_one = asked()
    for operation in list(standing_rates())[:8]:
        log(CommissionFactory(studio=studio), 50, operation=operation)
    assert asked() == for_one


def test_a_calendar_is_not_out_of_date_for_what_was_learned(studio: Studio) -> None:
    """Each step that ends teaches; a standing rate that is changed by hand is another matter."""
    job = CommissionFactory(studio=studio, stage="making")
    before = calendar.marks_now(studio)
    log(job, 60)
    assert calendar.marks_now(studio) == before
    RateFactory(studio=studio, minutes_per_unit=Decimal("0.5"))
    assert calendar.marks_now(studio) != before


def test_steps_keep_how_often_they_are_set_up_for_and_their_hours_log_it(studio: Studio) -> None:
    from estimating.steps.step import Share, Step
    from projects.calendar_rows import fill

    shares = (Share(CROSSCUT, 20, 1.5, 48), Share(CROSSCUT, 10, 0.5, 12), Share("rip strips", 9, 2, 3))
    row = fill(BenchStepFactory(commission__studio=studio), Step("cut", "Cut", "hands_on", 39, shares))
    assert row.shares == {CROSSCUT: [30, 60, 2], "rip strips": [9, 3, 2]}


# --- repeat pieces -------------------------------------------------------------------------------------------------


def test_designs_that_were_made_again_give_wright_s_curve(studio: Studio) -> None:
    """80 %: 100 h for the first, 160 h for two, 256 h for four (the printed table in tests/estimating/test_wright)."""
    design = DesignFactory(studio=studio)
    for number, (pieces, hours) in enumerate([(1, 100), (1, 60), (2, 96)]):
        asked = DAY + datetime.timedelta(number)
        job = CommissionFactory(
            studio=studio, design=design, stage="closed", quantity=pieces, asked_on=asked, promised_on=None
        )
        log(job, hours * 60)
        log(job, 500, operation="design and drawings")
    log(CommissionFactory(studio=studio, design=design, stage="making"), 5)
    curve = rates.curve_of(studio)
    assert curve is not None
    assert curve.rate == pytest.approx(0.8, rel=1e-9)
    assert (curve.designs, curve.lots) == (1, 3)


def test_without_a_design_made_again_there_is_no_curve(studio: Studio, job: Commission) -> None:
    log(job, 60)
    assert rates.curve_of(studio) is None
