"""Jobs on the bench's calendar: what is when, when each is done at the earliest, and when four times in five."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from math import ceil

from estimating.calendar.hours import Bench, minute_of, moment, windows
from estimating.calendar.jobs import Calendar, CalendarJob, CalendarTask, JobTimes
from estimating.calendar.likely import slower_times, slowness
from estimating.calendar.problem import Drawn, Name, Shop, Span, draw
from estimating.calendar.sharing import Sharing, share_set_ups, unshared
from estimating.calendar.state import State, state_of
from estimating.errors import InvalidInput
from estimating.scheduling.blocks import prepare
from estimating.scheduling.serial import value
from estimating.scheduling.solve import Solution, serial, solve
from estimating.steps.of_job import steps_of
from estimating.steps.step import JIG, MANDREL, PERSON, PRESS, RING_CLAMP
from estimating.work.labour import Labour
from estimating.work.operations import Job

MOST_STEPS = 2_000
"""Steps left of all jobs: a calendar of so many is laid out in a minute or so."""

_DAY = 24 * 60
_LOOK_AHEAD = 28
"""Days in which the hours of a week are seen, some of them off."""

_CLOSED_FOR = 400
"""Days after which a bench that has not opened never does."""

_NEVER = 2**62


def plan_calendar(
    jobs: Sequence[CalendarJob], bench: Bench, *, now: datetime | None = None, effort: float = 1.0
) -> Calendar:
    """Everything that is not over put in its time: nothing late, then the earliest finish, then the fewest visits.

    `now` is the start of the bench where nothing is said. What has been done stays, what is running goes on, and all
    else is planned after it. Jobs that need one setting of a machine, or one mix, share it where nobody is later for
    it. `effort` is how long to seek. The likely end of a job is that of the same plan when all hands-on work left takes
    what it takes at the 80th percentile of its log-normal, everything slow together.
    Errors: InvalidInput at `jobs`, `jobs[i]...`, or at `bench...` for what it cannot do.
    """
    if not jobs or len({job.name for job in jobs}) < len(jobs):
        raise InvalidInput("jobs", "must be one or more, each with a name of its own")
    asked = _Asked(jobs, _clock(jobs, bench, now))
    states = asked.states()
    if sum(len(state.left()) for state in states) > MOST_STEPS:
        reason = f"have more than {MOST_STEPS:,} steps left; plan fewer pieces or fewer jobs at a time"
        raise InvalidInput("jobs", reason)
    shop = Shop(_windows(asked.clock, states), _capacities(bench), asked.clock.now)
    sharing, drawn = _best_sharing(asked, states, shop)
    solution = solve(drawn.problem, effort=effort)
    times = drawn.times(solution.starts)
    slower = asked.states(sharing, slower=True)
    likely = slower_times(slower, shop, due=asked.due, chains=sharing.chains, planned=times)
    return _Answer(asked, sharing, states, times, likely).calendar(solution)


@dataclass(frozen=True)
class _Clock:
    """Minutes from the first thing that has happened; `now` is one of them."""

    bench: Bench
    now: int

    def minute(self, at: datetime) -> int:
        return minute_of(self.bench, at)

    def moment(self, minute: int) -> datetime:
        return moment(self.bench, minute)


def _clock(jobs: Sequence[CalendarJob], bench: Bench, now: datetime | None) -> _Clock:
    now = bench.start if now is None else now
    earliest = min([now, *(one.start for job in jobs for one in job.happened.values())])
    # Whole minutes of the clock on the wall, or all that is planned would begin so many seconds before the bench opens.
    own = replace(bench, start=earliest.replace(second=0, microsecond=0))
    return _Clock(own, minute_of(own, now))


@dataclass(frozen=True)
class _Asked:
    jobs: Sequence[CalendarJob]
    clock: _Clock

    def states(self, sharing: Sharing | None = None, *, slower: bool = False) -> list[State]:
        """Where every job stands, with the minutes it has when it shares; as slow as it likely is if `slower`."""
        found = []
        for number, job in enumerate(sharing.jobs if sharing else self.jobs):
            place, clock = f"jobs[{number}]", self.clock
            state = state_of(job, place=place, minute_of=clock.minute, now=clock.now)
            if slower:
                slow = slowness(state)
                state = state_of(job, place=place, minute_of=clock.minute, now=clock.now, slower=slow)
            found.append(state)
        return found

    @property
    def due(self) -> dict[int, int]:
        """The minute each job should end by."""
        return {n: self.clock.minute(job.due) for n, job in enumerate(self.jobs) if job.due is not None}


def _capacities(bench: Bench) -> dict[str, int]:
    return {
        PERSON: bench.people,
        MANDREL: bench.mandrels,
        JIG: bench.jigs,
        PRESS: bench.presses,
        RING_CLAMP: bench.ring_clamps,
    }


def _windows(clock: _Clock, states: Sequence[State]) -> list[Span]:
    """The stretches of bench hours from now on, for longer than the work could take one job after the other."""
    near = next((days for days in (_LOOK_AHEAD, _CLOSED_FOR) if _open(clock, days)), 0)
    open_minutes = sum(last - max(first, clock.now) for first, last in _open(clock, near))
    if not open_minutes:
        raise InvalidInput("bench.hours", f"leave no time for work in the next {_CLOSED_FOR} days")
    hands_on = sum(state.minutes[step.key] for state in states for step in state.left() if step.is_hands_on)
    waited = sum(_longest_wait(state) for state in states)
    return _open(clock, near * (2 + ceil(3 * hands_on / open_minutes)) + ceil(2 * waited / _DAY))


def _open(clock: _Clock, days: int) -> list[Span]:
    """The stretches of bench hours of so many days from now on."""
    past = ceil(clock.now / _DAY) + 1
    return [(first, last) for first, last in windows(clock.bench, past + days) if last > clock.now]


def _longest_wait(state: State) -> int:
    """The most minutes of waiting one after the other in a job."""
    waited: dict[str, int] = {}
    for step in state.steps.values():
        own = 0 if step.is_hands_on else state.minutes[step.key]
        waited[step.key] = own + max((waited[key] for key in step.after), default=0)
    return max(waited.values(), default=0)


def _best_sharing(asked: _Asked, states: Sequence[State], shop: Shop) -> tuple[Sharing, Drawn]:
    """Jobs share what they can, unless somebody would be later for it."""
    alone = unshared(asked.jobs)
    choices = [alone]
    if len(states) > 1:
        clamps = shop.capacities[RING_CLAMP]
        found = [share_set_ups(states, clamps=clamps, mixes=mixes) for mixes in (True, False)]
        choices = [*(one for one in found if one.joint), alone]
    drawn = [draw(asked.states(one), shop, due=asked.due, chains=one.chains) for one in choices]
    worth = [_worth(one) for one in drawn] if len(drawn) > 1 else [(0, 0)]
    best = worth.index(min(worth))
    return choices[best], drawn[best]


def _worth(drawn: Drawn) -> tuple[int, int]:
    """Minutes late and finish as laid out by rule: less is better."""
    try:
        starts = serial(drawn.problem)
    except InvalidInput:  # a chain that fits into no window
        return _NEVER, _NEVER
    late, finish, _ = value(prepare(drawn.problem), starts)
    return late, finish


@dataclass(frozen=True)
class _Answer:
    asked: _Asked
    sharing: Sharing
    states: Sequence[State]
    times: Mapping[Name, Sequence[Span]]
    likely: Mapping[Name, Sequence[Span]]

    def calendar(self, solution: Solution) -> Calendar:
        jobs = tuple(self._job(number) for number in range(len(self.states)))
        at = self.asked.clock.moment
        finish = max(times.finish for times in jobs)
        return Calendar(
            start=at(self.asked.clock.now),
            finish=finish,
            bound=min(at(solution.bound), finish),
            proven=solution.proven,
            tasks=self._tasks(),
            jobs=jobs,
            visits=solution.visits,
        )

    def _tasks(self) -> tuple[CalendarTask, ...]:
        found = []
        for number, job in enumerate(self.sharing.jobs):
            for place, step in enumerate(self.states[number].steps):
                if (number, step) in self.times:
                    spans = self.times[number, step]
                    found.append((spans[0][0], number, place, spans[-1][1], job, step))
        steps = [{step.key: step for step in job.steps} for job in self.sharing.jobs]
        at = self.asked.clock.moment
        return tuple(
            CalendarTask(
                job=job.name,
                step=steps[number][key],
                start=at(start),
                end=at(end),
                running=key in self.states[number].begun,
                joint=self.sharing.joint.get((number, key), ""),
                with_jobs=self.sharing.partners((number, key)),
            )
            for start, number, _, end, job, key in sorted(found, key=lambda one: one[:4])
        )

    def _job(self, number: int) -> JobTimes:
        """A job's dates; of one that is over the hours in which it was made."""
        begun = self.states[number].begun.values()
        past = [(one.start, one.end) for one in begun]
        own = [span for (job, _), spans in self.times.items() if job == number for span in spans] or past
        slow = [span for (job, _), spans in self.likely.items() if job == number for span in spans] or past
        if not own:
            own = slow = [(self.asked.clock.now, self.asked.clock.now)]
        finish = max(end for _, end in own)
        at, due = self.asked.clock.moment, self.asked.due.get(number)
        return JobTimes(
            name=self.asked.jobs[number].name,
            start=at(min(start for start, _ in own)),
            finish=at(finish),
            likely=at(max(finish, *(end for _, end in slow))),
            late=max(0, finish - due) if due is not None else 0,
        )


def schedule_job(job: Job, labour: Labour, *, effort: float = 1.0) -> Calendar:
    """One job on the bench that its sheet has.

    Errors: InvalidInput at `bench` or a key of it.
    """
    bench = job.sheet.bench
    if bench is None:
        raise InvalidInput("bench", "is missing")
    longest = max((last - first for first, last in windows(bench, _LOOK_AHEAD)), default=bench.session_min)
    try:
        steps = steps_of(job, labour, session=min(bench.session_min, longest))
        spreads = {time.name: time.spread for time in labour.operations}
        return plan_calendar([CalendarJob(job.sheet.title, steps, spreads=spreads)], bench, effort=effort)
    except InvalidInput as refusal:
        if refusal.place.split(".")[0] == "bench":
            raise
        raise InvalidInput("bench", refusal.reason) from refusal
