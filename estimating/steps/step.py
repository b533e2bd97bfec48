"""One step of the work from the boards to the parcel: what is done, for how long, with what, and after what."""

from collections.abc import Sequence
from dataclasses import dataclass
from heapq import heapify, heappop, heappush
from typing import Literal

from estimating.errors import InvalidInput, shown

StepKind = Literal["hands_on", "set", "press", "cure", "rest", "dry"]
"""`hands_on` takes a person; the others only time: adhesive sets, is pressed and cures, wood rests, finish dries."""

PERSON = "person"
MANDREL = "mandrel"
JIG = "jig"
PRESS = "press"
RING_CLAMP = "ring_clamp"
PLANER = "planer"
FENCE = "fence"
SAW = "saw"
MIX = "mix"
MACHINES = (PLANER, FENCE, SAW)
"""What is set up: the shop has one of each, and a setting lasts until it is used at another."""


@dataclass(frozen=True, slots=True)
class Share:
    """What a step does of one operation: mean minutes, and how often it is set up and how much of it is done."""

    operation: str
    minutes: float
    setups: float
    quantity: float


@dataclass(frozen=True, slots=True)
class SetUp:
    """A set-up of a step's `machine` that serves every job which asks for one of the same `key`.

    `minutes` are what it takes of the step's share of `operation`; jobs that have it in common split them by `weight`,
    which is how much of the step's work is done with it. A mix of adhesive is one as well, on the machine `MIX`: `room`
    is how much of one this step uses up, of its cup or of its working time, and together they use at most all of it.
    """

    key: str
    machine: str
    operation: str
    minutes: float
    weight: float
    room: float = 0.0


@dataclass(frozen=True, slots=True)
class Held:
    """One of a resource that a step takes at its start, free when the step `until` starts, or `to_end` when it ends."""

    resource: str
    until: str
    to_end: bool = True


@dataclass(frozen=True, slots=True)
class Step:
    """One step. Its `key` says what it is, the same each time the design is planned; at most 120 characters.

    `minutes` of hands-on work are its mean, the sum of its `shares`. `piece` counts from 1; 0 is all pieces at once.
    `uses` is what it takes while it lasts, (resource, how many); what is still taken after it stands in `holds`.
    `after` are the keys of the steps that end before it starts; `at_once_after` is one of them at whose end it starts
    that very minute. A step that is `attended` at its start is no hands-on work, but somebody has to begin it.
    One that is `in_one` is never parted: a glue-up.
    """

    key: str
    name: str
    kind: StepKind
    minutes: float
    shares: tuple[Share, ...] = ()
    piece: int = 0
    part: str = ""
    glue_up: int | None = None
    rings: tuple[int, ...] = ()
    layers: tuple[int, ...] = ()
    uses: tuple[tuple[str, int], ...] = ()
    holds: tuple[Held, ...] = ()
    after: tuple[str, ...] = ()
    at_once_after: str = ""
    attended: bool = False
    in_one: bool = False
    set_ups: tuple[SetUp, ...] = ()

    @property
    def is_hands_on(self) -> bool:
        return self.kind == "hands_on"


def in_order(steps: Sequence[Step], *, place: str = "steps") -> tuple[Step, ...]:
    """Every step after those it waits for, else in the order given.

    Errors: InvalidInput at `place` for a step twice, one that is not there, or steps in a circle.
    """
    number = {step.key: at for at, step in enumerate(steps)}
    if len(number) < len(steps):
        raise InvalidInput(place, "has a step twice")
    followers: dict[str, list[int]] = {}
    for at, step in enumerate(steps):
        for key in {*step.after, *(held.until for held in step.holds)} - set(number):
            raise InvalidInput(place, f"{shown(step.key)} needs {shown(key)}, which is not there")
        for key in set(step.after):
            followers.setdefault(key, []).append(at)
    left = [len(set(step.after)) for step in steps]
    ready = [at for at, count in enumerate(left) if not count]
    heapify(ready)
    line: list[Step] = []
    while ready:
        step = steps[heappop(ready)]
        line.append(step)
        for at in followers.get(step.key, ()):
            left[at] -= 1
            if not left[at]:
                heappush(ready, at)
    if len(line) < len(steps):
        stuck = next(steps[at].key for at, count in enumerate(left) if count)
        raise InvalidInput(place, f"{shown(stuck)} waits for itself in a circle")
    return tuple(line)
