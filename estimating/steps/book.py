"""The steps while they are gathered: what they do of each operation, how long that takes, and sessions of long work."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from math import ceil
from typing import TypedDict
from zlib import crc32

from estimating.errors import InvalidInput
from estimating.steps.step import PERSON, Held, SetUp, Share, Step, StepKind, in_order
from estimating.work.glue_work import mean_minutes, scaled
from estimating.work.labour import Labour, OperationTime

_LONGEST_RUN = 60


@dataclass(frozen=True, slots=True)
class Setting:
    """A `SetUp` before its minutes are known; `whole` where it is all that the step does of the operation."""

    key: str
    machine: str
    operation: str
    weight: float
    whole: bool = False
    room: float = 0.0


class About(TypedDict, total=False):
    """What a step is about, as `Step` has it."""

    piece: int
    part: str
    glue_up: int | None
    rings: tuple[int, ...]
    layers: tuple[int, ...]


@dataclass
class Draft:
    """A step before its minutes are known.

    `work` has the weights (set-ups, quantity) with which it shares in an operation; `minutes` are of what is waited.
    A step `in_one` is never parted in sessions.
    """

    key: str
    name: str
    kind: StepKind = "hands_on"
    minutes: float = 0.0
    work: dict[str, tuple[float, float]] = field(default_factory=dict)
    piece: int = 0
    part: str = ""
    glue_up: int | None = None
    rings: tuple[int, ...] = ()
    layers: tuple[int, ...] = ()
    uses: tuple[tuple[str, int], ...] = ()
    holds: tuple[Held, ...] = ()
    after: list[str] = field(default_factory=list)
    at_once_after: str = ""
    attended: bool = False
    in_one: bool = False
    settings: tuple[Setting, ...] = ()


def run_of(letter: str, numbers: Iterable[int]) -> str:
    """Numbers as part of a key: neighbours as a run, and what would be too long cut short with its check sum.

    >>> run_of("r", [3, 1, 2, 7])
    'r1-3+7'
    """
    runs: list[list[int]] = []
    for number in sorted(numbers):
        if runs and number == runs[-1][1] + 1:
            runs[-1][1] = number
        else:
            runs.append([number, number])
    text = letter + "+".join(str(a) if a == b else f"{a}-{b}" for a, b in runs)
    return text if len(text) <= _LONGEST_RUN else f"{text[:40]}~{crc32(text.encode()):08x}"


class Book:
    """Every draft of a job by its key, in the order they are added."""

    def __init__(self) -> None:
        self.drafts: dict[str, Draft] = {}

    def add(self, draft: Draft) -> str:
        """Take the draft in; its key."""
        self.drafts[draft.key] = draft
        return draft.key

    def steps(self, labour: Labour, *, session: float) -> tuple[Step, ...]:
        """The steps with their shares of the labour, parted in sessions, each after those it waits for.

        What nobody does takes no time and drops out: what waits for it waits for what it waited for.
        """
        times = {time.name: time for time in labour.operations if time.stage != "design"}
        shares = self._shares(times)
        kept = {
            key
            for key, draft in self.drafts.items()
            if draft.kind != "hands_on" or draft.in_one or shares[key]
        }
        before = {key: self._before(key, kept) for key in kept}
        whole = [self._step(self.drafts[key], shares[key], before[key], times) for key in kept]
        by_key = {step.key: step for step in whole}
        steps = _in_sessions([by_key[key] for key in self.drafts if key in kept], session)
        return in_order(steps)

    def _shares(self, times: Mapping[str, OperationTime]) -> dict[str, tuple[Share, ...]]:
        """Each operation shared out by weight over the drafts that do some of it: nothing lost, nothing twice."""
        shared: dict[str, list[Share]] = {key: [] for key in self.drafts}
        for name, time in times.items():
            doing = [(key, draft.work[name]) for key, draft in self.drafts.items() if name in draft.work]
            if not doing:
                raise InvalidInput("labour", f"no step does {name!r}")
            setups = scaled(time.setups, [weights[0] for _, weights in doing])
            quantities = scaled(time.quantity, [weights[1] for _, weights in doing])
            for (key, _), setup, quantity in zip(doing, setups, quantities, strict=True):
                if setup or quantity:
                    minutes = mean_minutes(time, setup, quantity)
                    shared[key].append(Share(name, minutes, setup, quantity))
        return {key: tuple(of) for key, of in shared.items()}

    def _before(self, key: str, kept: set[str]) -> tuple[str, ...]:
        """The kept steps that one waits for, through those that drop out."""
        found: dict[str, None] = {}
        seen: set[str] = set()
        edge = list(self.drafts[key].after)
        while edge:
            one = edge.pop(0)
            if one in seen:
                continue
            seen.add(one)
            if one in kept:
                found[one] = None
            else:
                edge += self.drafts[one].after
        return tuple(found)

    def _step(
        self,
        draft: Draft,
        shares: tuple[Share, ...],
        after: tuple[str, ...],
        times: Mapping[str, OperationTime],
    ) -> Step:
        hands_on = draft.kind == "hands_on"
        return Step(
            key=draft.key,
            name=draft.name,
            kind=draft.kind,
            minutes=sum(share.minutes for share in shares) if hands_on else draft.minutes,
            shares=shares,
            piece=draft.piece,
            part=draft.part,
            glue_up=draft.glue_up,
            rings=draft.rings,
            layers=draft.layers,
            uses=((PERSON, 1), *draft.uses) if hands_on else draft.uses,
            holds=draft.holds,
            after=after,
            at_once_after=draft.at_once_after,
            attended=draft.attended,
            in_one=draft.in_one,
            set_ups=tuple(_set_ups(draft.settings, shares, times)),
        )


def _set_ups(
    settings: Sequence[Setting], shares: Sequence[Share], times: Mapping[str, OperationTime]
) -> Iterator[SetUp]:
    by_name = {share.operation: share for share in shares}
    for setting in settings:
        share = by_name.get(setting.operation)
        if share is None:
            continue
        alike = sum(other.operation == setting.operation for other in settings)
        minutes = (
            share.minutes if setting.whole else mean_minutes(times[share.operation], share.setups, 0.0)
        ) / alike
        if minutes > 0:
            yield SetUp(
                setting.key, setting.machine, setting.operation, minutes, setting.weight, setting.room
            )


def _in_sessions(steps: Sequence[Step], session: float) -> list[Step]:
    """Long work parted in equal sessions. The first keeps the key, so that it is the same however many there are."""
    parted: list[list[Step]] = []
    last: dict[str, str] = {}
    for step in steps:
        count = 1
        if step.is_hands_on and not step.in_one:
            count = max(1, ceil(step.minutes / session - 1e-9))
        keys = [step.key, *(f"{step.key}#{number}" for number in range(2, count + 1))]
        last[step.key] = keys[-1]
        parted.append([_session(step, keys, number) for number in range(count)])
    found: list[Step] = []
    for first, *more in parted:
        after = tuple(last[key] for key in first.after)
        holds = tuple(replace(one, until=last[one.until]) if one.to_end else one for one in first.holds)
        first = replace(first, after=after, at_once_after=last.get(first.at_once_after, ""), holds=holds)
        found += [first, *more]
    return found


def _session(step: Step, keys: Sequence[str], number: int) -> Step:
    count = len(keys)
    if count == 1:
        return step
    return replace(
        step,
        key=keys[number],
        name=f"{step.name}, {number + 1} of {count}",
        minutes=step.minutes / count,
        shares=tuple(
            Share(one.operation, one.minutes / count, one.setups / count, one.quantity / count)
            for one in step.shares
        ),
        after=step.after if number == 0 else (keys[number - 1],),
        holds=step.holds if number == 0 else (),
        set_ups=tuple(replace(one, minutes=one.minutes / count) for one in step.set_ups),
    )
