"""One sawing plan for several jobs at once: their needs together, from one rack, each ring still known by its job."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from estimating.piece import Board, ShopSettings, UsualBoard
from estimating.wood.needs import Needs
from estimating.wood.strips import CuttingPlan, StripNeed
from estimating.wood.veneer import plan_all


@dataclass(frozen=True)
class SawingJob:
    """What one job asks of the saw, and what it is called."""

    label: str
    needs: Needs


@dataclass(frozen=True)
class SawingPlan:
    """The plan of all jobs. Its rings are numbered through all of them; `ring` says whose a number is."""

    jobs: tuple[SawingJob, ...]
    needs: tuple[StripNeed, ...]
    cutting: CuttingPlan
    first_ring: tuple[int, ...]

    def ring(self, number: int) -> tuple[int, int]:
        """The job (counted from 0) and the ring's number in it.

        Errors: KeyError for a number that is no job's.
        """
        for job in range(len(self.jobs) - 1, -1, -1):
            if number > self.first_ring[job]:
                return job, number - self.first_ring[job]
        raise KeyError(number)


def plan_sawing(
    jobs: Sequence[SawingJob],
    *,
    boards: Sequence[Board],
    usual: UsualBoard,
    price_per_mm3: Mapping[str, Decimal],
    shop: ShopSettings,
    whole_boards: bool = False,
    effort: int = 1,
) -> SawingPlan:
    """Saw for all jobs together: strips alike are shared, and a board serves any of them.

    Errors: as `veneer.plan_all`; places are those of the needs, without their job.
    """
    together: list[StripNeed] = []
    first_ring: list[int] = []
    last = 0
    for job in jobs:
        first_ring.append(last)
        for need in job.needs.strips:
            rings = tuple((last + ring, count) for ring, count in need.rings)
            together.append(replace(need, rings=rings))
        last += max((ring for need in job.needs.strips for ring, _ in need.rings), default=0)
    cutting = plan_all(
        needs=together,
        boards=boards,
        usual=usual,
        price_per_mm3=price_per_mm3,
        shop=shop,
        whole_boards=whole_boards,
        effort=effort,
    )
    return SawingPlan(tuple(jobs), tuple(together), cutting, tuple(first_ring))
