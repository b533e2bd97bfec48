"""Steps as the calendar plans them and as they are kept: each row a step of its own, by its key and its run."""

from collections.abc import Iterable, Mapping
from dataclasses import asdict
from math import ceil
from typing import TYPE_CHECKING, Any, cast

from projects.models import BenchStep, Commission

if TYPE_CHECKING:
    from estimating.steps.step import Step

# Where a run stands in the name that the calendar knows a step by; no key of a step has it.
_RUN = "~"
_EPSILON = 1e-9


def name_of(key: str, run: int) -> str:
    """What the calendar calls a run of a step.

    >>> name_of("p1.ring.r3", 0), name_of("p1.ring.r3", 2)
    ('p1.ring.r3', 'p1.ring.r3~2')
    """
    return f"{key}{_RUN}{run}" if run else key


def fill(row: BenchStep, step: "Step", *, of_rings: Iterable[int] | None = None) -> BenchStep:
    """Put a step into its row, without saving it. `of_rings` are the rings that its layers are sawn from."""
    row.name = step.name[:200]
    row.kind = step.kind
    row.piece = step.piece
    row.part = step.part[:80]
    row.glue_up = step.glue_up
    row.rings, row.layers = list(step.rings), list(step.layers)
    row.uses = dict(step.uses)
    row.after, row.at_once_after = list(step.after), step.at_once_after
    row.attended = step.attended
    row.planning = {
        "minutes": step.minutes,
        "shares": [asdict(one) for one in step.shares],
        "holds": [asdict(one) for one in step.holds],
        "set_ups": [asdict(one) for one in step.set_ups],
        "of_rings": list(step.rings if of_rings is None else of_rings),
    }
    put_work(row, step)
    return row


def put_work(row: BenchStep, step: "Step") -> None:
    """Put in what the work of a step comes to, which is less where a set-up serves another job too."""
    row.minutes = max(0, ceil(step.minutes - _EPSILON))
    shares: dict[str, list[float]] = {}
    for one in step.shares:
        minutes, quantity, setups = shares.get(one.operation, (0.0, 0.0, 0.0))
        shares[one.operation] = [minutes + one.minutes, quantity + one.quantity, setups + one.setups]
    row.shares = shares


def step_of(row: BenchStep, names: Mapping[str, Iterable[str]] | None = None) -> "Step":
    """The step that a row was filled with, by its own key.

    `names` has for each key it waits for the names that stand for it, the last run first; without them the keys stay
    as they are. What is held is held until the earliest of them: a run made again takes it anew.
    """
    from estimating.steps.step import Held, SetUp, Share, Step

    kept: dict[str, Any] = row.planning
    known = {} if names is None else names

    def of(key: str) -> tuple[str, ...]:
        return (key,) if names is None else tuple(known.get(key, ()))

    return Step(
        key=row.key if names is None else name_of(row.key, row.run),
        name=row.name,
        kind=cast(Any, row.kind),
        minutes=kept.get("minutes", float(row.minutes)),
        shares=tuple(Share(**one) for one in kept.get("shares", [])),
        piece=row.piece,
        part=row.part,
        glue_up=row.glue_up,
        rings=tuple(row.rings),
        layers=tuple(row.layers),
        uses=tuple(row.uses.items()),
        holds=tuple(
            Held(**{**one, "until": name}) for one in kept.get("holds", []) for name in of(one["until"])[-1:]
        ),
        after=tuple(name for key in row.after for name in of(key)),
        at_once_after=next(iter(of(row.at_once_after)), "") if row.at_once_after else "",
        attended=row.attended,
        set_ups=tuple(SetUp(**one) for one in kept.get("set_ups", [])),
    )


class Chain:
    """The steps of one commission as they wait for one another, each key meaning its runs that count."""

    def __init__(self, steps: Iterable[BenchStep]) -> None:
        self.steps = list(steps)
        self.runs: dict[str, list[BenchStep]] = {}
        for step in sorted(self.steps, key=lambda one: -one.run):
            if step.state not in ("lost", "dropped"):
                self.runs.setdefault(step.key, []).append(step)

    def runs_of(self, key: str, step: BenchStep) -> list[BenchStep]:
        """The runs of a key that a step waits for, the last one first.

        Those made again count where they are of its rings; what is made again itself waits for the last of them alone.
        """
        found = [
            other for other in self.runs.get(key, ()) if other is not step and _of_its_rings(other, step)
        ]
        return found[:1] if step.run else found

    def before(self, step: BenchStep) -> list[BenchStep]:
        """The steps that one waits for."""
        keys = dict.fromkeys([*step.after, *([step.at_once_after] if step.at_once_after else [])])
        return [other for key in keys for other in self.runs_of(key, step)]

    def as_step(self, row: BenchStep) -> "Step":
        """A row as the calendar plans it, what it waits for by name."""
        keys = {*row.after, row.at_once_after, *(held["until"] for held in row.planning.get("holds", []))}
        names = {key: [name_of(one.key, one.run) for one in self.runs_of(key, row)] for key in keys if key}
        return step_of(row, names)


def _of_its_rings(other: BenchStep, step: BenchStep) -> bool:
    if other.run == 0:
        return True
    its, own = (one.planning.get("of_rings") or one.rings for one in (other, step))
    return not its or not own or bool(set(its) & set(own))


def chain_of(commission: Commission | int) -> Chain:
    """The live steps of a commission."""
    return Chain(BenchStep.objects.filter(commission=commission).live().select_related("commission"))
