"""A calendar that is asked for between two minutes: nothing is planned before the bench opens, by no second."""

from datetime import UTC, datetime, time, timedelta

import pytest

from estimating.calendar.hours import Bench
from estimating.calendar.jobs import CalendarJob, Happened
from estimating.calendar.plan import plan_calendar
from estimating.steps.step import PERSON, Share, Step

DAY = ((time(8), time(12)), (time(13), time(17)))
BENCH = Bench(datetime(2027, 3, 1, tzinfo=UTC), (*[DAY] * 5, (), ()))


def hands_on(key: str, *after: str) -> Step:
    share = Share("sand", 90.0, 0, 1)
    return Step(key, key, "hands_on", 90.0, shares=(share,), uses=((PERSON, 1),), after=after)


@pytest.mark.parametrize("seconds", [0, 0.25, 37.258, 59.999])
@pytest.mark.parametrize("begun", [False, True])
def test_steps_begin_on_whole_minutes_within_bench_hours(seconds: float, begun: bool) -> None:
    now = datetime(2027, 3, 1, 6, 14, tzinfo=UTC) + timedelta(seconds=seconds)
    steps = (hands_on("saw"), hands_on("glue", "saw"), hands_on("sand", "glue"))
    happened = (
        {"saw": Happened(now - timedelta(hours=13, seconds=7), now - timedelta(hours=11))} if begun else {}
    )
    calendar = plan_calendar([CalendarJob("bowl", steps, happened=happened)], BENCH, now=now, effort=0)
    assert len(calendar.tasks) == 3 - begun
    for task in calendar.tasks:
        assert (task.start.second, task.start.microsecond) == (0, 0)
        assert any(opens <= task.start.time() and task.end.time() <= closes for opens, closes in DAY)
    assert calendar.tasks[0].start.time() == time(8)
