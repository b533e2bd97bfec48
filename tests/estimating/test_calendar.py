"""The calendar: every rule kept whatever is made, dates on paper, replanning around what has happened, 80 % dates."""

import math
from dataclasses import replace
from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from scipy import stats

from estimating.calendar.jobs import Calendar, CalendarJob, Happened
from estimating.calendar.likely import FOUR_IN_FIVE, slowness
from estimating.calendar.plan import plan_calendar
from estimating.calendar.state import state_of, whole_minutes
from estimating.errors import InvalidInput
from estimating.steps.step import PERSON, Held, Share, Step
from tests.estimating.calendars import MONDAY, bench, bowl_steps, by_key, check, job, minutes, on, past
from tests.estimating.kinds import kinds
from tests.estimating.sheets import Json, bowl

few = settings(max_examples=6, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))


def planned(*jobs: CalendarJob, effort: float = 0.0, **changes: object) -> Calendar:
    """Laid out by rule, which is as good as any for the rules it has to keep."""
    at = bench(**changes)
    found = plan_calendar(jobs, at, effort=effort)
    check(found, jobs, at)
    return found


# --- whatever is made ---------------------------------------------------------------------------------------------


@few
@given(kinds(), st.sampled_from([1, 2]), st.sampled_from([1, 3]))
def test_a_calendar_of_any_piece_keeps_every_rule(sheet: Json, people: int, presses: int) -> None:
    planned(job(sheet=sheet), people=people, presses=presses, mandrels=presses)


def test_several_jobs_share_people_clamps_and_the_press() -> None:
    jobs = [job("one"), job("two"), job("three", bowl(quantity=2))]
    found = planned(*jobs)
    assert {times.name for times in found.jobs} == {"one", "two", "three"}
    assert found.finish > planned(job("one")).finish


def test_more_people_and_clamps_are_never_later() -> None:
    jobs = [job("one"), job("two"), job("three")]
    one = planned(*jobs, effort=1.0)
    more = planned(*jobs, effort=1.0, people=3, jigs=3, presses=3, ring_clamps=12)
    assert more.finish <= one.finish


def test_the_same_jobs_have_the_same_calendar() -> None:
    assert planned(job()) == planned(job())


# --- on paper -----------------------------------------------------------------------------------------------------


def work(key: str, minutes: float, *after: str, kind: str = "hands_on", **what: object) -> Step:
    """A step by itself, its minutes those of one operation."""
    uses = ((PERSON, 1),) if kind == "hands_on" else ()
    shares = (Share("turn outside", minutes, 0.0, 1.0),) if kind == "hands_on" else ()
    return Step(key, key, kind, minutes, shares, after=after, **{"uses": uses, **what})  # type: ignore[arg-type]


def test_dates_of_three_steps_are_those_worked_out_by_hand() -> None:
    """Glued on Friday until 9:00, cured 12 h by 21:00 of that day, so turned on Monday from 8:00 to 10:00."""
    made = CalendarJob(
        "x", (work("glue", 30), work("cure", 720, "glue", kind="cure"), work("turn", 120, "cure"))
    )
    friday = on(5, 8, 30)
    found = planned(made, start=friday, effort=1.0)
    tasks = by_key(found, "x")
    assert (tasks["glue"].start, tasks["glue"].end) == (friday, on(5, 9))
    assert tasks["cure"].end == on(5, 21)
    assert (tasks["turn"].start, tasks["turn"].end) == (on(8, 8), on(8, 10))
    assert (found.finish, found.bound, found.proven) == (on(8, 10), on(8, 10), True)
    assert found.visits == 2


def test_nobody_works_on_days_off_and_cures_do() -> None:
    off = frozenset({on(2, 0).date(), on(3, 0).date()})
    tasks = by_key(planned(job(), days_off=off))
    assert all(task.start.date() not in off for task in tasks.values() if task.step.is_hands_on)
    assert any(task.start < on(3, 0) < task.end for task in tasks.values() if not task.step.is_hands_on)


def test_a_bowl_is_proven_the_earliest() -> None:
    found = planned(job(), effort=1.0)
    assert found.proven
    assert found.bound == found.finish


def test_hands_on_minutes_of_the_calendar_are_those_of_the_job() -> None:
    found = whole_minutes(bowl_steps())
    hands_on = [step for step in bowl_steps() if step.is_hands_on]
    assert sum(found[step.key] for step in hands_on) == pytest.approx(
        sum(s.minutes for s in hands_on), abs=0.51
    )


def test_a_cure_through_the_change_of_the_clock_takes_its_hours() -> None:
    """In Berlin the night of 28 March 2027 has an hour less: 12 hours from 20:00 end at 9:00."""
    berlin = ZoneInfo("Europe/Berlin")
    made = CalendarJob(
        "x", (work("glue", 60), work("cure", 720, "glue", kind="cure"), work("turn", 30, "cure"))
    )
    at = bench(start=datetime(2027, 3, 27, 19, tzinfo=berlin), hours=(((time(0), time(23)),),) * 7)
    tasks = by_key(plan_calendar([made], at, effort=0.0), "x")
    assert tasks["cure"].end.isoformat() == "2027-03-28T09:00:00+02:00"
    assert minutes(tasks["cure"].start, tasks["cure"].end) == 720
    assert tasks["turn"].start >= tasks["cure"].end


# --- due dates ----------------------------------------------------------------------------------------------------


def test_what_is_due_first_is_done_first() -> None:
    early, late = past(24 * 28 + 2.5), past(24 * 60)  # a bowl by itself is done 14 minutes before that
    found = planned(job("one", due=late), job("two", due=early), job("three", due=late))
    assert found.job("two").finish == min(times.finish for times in found.jobs)
    assert not any(times.late for times in found.jobs)


def test_a_job_that_cannot_be_done_in_time_says_how_late_it_is() -> None:
    due = past(24)
    (times,) = planned(job(due=due)).jobs
    assert times.late == minutes(due, times.finish) > 0


# --- what has happened --------------------------------------------------------------------------------------------


def replanned(now: datetime, **happened: Happened) -> Calendar:
    one = job(happened={key.replace("__", "."): what for key, what in happened.items()})
    found = plan_calendar([one], bench(), now=now, effort=0.0)
    check(found, [one], bench(start=now))
    return found


def test_what_is_done_is_off_the_calendar_and_the_rest_goes_on_from_now() -> None:
    now = past(24)
    done = {"choose": Happened(past(0), past(1)), "mill": Happened(past(1), past(3))}
    tasks = by_key(replanned(now, **done))
    assert not {"choose", "mill"} & set(tasks)
    assert (tasks["rest"].start, tasks["rest"].end) == (past(3), past(3) + timedelta(days=7))  # by itself
    assert tasks["rest"].running
    assert tasks["rip"].start >= tasks["rest"].end


def test_what_is_running_stays_and_is_not_over_before_now() -> None:
    done = {"choose": Happened(past(0), past(1)), "mill": Happened(past(1))}
    tasks = by_key(replanned(past(3), **done))
    assert (tasks["mill"].running, tasks["mill"].start) == (True, past(1))
    assert tasks["mill"].end == past(3) + timedelta(minutes=1)  # 75 minutes are over long since
    assert tasks["rest"].start == tasks["mill"].end


def stacked() -> tuple[Step, ...]:
    """A stack on a jig, which it leaves when somebody moves it to the press."""
    jig, press = (("jig", 1),), (("press", 1),)
    return (
        work("stack", 30, uses=((PERSON, 1), *jig), holds=(Held("jig", "press", to_end=False),), in_one=True),
        work("set", 45, "stack", kind="set", uses=jig, at_once_after="stack"),
        work("press", 120, "set", kind="press", uses=press, attended=True),
    )


def test_a_stack_keeps_its_jig_until_somebody_moves_it_to_the_press() -> None:
    """The only press is taken until noon by a third job; so is the jig, by a stack that has set over night."""
    now = past(24)
    pressing = work("press", 240, kind="press", uses=(("press", 1),), attended=True)
    jobs = [
        CalendarJob("pressing", (pressing,), happened={"press": Happened(now)}),
        CalendarJob("one", stacked(), happened={"stack": Happened(past(8), past(8.5))}),
        CalendarJob("two", stacked()),
    ]
    found = plan_calendar(jobs, bench(), now=now, effort=0.0)
    check(found, jobs, bench(start=now))
    assert by_key(found, "one")["press"].start == now + timedelta(hours=4)
    assert by_key(found, "two")["stack"].start >= now + timedelta(hours=4)
    with_two = plan_calendar(jobs, bench(jigs=2), now=now, effort=0.0)
    assert by_key(with_two, "two")["stack"].start == now


def test_a_job_that_is_over_has_the_hours_in_which_it_was_made() -> None:
    made = CalendarJob("x", (work("turn", 30),), happened={"turn": Happened(past(1), past(2))})
    found = plan_calendar([made], bench(), now=past(5), effort=0.0)
    assert not found.tasks
    assert (found.jobs[0].start, found.jobs[0].finish, found.jobs[0].likely) == (past(1), past(2), past(2))


# --- four times in five -------------------------------------------------------------------------------------------


def test_the_quantile_is_that_of_the_normal_table() -> None:
    assert pytest.approx(stats.norm.ppf(0.8), abs=1e-12) == FOUR_IN_FIVE
    assert round(FOUR_IN_FIVE, 4) == 0.8416


def state(*of: Step, **spreads: float) -> object:
    made = CalendarJob("x", of, spreads={name.replace("_", " "): spread for name, spread in spreads.items()})
    return state_of(made, place="x", minute_of=lambda at: 0, now=0)


@pytest.mark.parametrize("spread", [0.2, 0.4, 0.8])
def test_one_operation_takes_its_own_percentile(spread: float) -> None:
    found = slowness(state(work("a", 50), turn_outside=spread))  # type: ignore[arg-type]
    scipys = stats.lognorm(s=spread, scale=50 / math.exp(spread**2 / 2))
    assert 50 * found == pytest.approx(max(50.0, scipys.ppf(0.8)), rel=1e-9)


def test_the_likely_end_is_later_the_less_is_known_and_the_same_where_all_is() -> None:
    long = CalendarJob("x", tuple(work(f"s{n}", 100, *([f"s{n - 1}"] if n else [])) for n in range(12)))
    ends = []
    for spread in (1e-9, 0.3, 0.6):
        (times,) = planned(replace(long, spreads={"turn outside": spread})).jobs
        ends.append(times.likely)
        if spread < 1e-6:
            assert times.likely == times.finish
    assert ends == sorted(ends)
    assert ends[0] < ends[-1]


def test_what_is_over_has_no_spread_any_more() -> None:
    half = {"a": Happened(past(0), past(1))}
    made = CalendarJob("x", (work("a", 60), work("b", 60, "a")), happened=half)
    left = state_of(made, place="x", minute_of=lambda at: int(minutes(MONDAY, at)), now=600)
    assert slowness(left) == pytest.approx(slowness(state(work("b", 60))))  # type: ignore[arg-type]


def test_a_glue_up_that_would_outgrow_the_hours_takes_all_of_them() -> None:
    """200 minutes on end in stretches of 240: likely 240 rather than no plan at all."""
    made = CalendarJob("x", (work("p1.stack.l1", 230, in_one=True),), spreads={"turn outside": 0.6})
    (times,) = planned(made).jobs
    assert (times.finish, times.likely) == (past(230 / 60), past(4))


# --- refusals -----------------------------------------------------------------------------------------------------


def refused(*jobs: CalendarJob, now: datetime | None = None, **changes: object) -> InvalidInput:
    with pytest.raises(InvalidInput) as refusal:
        plan_calendar(jobs, bench(**changes), now=now, effort=0.0)
    return refusal.value


def test_a_glue_up_that_fits_no_stretch_of_hours_is_named_with_what_helps() -> None:
    short = (((time(8), time(8, 30)),),) * 7
    found = refused(job(), hours=short)
    assert found.place == "bench.hours"
    assert "glue-up 1 (Glue the halves of rings 1 to 4) takes 34 min" in found.reason
    assert "30 min" in found.reason
    assert "shop.ring_clamps" in found.reason


def test_a_bench_without_a_jig_cannot_make_a_stack() -> None:
    assert refused(job(), jigs=0).place == "bench.jigs"


def test_a_bench_that_is_closed_for_a_year_is_refused_and_one_for_a_summer_is_not() -> None:
    summer = frozenset(MONDAY.date() + timedelta(days=n) for n in range(60))
    assert planned(job(), days_off=summer).jobs[0].start >= MONDAY + timedelta(days=60)
    ever = frozenset(MONDAY.date() + timedelta(days=n) for n in range(500))
    assert refused(job(), days_off=ever).place == "bench.hours"


@pytest.mark.parametrize(
    ("made", "place"),
    [
        ([], "jobs"),
        ([CalendarJob("x", ()), CalendarJob("x", ())], "jobs"),
        ([CalendarJob("x", (work("a", 1, "b"),))], "jobs[0].steps"),
        ([CalendarJob("x", (work("a", 1), work("a", 1)))], "jobs[0].steps"),
        ([CalendarJob("x", (work("a", 1, "b"), work("b", 1, "a")))], "jobs[0].steps"),
        ([CalendarJob("x", (work("a", 1),), happened={"a": Happened(past(9))})], "jobs[0].happened.a.start"),
        ([CalendarJob("x", (work("a", 1),), happened={"a": Happened(past(-2), past(-3))})], "jobs[0].happened.a.end"),
        ([CalendarJob("x", tuple(work(str(n), 1) for n in range(2001)))], "jobs"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_by_its_place(made: list[CalendarJob], place: str) -> None:
    assert refused(*made).place == place


def test_long_work_is_parted_where_the_hours_are_shorter_than_its_session() -> None:
    short = (((time(8), time(9)),),) * 7
    found = planned_only(CalendarJob("x", (work("turn", 150),)), hours=short)
    (task,) = found.tasks
    assert (task.start, task.end) == (MONDAY, MONDAY + timedelta(days=2, minutes=50))


def planned_only(made: CalendarJob, **changes: object) -> Calendar:
    return plan_calendar([made], bench(**changes), effort=0.0)
