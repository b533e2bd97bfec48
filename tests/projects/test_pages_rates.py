"""The page of the studio's own rates: what it shows of the log, how it is set, and who may see it."""

import datetime
import re
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test import Client as Browser
from django.test.utils import CaptureQueriesContext

from estimating.work.labour import standing_rates
from estimating.work.learning import JobLog, Method, learn, replayed
from projects.estimates import workshop_of
from projects.models import Commission, LearningSettings, Studio
from tests.factories import (
    CommissionFactory,
    DesignFactory,
    HoursEntryFactory,
    LearningSettingsFactory,
    RateFactory,
)

pytestmark = pytest.mark.django_db

PAGE = "/shop/rates/yours/"
CROSSCUT = "crosscut segments"
DAY = datetime.date(2026, 3, 2)
TYPED = {"use_log": "on", "standing_weight": "4", "half_life_days": "365", "repeat_rate": "100"}


def _text(answer: Any) -> str:
    return answer.content.decode()


def log(studio: Studio, *minutes: float, **values: Any) -> list[Commission]:
    jobs = []
    for number, spent in enumerate(minutes):
        jobs.append(CommissionFactory(studio=studio, title=values.get("title", f"Job {number}")))
        HoursEntryFactory(
            commission=jobs[-1],
            operation=CROSSCUT,
            minutes=spent,
            quantity=values.get("quantity", 100),
            worked_on=DAY + datetime.timedelta(number),
        )
    return jobs


def _cells(page: str, operation: str = CROSSCUT) -> str:
    return page.split(f'<th scope="row">{operation}</th>')[1].split("</tr>")[0]


def test_the_page_shows_what_the_method_makes_of_the_log(as_alice: Browser, studio: Studio) -> None:
    log(studio, 40, 30, 36)
    jobs = [JobLog(m, 1, 100, DAY.toordinal() + n, str(n)) for n, m in enumerate((40, 30, 36))]
    rate = standing_rates()[CROSSCUT]
    learned = learn(rate, jobs, method=Method(), today=DAY.toordinal() + 2)
    record = replayed(rate, jobs, method=Method())
    page = _text(as_alice.get(PAGE))
    assert f"<strong>1 of {len(standing_rates())} operations</strong> are estimated by your own hours" in page
    cells = _cells(page)
    assert f'data-head="your set-up">{learned.rate.setup_minutes:.2f}<' in cells
    assert f"<summary>{learned.rate.minutes_per_unit:.2f}</summary>" in cells
    assert f'data-head="your spread">{learned.rate.spread:.2f}<' in cells
    assert 'data-head="jobs">3<' in cells
    assert f'data-head="held">{record.within} of 3<' in cells
    assert f'data-head="took, × estimate">{record.bias:.2f}<' in cells
    assert f"The standing minutes times {learned.factor:.2f}" in cells
    assert "not told apart: that takes jobs that count as 8 in all" in cells
    assert 'data-head="jobs">0<' in _cells(page, "rip strips")


def test_without_a_log_the_page_says_so(as_alice: Browser) -> None:
    page = _text(as_alice.get(PAGE))
    assert "The hours log says nothing yet" in page
    assert "No design has been made more than once" in page
    assert "100 % for pieces made together, which is no gain" in page


def test_an_outlier_is_shown_with_its_job_and_what_it_counts(as_alice: Browser, studio: Studio) -> None:
    log(studio, 24, 25, 23, 24, 26, 22, 24, 25, 900)
    page = _text(as_alice.get(PAGE))
    outliers = page.split('id="outliers"')[1].split("</section>")[0]
    assert "Job 8" in outliers
    assert "10 Mar 2026" in outliers
    assert 'data-head="minutes">900<' in outliers
    assert "slow" in outliers
    assert "Job 3" not in outliers


def test_entries_that_do_not_say_how_many_are_counted(as_alice: Browser, studio: Studio) -> None:
    log(studio, 30, quantity=None)
    assert "<strong>1 entry does not say how many</strong> and teaches nothing" in _text(as_alice.get(PAGE))
    log(studio, 30, quantity=None)
    assert "<strong>2 entries do not say how many</strong> and teach nothing" in _text(as_alice.get(PAGE))


def test_designs_made_again_show_their_curve(as_alice: Browser, studio: Studio) -> None:
    design = DesignFactory(studio=studio)
    for number, minutes in enumerate((600, 360)):
        asked = DAY + datetime.timedelta(number)
        job = CommissionFactory(studio=studio, design=design, stage="closed", asked_on=asked)
        HoursEntryFactory(commission=job, minutes=minutes, quantity=5)
    assert "<strong>Your log: 80 %.</strong> From 1 design made 2 times" in _text(as_alice.get(PAGE))


def test_how_it_is_learned_is_changed(as_alice: Browser, studio: Studio) -> None:
    answer = as_alice.post(PAGE, {"standing_weight": "8", "half_life_days": "200", "repeat_rate": "90"})
    assert answer.status_code == 302
    kept = LearningSettings.objects.get(studio=studio)
    assert (kept.use_log, kept.standing_weight, kept.half_life_days) == (False, 8, 200)
    assert kept.repeat_rate == Decimal("0.9")
    as_alice.post(PAGE, TYPED)
    kept.refresh_from_db()
    assert (kept.use_log, kept.repeat_rate) == (True, 1)
    assert LearningSettings.objects.count() == 1


def test_wrong_figures_change_nothing_and_stay_typed(as_alice: Browser, studio: Studio) -> None:
    LearningSettingsFactory(studio=studio, half_life_days=300)
    wrong = {**TYPED, "standing_weight": "0.1", "half_life_days": "<i>", "repeat_rate": "120"}
    answer = as_alice.post(PAGE, wrong)
    assert answer.status_code == 400
    page = _text(answer)
    assert 'value="0.1"' in page
    assert 'value="&lt;i&gt;"' in page
    assert "<i>" not in page
    assert 'value="120"' in page
    kept = LearningSettings.objects.get(studio=studio)
    assert (kept.half_life_days, kept.standing_weight) == (300, 4)


def test_an_outsider_sees_and_changes_their_own_alone(
    as_charlie: Browser, studio: Studio, other_studio: Studio
) -> None:
    log(studio, 240, 200)
    assert "The hours log says nothing yet" in _text(as_charlie.get(PAGE))
    as_charlie.post(PAGE, {**TYPED, "half_life_days": "30"})
    assert LearningSettings.objects.get().studio == other_studio


def test_who_is_not_logged_in_is_sent_to_log_in(client: Browser, alice: Any) -> None:
    assert client.get(PAGE).url.startswith("/account/log-in/")


def test_names_are_shown_escaped(as_alice: Browser, studio: Studio) -> None:
    RateFactory(studio=studio, operation="<b>saw</b>", unit="<u>cut</u>")
    log(studio, 24, 25, 23, 24, 26, 22, 24, 25, 900, title="<script>bowl</script>")
    page = _text(as_alice.get(PAGE))
    assert "&lt;b&gt;saw&lt;/b&gt;" in page
    assert "&lt;script&gt;bowl&lt;/script&gt;" in page
    assert not any(raw in page for raw in ("<b>saw", "<u>cut", "<script>bowl"))


def test_the_page_asks_the_database_no_more_for_many_jobs(as_alice: Browser, studio: Studio) -> None:
    def asked() -> int:
        with CaptureQueriesContext(connection) as queries:
            as_alice.get(PAGE)
        return len(queries)

    log(studio, 24, 25, 23, 24, 26, 22, 24, 25, 900)
    for_nine = asked()
    log(studio, 24, 25, 23, 24, 26, 22, 24)
    assert asked() == for_nine


def test_the_estimate_says_which_rates_are_the_studio_s_own(as_alice: Browser, studio: Studio) -> None:
    (job,) = log(studio, 40)
    page = _text(as_alice.get(f"/jobs/{job.pk}/estimate/"))
    assert re.search(r"1 of \d\d operations goes by your own hours log, the rest by standing rates", page)
    assert "From your hours log, 1 job." in page
    assert "A standing rate." in page
    assert workshop_of(studio).rates[CROSSCUT].source == "hours log, 1 job"


def test_a_set_of_pieces_says_by_what_it_gains(as_alice: Browser, studio: Studio) -> None:
    LearningSettingsFactory(studio=studio, repeat_rate=Decimal("0.85"))
    design = DesignFactory(studio=studio, quantity=4)
    page = _text(as_alice.get(f"/designs/{design.pk}/estimate/"))
    operations = {row.split("</th>")[0]: row for row in page.split('<th scope="row">')}
    gained = "Minutes a unit are those of 4 like pieces, at 85 % a doubling."
    assert gained in operations["turn outside"]
    assert gained not in operations["design and drawings"]


def test_set_ups_that_were_typed_teach(as_alice: Browser, studio: Studio) -> None:
    """Twelve set-ups of 4 minutes and 100 segments of 0.2 are the standing 68 minutes: nothing is learned but that."""
    RateFactory(studio=studio)
    job = CommissionFactory(studio=studio)
    typed = {
        "operation": CROSSCUT,
        "worked_on": "2026-03-02",
        "minutes": "68",
        "quantity": "100",
        "setups": "12",
    }
    as_alice.post("/hours/new/", {"commission": job.pk, **typed})
    rate = workshop_of(studio).rates[CROSSCUT]
    assert rate.source == "hours log, 1 job"
    assert rate.setup_minutes == pytest.approx(4)
    assert rate.minutes_per_unit == pytest.approx(0.2)
