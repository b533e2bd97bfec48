"""What failures cost by stage: a segment, a ring, a glue-up or the piece at the lathe, and what each takes along."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from estimating.glue.assembly import OF_RINGS, GlueUp
from estimating.terms import Pricing
from estimating.work.labour import Labour

STAGES_BEFORE = {
    "segment": ("timber", "cutting"),
    "ring": ("rings", "slicing"),
    "glue_up": ("stack",),
    "lathe": ("turning",),
}
"""The stages of work whose minutes a failure takes along, besides those of the failures before it."""

NOTHING_STACKED = (*OF_RINGS, "panel", "waste_block")
"""Glue-ups that, slipped, lose no layers: rings are a failure of their own, a waste block is scrap."""

_ONCE = Decimal(1)


@dataclass(frozen=True, slots=True)
class Losses:
    """What each kind of failure costs, money not yet rounded."""

    segment: Decimal
    ring: Decimal
    glue_up: Decimal
    lathe: Decimal

    @property
    def each(self) -> tuple[Decimal, Decimal, Decimal, Decimal]:
        return self.segment, self.ring, self.glue_up, self.lathe


def are_staged(pricing: Pricing) -> bool:
    """Whether losses are given by stage, in the place of one share for the whole job."""
    return any((pricing.segment_loss, pricing.ring_loss, pricing.glue_up_loss, pricing.lathe_loss))


def spent_by_stage(
    labour: Labour, *, wood: Decimal, adhesive: Decimal, ends: Decimal, an_hour: Decimal
) -> tuple[Decimal, Decimal, Decimal, Decimal]:
    """What is spent up to the segments, on the rings, on the stack and at the lathe.

    `ends` is the share of the adhesive in the rings' own joints, `an_hour` what an hour at the bench costs. Design,
    finishing and delivery are lost in no failure.
    """
    minutes = {
        name: sum(operation.mean for operation in labour.operations if operation.stage in stages)
        for name, stages in STAGES_BEFORE.items()
    }
    work = {name: Decimal(repr(float(spent))) / 60 * an_hour for name, spent in minutes.items()}
    return (
        wood + work["segment"],
        adhesive * ends + work["ring"],
        adhesive * (1 - ends) + work["glue_up"],
        work["lathe"],
    )


def layers_at_stake(glue_ups: Sequence[GlueUp], *, layers: int) -> Decimal:
    """Layers that stand in a glue-up when it is made, summed over all of them, by the layers of the piece.

    A glue-up that slips takes along what it glues and all that was glued to that before.
    """
    stands: dict[int, frozenset[int]] = {}
    at_stake = 0
    for one in glue_ups:
        under = (stands.get(number, frozenset()) for number in (*one.joins, *one.after))
        stacked = one.kind not in NOTHING_STACKED
        stands[one.number] = frozenset().union(one.layers if stacked else (), *under)
        at_stake += len(stands[one.number]) if stacked else 0
    return Decimal(at_stake) / layers


def losses(
    spent: tuple[Decimal, Decimal, Decimal, Decimal], *, at_stake: Decimal, pricing: Pricing
) -> Losses:
    """What failures add to what is spent.

    Of all that is begun a share p is lost and begun again: p / (1 - p) of what was spent on it up to then, the failures
    before it counted in. A segment takes its wood and sawing along; a ring its segments and gluing; a glue-up its share
    of all layers, `at_stake` times in all; the piece at the lathe everything up to then.
    Source: attempts until one succeeds are geometric, 1 / (1 - p) on average (Feller, An Introduction to Probability
    Theory, volume I, section XI.2; from memory).
    """
    up_to, found = Decimal(0), []
    shares = (pricing.segment_loss, pricing.ring_loss, pricing.glue_up_loss, pricing.lathe_loss)
    for stage, share, times in zip(spent, shares, (_ONCE, _ONCE, at_stake, _ONCE), strict=True):
        up_to += stage
        found.append(share / (1 - share) * up_to * times)
        up_to += found[-1]
    return Losses(*found)
