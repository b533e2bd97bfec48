"""Where a job stands: what of its steps is done, what is running, what goes on by itself; in minutes of the clock."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from math import ceil

from estimating.calendar.jobs import CalendarJob
from estimating.errors import InvalidInput, shown
from estimating.steps.step import Step, in_order

MinuteOf = Callable[[datetime], int]
"""A moment as minutes of the calendar's clock; those before it starts are below 0."""

_NEARLY = 1e-6


@dataclass(frozen=True, slots=True)
class Begun:
    """A step that has begun, from and to what minute; it is `over` when the end lies in the past."""

    start: int
    end: int
    over: bool


@dataclass(frozen=True)
class State:
    """A job's steps in an order they can be done in, their whole minutes, and those that have begun, by key."""

    job: CalendarJob
    steps: Mapping[str, Step]
    minutes: Mapping[str, int]
    begun: Mapping[str, Begun]

    def waiting(self) -> list[Step]:
        """What has not begun, in order."""
        return [step for step in self.steps.values() if step.key not in self.begun]

    def left(self) -> list[Step]:
        """What is not over, in order."""
        return [step for key, step in self.steps.items() if not (key in self.begun and self.begun[key].over)]


def state_of(job: CalendarJob, *, place: str, minute_of: MinuteOf, now: int, slower: float = 1.0) -> State:
    """Settle what has happened of a job. `slower` stretches the hands-on minutes of what has not begun.

    What takes no hands begins by itself when all that it waits for is over. A step that should have ended and has not
    been, is reckoned to take a minute more.
    Errors: InvalidInput at `place`.steps as `in_order` has it, and at `place`.happened.
    """
    line = in_order(job.steps, place=f"{place}.steps")
    minutes = whole_minutes(line, slower=slower)
    begun: dict[str, Begun] = {}
    for step in line:
        found = _happened(job, step, minutes[step.key], place=place, minute_of=minute_of, now=now)
        found = found or _by_itself(step, minutes[step.key], begun, now)
        if found:
            begun[step.key] = found
    return State(job, {step.key: step for step in line}, minutes, begun)


def whole_minutes(steps: Sequence[Step], *, slower: float = 1.0) -> dict[str, int]:
    """Every step in whole minutes, one at the least; what rounding takes or gives is carried to the next hands-on step.

    So the hands-on minutes of a job add up to its own, to half a minute.
    """
    found: dict[str, int] = {}
    exact = given = 0.0
    for step in steps:
        if step.is_hands_on:
            exact += step.minutes * slower
            found[step.key] = max(1, round(exact - given))
            given += found[step.key]
        else:
            found[step.key] = ceil(step.minutes - _NEARLY)
    return found


def _happened(
    job: CalendarJob, step: Step, minutes: int, *, place: str, minute_of: MinuteOf, now: int
) -> Begun | None:
    """As it was logged; what is still running ends when it is planned to, or soon."""
    logged = job.happened.get(step.key)
    if logged is None:
        return None
    start = minute_of(logged.start)
    at = f"{place}.happened.{shown(step.key)}"
    if start > now:
        raise InvalidInput(f"{at}.start", "must not lie in the future")
    if logged.end is not None:
        end = minute_of(logged.end)
        if end < start:
            raise InvalidInput(f"{at}.end", "must not lie before the start")
        return Begun(start, end, end <= now)
    if step.is_hands_on or step.attended:
        return Begun(start, max(start + minutes, now + 1), over=False)
    return Begun(start, start + minutes, start + minutes <= now)


def _by_itself(step: Step, minutes: int, begun: Mapping[str, Begun], now: int) -> Begun | None:
    """A wait that nobody has to begin, once everything before it is over."""
    if step.is_hands_on or step.attended or not step.after:
        return None
    before = [begun.get(key) for key in step.after]
    if any(one is None or one.end > now for one in before):
        return None
    start = max(one.end for one in before if one)
    return Begun(start, start + minutes, start + minutes <= now)
