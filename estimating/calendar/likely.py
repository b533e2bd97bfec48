"""The end that is kept four times in five: the plan worked as slowly as what is left takes at its 80th percentile."""

from collections.abc import Mapping, Sequence
from math import exp, log
from statistics import NormalDist

from estimating.calendar.problem import Chain, Drawn, Name, Shop, Span, draw
from estimating.calendar.state import State
from estimating.errors import InvalidInput
from estimating.scheduling.blocks import prepare
from estimating.scheduling.serial import Order
from estimating.scheduling.solve import solve
from estimating.steps.step import MIX
from estimating.work.labour import Z_80, OperationTime, add_up, standing_rates

FOUR_IN_FIVE = NormalDist().inv_cdf(0.8)
"""Standard normal quantile of 0.8: four jobs in five take no longer. 0.8416 in any printed table."""

_UNKNOWN_SPREAD = 0.4


def slowness(state: State) -> float:
    """How many times its mean what is left of a job takes at its 80th percentile; 1 where nothing is left.

    The spread of what is left is worked out as that of the whole labour, from its operations' means and spreads.
    """
    minutes: dict[str, float] = {}
    for step in state.waiting():
        for share in step.shares:
            minutes[share.operation] = minutes.get(share.operation, 0.0) + share.minutes
    left = add_up(_time(name, mean, spread_of(state, name)) for name, mean in minutes.items() if mean > 0)
    if not left.median:
        return 1.0
    sigma = log(left.high / left.median) / Z_80
    return max(1.0, left.median * exp(FOUR_IN_FIVE * sigma) / left.mean)


def spread_of(state: State, operation: str) -> float:
    """The job's own spread of an operation, else the standing one."""
    rate = standing_rates().get(operation)
    return state.job.spreads.get(operation, rate.spread if rate else _UNKNOWN_SPREAD)


def _time(name: str, mean: float, spread: float) -> OperationTime:
    median = mean * exp(-(spread**2) / 2)
    return OperationTime(name, "", 0.0, 0.0, "", 0.0, 0.0, median, mean, 0.0, 0.0, spread)


def slower_times(
    states: Sequence[State],
    shop: Shop,
    *,
    due: Mapping[int, int],
    chains: Sequence[Chain],
    planned: Mapping[Name, Sequence[Span]],
) -> dict[Name, list[Span]]:
    """When everything is on if hands-on work takes as long as in `states`, in the order in which it was planned.

    A glue-up that would then outgrow the longest stretch of bench hours takes all of it: the adhesive sets its pace.
    """
    try:
        drawn = draw(states, shop, due=due, chains=chains, may_be_clipped=True)
        prepared = prepare(drawn.problem)
    except InvalidInput:  # glue-ups of one mix that together outgrow every stretch: each its own mix
        alone = [chain for chain in chains if chain.machine != MIX]
        drawn = draw(states, shop, due=due, chains=alone, may_be_clipped=True)
        prepared = prepare(drawn.problem)
    wanted = _planned_starts(drawn, planned)
    rank = [min(wanted.get(task, 0) for task in block.tasks) for block in prepared.blocks]
    starts = Order(prepared).placed(rank)
    if isinstance(starts, int):  # slower work does not fit in this order
        starts = solve(drawn.problem, effort=0.0).starts
    return drawn.times(starts)


def _planned_starts(drawn: Drawn, planned: Mapping[Name, Sequence[Span]]) -> dict[int, int]:
    return {
        task: planned[name][0][0] + number
        for name, tasks in drawn.tasks.items()
        for number, task in enumerate(tasks)
        if name in planned
    }
