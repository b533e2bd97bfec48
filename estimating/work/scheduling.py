"""The scheduler: tasks put in time for the least lateness, the earliest finish, then the fewest visits."""

from estimating.work.scheduling_blocks import prepare
from estimating.work.scheduling_problem import Attended, Hold, Link, Problem, Solution, Task
from estimating.work.serial import Order, serial, serial_starts, value

__all__ = ["Attended", "Hold", "Link", "Problem", "Solution", "Task", "serial", "solve"]


def solve(problem: Problem, *, effort: float = 1.0) -> Solution:
    """The best schedule found, with the bound that no schedule finishes before.

    `effort` is how long to seek, in solver work and not in seconds, so that the same problem has the same answer.
    Errors: InvalidInput, naming the task or link.
    """
    prepared = prepare(problem)
    starts = serial_starts(prepared)
    late, finish, visits = value(prepared, starts)
    bound = max(
        _heads_end(Order(prepared)),
        *(start + problem.tasks[at].minutes for at, start in prepared.fixed.items()),
        0,
    )
    return Solution(starts, finish, bound, not late and finish == bound, visits, late)


def _heads_end(order: Order) -> int:
    """When the last block ends if every block only waits for its links and windows."""
    from estimating.work.scheduling_windows import next_in

    blocks = order.prepared.blocks
    heads = [block.starts[0][0] for block in blocks]
    for at in order.line:
        early = max([heads[at], *(heads[one] + gap for one, gap in order.before[at])])
        heads[at] = next_in(blocks[at].starts, early) or early
    return max((head + block.minutes for head, block in zip(heads, blocks, strict=True)), default=0)
