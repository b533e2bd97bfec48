"""The calendar's pages: the answer against the promise, the days, what holds it up, and who may see it."""

import datetime
import re
from datetime import UTC, date
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.core.management import call_command
from django.db import connection
from django.test import Client as Browser
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from estimating.steps.step import Held, Step
from projects.calendar_rows import fill
from projects.models import BenchStep, CalendarPlan, Commission, Studio
from projects.services import calendar as planning
from projects.services import calendar_search as searching
from tests.factories import (
    BenchStepFactory,
    CalendarPlanFactory,
    CommissionFactory,
    DayOffFactory,
    JobDatesFactory,
)

pytestmark = pytest.mark.django_db

MONDAY = datetime.datetime(2027, 3, 1, 7, 30, tzinfo=UTC)


@pytest.fixture(autouse=True)
def _monday(monkeypatch: Any) -> None:
    """It is Monday 1 March 2027, half past seven."""
    monkeypatch.setattr(timezone, "now", lambda: MONDAY)


@pytest.fixture(autouse=True)
def _unchanged(monkeypatch: Any) -> None:
    """Nothing has changed since the plan was made, unless a test says so."""
    monkeypatch.setattr(planning, "calendar_changes", lambda plan: [])


def at(day: int, hour: int, minute: int = 0) -> datetime.datetime:
    """A moment of March 2027."""
    return datetime.datetime(2027, 3, day, hour, minute, tzinfo=UTC)


def step(job: Commission, name: str, start: datetime.datetime, minutes: int, **more: Any) -> BenchStep:
    end = start + datetime.timedelta(minutes=minutes)
    more.setdefault("after", [] if more.get("kind", "hands_on") == "hands_on" else ["before"])
    return BenchStepFactory(
        commission=job, name=name, minutes=minutes, planned_start=start, planned_end=end, **more
    )


@pytest.fixture
def vase(studio: Studio) -> Commission:
    """Being made: glued on Monday, turned on Tuesday, done on the 12th, by the 16th four times in five."""
    days = {"asked_on": date(2027, 2, 1), "promised_on": date(2027, 3, 10)}
    job = CommissionFactory(studio=studio, title="Tall <b>vase</b>", stage="making", **days)
    step(job, "Glue layers 1 to 8", at(1, 8), 25, key="before", glue_up=1, uses={"mandrel": 1})
    step(job, "Set: layers 1 to 8", at(1, 8, 25), 45, kind="set", glue_up=1, uses={"mandrel": 1})
    step(job, "Cure: layers 1 to 8", at(1, 9, 10), 720, kind="cure", glue_up=1)
    step(job, "Turn outside", at(2, 8), 120)
    JobDatesFactory(commission=job, planned_at=MONDAY, finish=at(12, 16), likely=at(16, 11))
    return job


@pytest.fixture
def plan(studio: Studio, vase: Commission) -> CalendarPlan:
    """Planned, and proven the earliest."""
    return CalendarPlanFactory(
        studio=studio, planned_at=MONDAY, finish=at(12, 16), bound=at(12, 16), proven=True, visits=2
    )


def _text(answer: Any) -> str:
    """The page without its pictures, blanks as one."""
    return re.sub(r"\s+", " ", re.sub(r"<svg.*?</svg>", "", answer.content.decode(), flags=re.DOTALL))


def test_the_answer_stands_first_and_the_days_follow(as_alice: Browser, plan: CalendarPlan) -> None:
    DayOffFactory(studio=plan.studio, first=date(2027, 3, 3), last=date(2027, 3, 3), reason="Market")
    answer = as_alice.get("/calendar/")
    page = _text(answer)
    assert (
        "<strong>Tall &lt;b&gt;vase&lt;/b&gt;</strong> is done by <strong>Friday 12 March</strong> at the "
        "earliest, and by <strong>Tuesday 16 March</strong> four times in five."
    ) in page
    assert "late by 2 days at the earliest" in page
    assert "that is proven" in page
    assert "<b>vase" not in page
    assert "8:00–8:25" in page
    assert "Left alone from then on: 1 setting, 1 curing; the last is over on Mon 1 Mar, 21:10." in page
    assert page.index("Monday 1 March") < page.index("Tuesday 2 March") < page.index("8:00–10:00")
    svg = answer.content.decode()
    assert svg.count('class="dw"') == 2
    assert "A: Turn outside" in svg
    assert 'data-row="mandrel"' in svg
    assert "A promised Wed 10 Mar" in svg
    assert "Market" in svg


def test_what_a_glue_up_holds_until_the_press_is_drawn_held_until_then(
    as_alice: Browser, plan: CalendarPlan, vase: Commission
) -> None:
    coat = vase.steps.get(name="Glue layers 1 to 8")
    held = Step("before", "", "hands_on", 25, holds=(Held("mandrel", "press", to_end=False),))
    coat.planning = fill(BenchStep(), held).planning
    coat.save()
    step(vase, "Press: layers 1 to 8", at(1, 13), 60, key="press", kind="press", glue_up=1, uses={"press": 1})
    page = as_alice.get("/calendar/").content.decode()
    widths = {
        row: float(re.findall(rf'<rect [^>]* width="([\d.]+)"[^>]*data-row="{row}"', page)[0])
        for row in ("mandrel", "press")
    }
    # The mandrel from 8:00 to 13:00, the press for one hour.
    assert widths["mandrel"] == pytest.approx(5 * widths["press"], rel=0.01)


def test_times_are_those_of_the_bench_whatever_the_server_has(
    as_alice: Browser, plan: CalendarPlan, studio: Studio
) -> None:
    studio.bench.time_zone = "America/Chicago"
    studio.bench.save()
    page = _text(as_alice.get("/calendar/"))
    assert "2:00–2:25" in page
    assert "planned 1 Mar, 01:30" in page
    assert "times of America/Chicago" in page


def test_one_doing_for_two_jobs_is_one_line(as_alice: Browser, plan: CalendarPlan, studio: Studio) -> None:
    jobs = [CommissionFactory(studio=studio, stage="agreed", title=title) for title in ("Bowl", "Box")]
    for job in jobs:
        step(job, "Prove 15° on the saw", at(3, 8), 20, joint_key="prove 15")
        JobDatesFactory(commission=job, planned_at=MONDAY, finish=at(13, 9), likely=at(14, 9))
    page = _text(as_alice.get("/calendar/"))
    assert "<strong>All 3 jobs</strong>" in page
    assert page.count("Prove 15° on the saw") == 1
    assert "for 2 jobs at once" in page


def test_an_empty_calendar_says_what_to_do_first(as_alice: Browser, studio: Studio) -> None:
    CommissionFactory(studio=studio, stage="quoted")
    assert "Nothing is agreed or being made" in _text(as_alice.get("/calendar/"))
    CommissionFactory(studio=studio, stage="agreed")
    page = _text(as_alice.get("/calendar/"))
    assert "<strong>1 job</strong> is agreed or being made, and nothing is planned yet." in page
    assert ">Plan it</button>" in page


def test_what_holds_the_plan_up_is_said(as_alice: Browser, studio: Studio) -> None:
    CommissionFactory(studio=studio, stage="agreed", title="Undrawn", design=None)
    studio.bench_hours.all().delete()
    CalendarPlanFactory(
        studio=studio, planned_at=MONDAY, trouble="Undrawn has no design yet. Box <i> cannot be worked out."
    )
    page = _text(as_alice.get("/calendar/"))
    assert "What holds it up" in page
    assert page.count("Undrawn has no design yet.") == 1
    assert "Box &lt;i&gt; cannot be worked out." in page
    assert "The bench is never open" in page
    assert "None of the 1 job could be planned." in page


def test_changes_since_are_listed_and_it_is_planned_again(
    as_alice: Browser, plan: CalendarPlan, monkeypatch: Any
) -> None:
    monkeypatch.setattr(planning, "calendar_changes", lambda plan: ["The bench <i> has changed."])
    page = _text(as_alice.get("/calendar/"))
    assert "Since this was planned, something has changed" in page
    assert "The bench &lt;i&gt; has changed." in page
    started: list[tuple[CalendarPlan, bool]] = []
    monkeypatch.setattr(searching, "search_start", lambda plan, *, anew: started.append((plan, anew)))
    assert as_alice.post("/calendar/plan/").url == "/calendar/"
    assert started == [(plan, True)]
    page = _text(as_alice.get("/calendar/"))
    assert "The bench is being planned." in page
    assert "Plan again" not in page
    # Who presses in a second window meanwhile is told, and starts nothing.
    answer = as_alice.post("/calendar/plan/")
    assert answer.status_code == 409
    assert "It is being planned already." in _text(answer)
    assert len(started) == 1


def test_a_planning_that_fell_silent_is_said_to_be_and_taken_over(
    as_alice: Browser, plan: CalendarPlan, monkeypatch: Any
) -> None:
    CalendarPlan.objects.update(runner="gone", beat_at=MONDAY - datetime.timedelta(minutes=3))
    page = _text(as_alice.get("/calendar/"))
    assert "it was interrupted" in page
    assert "Plan again" in page
    monkeypatch.setattr(searching, "search_start", lambda plan, *, anew: None)
    as_alice.post("/calendar/plan/")
    assert CalendarPlan.objects.get().runner not in ("", "gone")


def test_what_is_begun_behind_the_page_gives_up_its_claim_and_says_what_went_wrong(
    as_alice: Browser, studio: Studio, monkeypatch: Any
) -> None:
    CommissionFactory(studio=studio, stage="agreed")
    monkeypatch.setattr(searching, "search_start", lambda plan, *, anew: None)
    as_alice.post("/calendar/plan/")
    claimed = CalendarPlan.objects.get()
    studio.bench_hours.all().delete()
    searching.first_answer(studio=studio, runner="somebody else")
    claimed.refresh_from_db()
    assert claimed.is_running
    assert claimed.trouble == ""
    searching.first_answer(studio=studio, runner=claimed.runner)
    claimed.refresh_from_db()
    assert not claimed.is_running
    page = _text(as_alice.get("/calendar/"))
    assert page.count("The bench is never open") == 1
    assert ">Plan it</button>" in page


def test_a_refusal_leaves_the_plan_as_it_is_and_says_why(
    as_alice: Browser, plan: CalendarPlan, monkeypatch: Any
) -> None:
    def refuse(*, studio: Studio) -> CalendarPlan:
        raise ValidationError("The bench is never open. Set its hours first.")

    monkeypatch.setattr(searching, "calendar_begin", refuse)
    monkeypatch.setattr(searching, "calendar_seek", refuse)
    for address in ("/calendar/plan/", "/calendar/seek/"):
        answer = as_alice.post(address)
        assert answer.status_code == 409
        assert "The bench is never open. Set its hours first." in _text(answer)
        assert "Friday 12 March" in _text(answer)
    assert as_alice.get("/calendar/plan/").status_code == 405


def test_a_search_is_started_and_the_page_asks_for_news(
    as_alice: Browser, plan: CalendarPlan, monkeypatch: Any
) -> None:
    CalendarPlan.objects.update(proven=False)
    assert "Seek a better one" in _text(as_alice.get("/calendar/"))
    started: list[CalendarPlan] = []
    monkeypatch.setattr(searching, "search_start", started.append)
    assert as_alice.post("/calendar/seek/").url == "/calendar/"
    assert started == [plan]
    page = _text(as_alice.get("/calendar/"))
    assert "The bench is being planned." in page
    asked = re.search(r'hx-get="([^"]+)"', page)
    assert asked is not None
    quiet = as_alice.get(asked[1].replace("&amp;", "&"))
    assert "HX-Refresh" not in quiet.headers
    assert "The bench is being planned." in _text(quiet)
    CalendarPlan.objects.update(effort=2)
    assert as_alice.get(asked[1].replace("&amp;", "&")).headers["HX-Refresh"] == "true"


def test_a_job_has_its_own_dates_and_is_promised_by_one_press(
    as_alice: Browser, plan: CalendarPlan, vase: Commission
) -> None:
    page = _text(as_alice.get(f"/jobs/{vase.pk}/calendar/"))
    assert "Done by <strong>Friday 12 March 2027</strong> at the earliest" in page
    # 15 days until the 16th, 2.25 more in hand: Friday 19 March, when the bench is open.
    assert "Promise it for Friday 19 March 2027" in page
    assert "15 % of the time until then in hand (common practice, no source)" in page
    assert "Turn outside" in page
    answer = as_alice.post(f"/jobs/{vase.pk}/calendar/promise/", {"day": "2027-03-19"})
    assert answer.url == f"/jobs/{vase.pk}/calendar/"
    vase.refresh_from_db()
    assert vase.promised_on == date(2027, 3, 19)
    page = _text(as_alice.get(answer.url))
    assert "Promised for Friday 19 March 2027." in page
    assert "That is the day the calendar would promise." in page


def test_a_promise_that_is_out_of_date_is_not_made(
    as_alice: Browser, plan: CalendarPlan, vase: Commission
) -> None:
    for day in ("2027-03-18", "2027-99-99", "<b>", ""):
        answer = as_alice.post(f"/jobs/{vase.pk}/calendar/promise/", {"day": day})
        assert answer.status_code == 409
        assert "planned anew since you opened the page" in _text(answer)
    Commission.objects.update(asked_on=date(2027, 5, 1), promised_on=None)
    answer = as_alice.post(f"/jobs/{vase.pk}/calendar/promise/", {"day": "2027-03-19"})
    assert answer.status_code == 409
    assert "before the day it was asked for" in _text(answer)
    vase.dates.delete()
    answer = as_alice.post(f"/jobs/{vase.pk}/calendar/promise/", {"day": "2027-03-19"})
    assert answer.status_code == 409
    vase.refresh_from_db()
    assert vase.promised_on is None


def test_a_job_that_is_not_planned_says_why_and_what_to_do(as_alice: Browser, studio: Studio) -> None:
    words = {
        "It is quoted, so it is not on the calendar": {"stage": "quoted"},
        "Nothing is drawn yet": {"stage": "agreed", "design": None},
        "It has no dates yet.": {"stage": "agreed"},
    }
    for said, values in words.items():
        job = CommissionFactory(studio=studio, **values)
        assert said in _text(as_alice.get(f"/jobs/{job.pk}/calendar/")), said


def test_an_outsider_sees_nothing_of_it(
    as_charlie: Browser, client: Browser, plan: CalendarPlan, vase: Commission
) -> None:
    assert as_charlie.get(f"/jobs/{vase.pk}/calendar/").status_code == 404
    assert as_charlie.post(f"/jobs/{vase.pk}/calendar/promise/", {"day": "2027-03-19"}).status_code == 404
    page = _text(as_charlie.get("/calendar/"))
    assert "vase" not in page
    assert "Turn outside" not in page
    for address in ("/calendar/", f"/jobs/{vase.pk}/calendar/"):
        assert "/account/" in client.get(address).url
    vase.refresh_from_db()
    assert vase.promised_on == date(2027, 3, 10)


def test_many_jobs_and_steps_are_asked_for_as_often_as_few(
    as_alice: Browser, plan: CalendarPlan, studio: Studio
) -> None:
    def queries() -> int:
        with CaptureQueriesContext(connection) as asked:
            assert as_alice.get("/calendar/").status_code == 200
        return len(asked)

    few = queries()
    for number in range(4):
        job = CommissionFactory(studio=studio, stage="making")
        step(job, f"Sand {number}", at(4 + number, 9), 30)
        JobDatesFactory(commission=job, planned_at=MONDAY, finish=at(20, 9), likely=at(21, 9))
    assert queries() == few


@pytest.mark.django_db(transaction=True)
def test_the_command_plans_what_the_page_has_claimed(studio: Studio) -> None:
    job = CommissionFactory(studio=studio, stage="agreed")
    plan = searching.calendar_begin(studio=studio)
    call_command("plan_calendar", studio.pk, runner=plan.runner, anew=True)
    plan.refresh_from_db()
    assert (plan.runner, plan.effort, plan.trouble) == ("", 0, "")
    assert plan.finish is not None
    assert job.dates.finish == plan.finish
    assert job.steps.filter(planned_start__gte=MONDAY).exists()


def test_what_is_asked_for_a_quote_is_what_comes_of_it_once_it_is_agreed(
    as_alice: Browser, studio: Studio
) -> None:
    job = CommissionFactory(studio=studio, stage="quoted")
    page = _text(as_alice.get(f"/jobs/{job.pk}/calendar/"))
    assert "See when it would be done if it were agreed now" in page
    assert 'hx-trigger="load"' not in page
    assert f'hx-get="/jobs/{job.pk}/calendar/asked/"' in _text(
        as_alice.get(f"/jobs/{job.pk}/calendar/?asked=1")
    )
    answer = _text(as_alice.get(f"/jobs/{job.pk}/calendar/asked/"))
    assert not BenchStep.objects.exists()
    Commission.objects.update(stage="agreed")
    planning.calendar_plan(studio=studio)
    dates = Commission.objects.get().dates
    for day in (dates.finish, dates.likely, planning.promised_day(job, buffer=0.15)):
        assert f"<strong>{day:%A} {day.day} {day:%B %Y}</strong>" in answer


def test_what_cannot_be_planned_for_a_quote_says_why(
    as_alice: Browser, as_charlie: Browser, studio: Studio
) -> None:
    job = CommissionFactory(studio=studio, stage="quoted", title="<i>Box</i>", design=None)
    answer = as_alice.get(f"/jobs/{job.pk}/calendar/asked/")
    assert "&lt;i&gt;Box&lt;/i&gt; has no design yet." in _text(answer)
    assert as_charlie.get(f"/jobs/{job.pk}/calendar/asked/").status_code == 404
    job = CommissionFactory(studio=studio, stage="making", title="Bowl")
    assert "Bowl stands on the calendar already." in _text(as_alice.get(f"/jobs/{job.pk}/calendar/asked/"))
