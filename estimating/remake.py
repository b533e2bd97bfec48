"""What a mishap costs: the steps that are done again, and what is sawn again for the rings that are lost."""

from collections import Counter
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from estimating.errors import InvalidInput
from estimating.estimate import Estimate, plan_boards
from estimating.shape.build import Shape
from estimating.shape.rings import Ring
from estimating.steps.making import Making
from estimating.steps.of_job import SESSION
from estimating.steps.saw import add_sawing
from estimating.steps.step import RING_CLAMP, Step
from estimating.wood.needs import Needs, needs_of
from estimating.wood.strips import CuttingPlan, StripNeed
from estimating.work.labour import add_up, time_operation
from estimating.work.operations import Job, count_operations


@dataclass(frozen=True)
class Mishap:
    """What went wrong: in which step of which piece (0: all at once), and the rings and layers that it cost."""

    step: str
    piece: int
    rings: frozenset[int] = frozenset()
    layers: frozenset[int] = frozenset()


@dataclass(frozen=True)
class Again:
    """The steps that are done again, and those of the plan whose outcome is gone with nothing of it left."""

    steps: tuple[Step, ...]
    lost: frozenset[str]


def rings_of(shapes: Iterable[Shape], layers: Collection[int]) -> frozenset[int]:
    """The rings that layers are or are sawn from."""
    return frozenset(
        ring.number for shape in shapes for ring in shape.rings if set(ring.layers) & set(layers)
    )


def steps_again(
    steps: Sequence[Step],
    *,
    begun: Collection[str],
    mishap: Mishap,
    sawing: Sequence[Step] = (),
) -> Again:
    """What is done again of the steps that have begun, in the order of `steps`; the others are still to come anyway.

    `mishap.rings` are all rings lost, those of its layers among them. The glue-up that went wrong is done again whole,
    and every step begun since that stands on it; work on rings that are lost in the share that they are of its rings;
    `sawing` stands for all that was done at the saw, which is counted anew for these rings alone.
    Errors: InvalidInput at `step` for one that is no step of these.
    """
    by_key = {step.key: step for step in steps}
    if mishap.step not in by_key:
        raise InvalidInput("step", f"there is no step {mishap.step!r}")
    whole = _stands_on(steps, by_key[mishap.step], begun, mishap)
    again: list[Step] = []
    lost: set[str] = set()
    sawn = any(is_sawing(by_key[key]) for key in begun if key in by_key)
    if mishap.rings and sawn:
        again += [replace(step, rings=tuple(sorted(mishap.rings))) for step in sawing]
    for step in steps:
        if step.key not in begun or is_sawing(step):
            continue
        if step.key in whole:
            again.append(step)
            lost.add(step.key)
        elif gone := _gone(step, mishap):
            again.append(of_rings(step, gone))
            if len(gone) == len(step.rings):
                lost.add(step.key)
    return Again(tuple(again), frozenset(lost))


def is_sawing(step: Step) -> bool:
    """Whether a step is at the saw or before it, for all pieces together."""
    return step.key.split(".")[0].split("#")[0].split("~")[0] in _AT_THE_SAW


_AT_THE_SAW = ("choose", "mill", "rest", "rip", "prove", "cut")


def _gone(step: Step, mishap: Mishap) -> tuple[int, ...]:
    """The rings of a step that are lost; none for a step of another piece."""
    if mishap.piece and step.piece and step.piece != mishap.piece:
        return ()
    return tuple(ring for ring in step.rings if ring in mishap.rings)


def of_rings(step: Step, rings: Sequence[int]) -> Step:
    """A step for some of its rings: the same share of its work, and of its ring clamps. Waits stay as long."""
    part = len(rings) / len(step.rings)
    if part == 1:
        return step
    shares = tuple(
        replace(one, minutes=one.minutes * part, setups=one.setups * part, quantity=one.quantity * part)
        for one in step.shares
    )
    uses = tuple((what, min(count, len(rings)) if what == RING_CLAMP else count) for what, count in step.uses)
    set_ups = tuple(replace(one, minutes=one.minutes * part) for one in step.set_ups)
    minutes = step.minutes * part if step.is_hands_on else step.minutes
    return replace(step, rings=tuple(rings), shares=shares, uses=uses, set_ups=set_ups, minutes=minutes)


def _stands_on(steps: Sequence[Step], tapped: Step, begun: Collection[str], mishap: Mishap) -> set[str]:
    """The steps begun that are lost whole: the glue-up that went wrong, those of lost layers, and what came after."""
    if tapped.glue_up is None and not mishap.layers:
        return set()
    found: set[str] = set()
    for step in steps:
        same = step.piece == tapped.piece and tapped.glue_up is not None and step.glue_up == tapped.glue_up
        partial = bool(step.rings) and not set(step.rings) <= mishap.rings and bool(mishap.rings)
        of_layers = step.glue_up is not None and not step.rings and bool(set(step.layers) & mishap.layers)
        of_piece = not (mishap.piece and step.piece) or step.piece == mishap.piece
        waits = bool(found & {*step.after, step.at_once_after})
        if (same and not partial) or (of_piece and of_layers) or waits:
            found.add(step.key)
    return {key for key in found if key in begun}


def needs_again(estimate: Estimate, lost: Counter[int]) -> Needs:
    """What is sawn for rings that are made again, by how many of each; spares as for any ring.

    Plugs are not among it: what fills a bore is glued in when the stack is whole.
    Errors: InvalidInput at `rings` for a ring that the piece does not have.
    """
    numbers = {ring.number for ring in estimate.rings}
    if strange := sorted(set(lost) - numbers):
        raise InvalidInput("rings", f"there is no ring {strange[0]}")
    sheet = estimate.sheet
    strips: list[StripNeed] = []
    laminated = []
    for count in sorted(set(lost.values())):
        rings = {ring for ring, times in lost.items() if times == count}
        needs = needs_of(
            estimate.shapes,
            laminates=sheet.laminates,
            shop=sheet.shop,
            usual=sheet.usual_board,
            quantity=count,
        )
        for need in needs.strips:
            own = tuple((ring, wanted) for ring, wanted in need.rings if ring in rings)
            if own and need.cut != "plug":
                strips.append(replace(need, rings=own))
        laminated += [one for one in needs.laminated if one.ring in rings]
    return Needs(tuple(strips), tuple(laminated))


def plan_again(estimate: Estimate, lost: Counter[int]) -> CuttingPlan:
    """The cut list of rings that are made again, from the boards of the sheet and what is to be bought.

    Errors: as `needs_again`, and InvalidInput where a strip fits on no board.
    """
    return plan_boards(estimate.sheet, estimate.workshop, needs_again(estimate, lost).strips)


def sawn_again(estimate: Estimate, lost: Counter[int]) -> Estimate:
    """The estimate with only what is sawn again in its needs and its cut list; all else is of the whole.

    Errors: as `plan_again`.
    """
    return replace(estimate, needs=needs_again(estimate, lost), cutting=plan_again(estimate, lost))


@dataclass(frozen=True)
class _SawnAgain(Job):
    """A job of which only some rings are sawn."""

    lost: frozenset[int] = frozenset()

    @cached_property
    def rings(self) -> list[Ring]:
        return [ring for shape in self.shapes for ring in shape.rings if ring.number in self.lost]


def sawing_again(estimate: Estimate, lost: Counter[int], *, session: float = SESSION) -> tuple[Step, ...]:
    """The steps at the saw for rings that are made again, counted from their own cut list.

    Errors: InvalidInput as `plan_again`.
    """
    needs = needs_again(estimate, lost)
    plan = plan_boards(estimate.sheet, estimate.workshop, needs.strips)
    job = _SawnAgain(
        estimate.sheet,
        estimate.shapes,
        needs,
        plan,
        estimate.glue_ups,
        estimate.adhesive,
        lost=frozenset(lost),
    )
    making = Making(job)
    add_sawing(making)
    drafts = making.book.drafts
    for key in [key for key, draft in drafts.items() if draft.rings]:
        del drafts[key]
    done = {name for draft in drafts.values() for name in draft.work}
    counts, rates = count_operations(job), estimate.workshop.rates
    labour = add_up(
        time_operation(rates[name], setups=count.setups, quantity=count.quantity)
        for name, count in counts.items()
        if name in done and name in rates
    )
    return making.book.steps(labour, session=session)
