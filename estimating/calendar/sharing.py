"""One setting of a machine for several jobs: what they have in common is set up once, and its minutes are split."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import count, takewhile

from estimating.calendar.jobs import CalendarJob
from estimating.calendar.problem import Chain, Name
from estimating.calendar.state import State
from estimating.steps.step import MIX, RING_CLAMP, SetUp, Share, Step

NEAR = 24 * 60
"""Minutes: jobs share a setting where none would wait for another longer than this; a judgement of ours."""

NEAR_FOR_A_MIX = 4 * 60
"""A mix will not wait: its glue-ups have to be ready within half a day's work; a judgement of ours."""


@dataclass(frozen=True)
class Sharing:
    """The jobs with the minutes they have when they share, the chains that keep a setting, and who is with whom.

    `joint` names each step's common doing, the same for all of its steps.
    """

    jobs: tuple[CalendarJob, ...]
    chains: tuple[Chain, ...]
    joint: Mapping[Name, str]

    def partners(self, name: Name) -> tuple[str, ...]:
        """The other jobs of a step's common doing."""
        joint = self.joint.get(name)
        others = {job for (job, _), other in self.joint.items() if other == joint and job != name[0]}
        return tuple(self.jobs[job].name for job in sorted(others)) if joint else ()


@dataclass(frozen=True)
class _Run:
    """A step with all its sessions in order: one run on a machine. `settings` are its set-ups by key, whole."""

    job: int
    sessions: tuple[Step, ...]
    settings: Mapping[str, SetUp]

    @property
    def names(self) -> list[Name]:
        return [(self.job, step.key) for step in self.sessions]

    @property
    def machine(self) -> str:
        return next(iter(self.settings.values())).machine

    @property
    def clamps(self) -> int:
        return dict(self.sessions[0].uses).get(RING_CLAMP, 0)


def unshared(jobs: Sequence[CalendarJob]) -> Sharing:
    """Every job by itself."""
    return Sharing(tuple(jobs), (), {})


def share_set_ups(states: Sequence[State], *, clamps: int, mixes: bool = True) -> Sharing:
    """Find the set-ups that several jobs have in common and are ready for at about the same time.

    A set-up is done once; each job has the part of its minutes that it has of the work done with it, so that
    together they take exactly one. Only what has not begun is shared. `mixes`: one mix may do for the rings of several
    jobs, as far as its cup, its working time and the ring `clamps` go.
    """
    sharing = _Sharing(states, clamps)
    for members in sharing.groups(mixes=mixes):
        sharing.join(members)
    jobs = tuple(
        replace(
            state.job, steps=tuple(sharing.changed.get((number, step.key), step) for step in state.job.steps)
        )
        for number, state in enumerate(states)
    )
    return Sharing(jobs, tuple(sharing.chains), sharing.joint)


class _Sharing:
    """What is found to be shared so far: steps with fewer minutes, chains, and the name of each common doing."""

    def __init__(self, states: Sequence[State], clamps: int) -> None:
        self.states = states
        self.clamps = clamps
        self.changed: dict[Name, Step] = {}
        self.chains: list[Chain] = []
        self.joint: dict[Name, str] = {}
        self.runs = [run for job, state in enumerate(states) for run in _runs(job, state)]
        ready = [_ready(state) for state in states]
        self.ready = {run.names[0]: ready[run.job][run.sessions[0].key] for run in self.runs}

    def groups(self, *, mixes: bool) -> list[list[_Run]]:
        """Runs of different jobs with a set-up in common, one of each job at the most, each run in one group.

        Proofs come first: what is cut at an angle follows its proof.
        """
        groups: list[list[_Run]] = []
        for run in sorted(self.runs, key=lambda one: not one.sessions[0].holds):
            if run.machine == MIX and not mixes:
                continue
            home = next((group for group in groups if self._fits(run, group)), None)
            if home is None:
                groups.append([run])
            else:
                home.append(run)
        return [
            sorted(group, key=lambda one: (self.ready[one.names[0]], one.job))
            for group in groups
            if len(group) > 1
        ]

    def _fits(self, run: _Run, group: Sequence[_Run]) -> bool:
        apart = abs(self.ready[run.names[0]] - self.ready[group[0].names[0]])
        near = apart <= (NEAR_FOR_A_MIX if run.machine == MIX else NEAR)
        common = any(key in other.settings for other in group for key in run.settings)
        if not (near and common and all(other.job != run.job for other in group)):
            return False
        if run.machine != MIX:
            return True
        members = [*group, run]
        room = sum(one.room for member in members for one in member.settings.values())
        return room <= 1 + 1e-9 and sum(member.clamps for member in members) <= self.clamps

    def join(self, members: Sequence[_Run]) -> None:
        """Make one doing of the runs, unless they are bound already to others."""
        names = [name for run in members for name in run.names]
        bound = {chain for chain in self.chains for name in names if name in chain.steps}
        together = len(bound) == 1 and all(name in next(iter(bound)).steps for name in names)
        if bound and not together:
            return
        machine = members[0].machine
        if not bound:
            self.chains.append(Chain(machine, _chain(members, self.states)))
        who = "+".join(self.states[run.job].job.name for run in members)
        self.joint |= dict.fromkeys(names, f"{machine}.{who}.{members[0].sessions[0].key}"[:120])
        for run in members:
            ratios = _ratios(run, members)
            self.changed |= {(run.job, step.key): _shared(step, ratios) for step in run.sessions}


def _runs(job: int, state: State) -> Iterator[_Run]:
    """Every run with set-ups of which no session has begun."""
    for step in state.steps.values():
        if not step.set_ups or "#" in step.key or step.key in state.begun:
            continue
        more = (f"{step.key}#{number}" for number in count(2))
        sessions = (step, *(state.steps[key] for key in takewhile(state.steps.__contains__, more)))
        settings = {one.key: replace(one, minutes=one.minutes * len(sessions)) for one in step.set_ups}
        yield _Run(job, sessions, settings)


def _ready(state: State) -> dict[str, int]:
    """The minute each step could begin if nothing but its own job's order held it up."""
    starts: dict[str, int] = {}
    ends: dict[str, int] = {}
    for step in state.steps.values():
        begun = state.begun.get(step.key)
        starts[step.key] = begun.start if begun else max((ends[key] for key in step.after), default=0)
        ends[step.key] = begun.end if begun else starts[step.key] + state.minutes[step.key]
    return starts


def _chain(members: Sequence[_Run], states: Sequence[State]) -> tuple[Name, ...]:
    """The runs one after another; of a proof first all proofs, then what each job cuts at the angle."""
    names = [name for run in members for name in run.names]
    for run in members:
        for held in run.sessions[0].holds:
            last = held.until
            base = last.split("#")[0]
            steps = [key for key in states[run.job].steps if key == base or key.startswith(f"{base}#")]
            names += [(run.job, key) for key in steps if (run.job, key) not in names]
    return tuple(names)


def _ratios(run: _Run, members: Sequence[_Run]) -> dict[str, float]:
    """What is left of each set-up's minutes for this run: its part of one set-up by what is done with it."""
    found = {}
    for key, own in run.settings.items():
        having = [other.settings[key] for other in members if key in other.settings]
        if len(having) > 1 and own.minutes > 0:
            weight = sum(one.weight for one in having)
            part = own.weight / weight if weight > 0 else 1 / len(having)
            found[key] = max(one.minutes for one in having) * part / own.minutes
    return found


def _shared(step: Step, ratios: Mapping[str, float]) -> Step:
    """The step with its set-ups cut down; minutes, set-ups and, of a proof, quantity of its shares with them."""
    shares = list(step.shares)
    for number, share in enumerate(shares):
        alike = [one for one in step.set_ups if one.operation == share.operation]
        saved = sum(one.minutes * (1 - ratios.get(one.key, 1.0)) for one in alike)
        if not saved:
            continue
        kept = sum(ratios.get(one.key, 1.0) for one in alike) / len(alike)
        whole = not share.setups
        shares[number] = Share(
            share.operation,
            share.minutes - saved,
            share.setups * kept,
            share.quantity * (kept if whole else 1.0),
        )
    return replace(
        step,
        minutes=sum(share.minutes for share in shares),
        shares=tuple(shares),
        set_ups=tuple(replace(one, minutes=one.minutes * ratios.get(one.key, 1.0)) for one in step.set_ups),
    )
