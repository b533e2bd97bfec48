"""Strips nested into real boards: what to saw from which board, what to buy, and a bound no plan can beat."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal

from estimating.errors import InvalidInput, InvalidSheet
from estimating.piece import Board, ShopSettings, UsualBoard
from estimating.wood.jobs import Supply, jobs_of, ripped_by, supplies_of
from estimating.wood.layouts import TRIES
from estimating.wood.sawn import Job, saw
from estimating.wood.search import PROOF, least_cost
from estimating.wood.strips import (
    CuttingPlan,
    SawnBoard,
    Short,
    Strip,
    StripNeed,
    StripRule,
    WoodUse,
    pool_needs,
    strip_rule,
    wood_use,
)

__all__ = [
    "CuttingPlan",
    "SawnBoard",
    "Short",
    "Strip",
    "StripNeed",
    "StripRule",
    "WoodUse",
    "plan_cutting",
    "pool_needs",
    "strip_rule",
    "wood_use",
]


NEVER_KEPT = 1e9
"""No offcut is this long, mm."""


MOST_IMPROVED = 1500
"""Shapes of strip x (1 + kinds of board) that patterns are made for; woods after that have their first answer."""

MOST_PAIRS = 100_000
"""Shapes of strip x kinds of board of their wood, over all woods, that are planned at all where boards are given."""

MOST_TRIED = 300_000
"""Such pairs x tries a board: a sheet of up to a thousand pairs has all its tries."""

FEWEST_TRIES = 3


def plan_cutting(
    *,
    needs: Sequence[StripNeed],
    boards: Sequence[Board],
    usual: UsualBoard,
    price_per_mm3: Mapping[str, Decimal],
    shop: ShopSettings,
    whole_boards: bool = False,
    effort: int = 1,
) -> CuttingPlan:
    """The plan of least cost that gives every segment, and a bound that no plan can beat.

    Shape: boards lose their defects (`sections.clear_sections`), may be resawn in thickness, are ripped into lanes side
        by side, lanes crosscut into strips end to end, offcuts kept by the rule of `layouts.offcuts`. The strips of a
        ring lie one way; a matched ring comes from one board. Nothing shorter or narrower is ripped than the shop
        allows, nor a narrow strip again from a lane's end too short for it. Boards given are used before any is
        bought: where they do not reach, the search first makes the volume bought small, then the cost. A strip to buy
        for comes from the next thickness of the usual series that fits it; where boards are charged whole and the
        rack serves none of the strip, from any thickness that another strip of its wood is bought in, or from the
        thinnest that it fits flat or on edge. `short` lists every segment sawn from a bought board, also where no
        board of the wood was given at all.
    Units: mm; `price_per_mm3` of each wood bought; cost and bound in money, not rounded.
    Bound: no plan under these rules that buys no more than this one costs less. It is the largest, per wood and
        thickness, of the face under the strips (`search.face_bound`) and the lower of what one board costs at least
        (`oneboard.one_board_bound`) and what two or more do (`columns.relax`).
    Ties: of plans that cost the same, the one of least volume, then of fewest boards, then with the strips lying so
        that fence and stop take fewer set-ups, those for the woods before counted too; sought, not proven.
    Charge: what is kept of a board is not charged, unless `whole_boards`: then fewer boards are opened, and what is
        kept of them goes back on the rack all the same.
    Effort: the work on plan and bound, never a time limit. 0 is the first answer with the plainest bound, for a
        page that changes while one types; 1 anneals the plan and tightens the bound; 2, 4, 8 do so for as many times as
        long. However much is asked for, that is done for no more than `MOST_IMPROVED` says.
    Errors: InvalidSheet at `bands` with every ring that no board given and no usual board has room for; InvalidInput
        at `boards` for more kinds of board and shapes of strip than can be tried.
    """
    # Where a board is charged whole, nothing is gained in the search by what could be kept of it.
    charged = replace(shop, keep_length=NEVER_KEPT) if whole_boards else shop
    pooled = pool_needs(needs)
    tries = _tries(pooled, boards)
    supplies = supplies_of(pooled, boards, usual, price_per_mm3, charged, whole_boards)
    _refuse_what_fits_nothing(pooled, supplies)
    jobs: list[Job] = []
    for supply in supplies.values():
        ripped = [width for job in jobs for width in ripped_by(job.items, shop)]
        jobs += jobs_of(supply, tries, ripped=ripped)
    sawn: list[SawnBoard] = []
    bound, asked = 0.0, 0
    proven = True
    for job in jobs:
        asked += len(job.items) * (1 + len(job.sources))
        answer = least_cost(job.task, effort=effort if asked <= MOST_IMPROVED else 0, free=job.free)
        of_job = [
            replace(board, charged_whole=whole_boards)
            for board in saw(replace(job, task=replace(job.task, shop=shop)), answer.layouts, shop)
        ]
        cost = sum(board.cost for board in of_job)
        free = all(stock.price == 0 for stock in job.task.stocks)
        proven = proven and (free or cost <= answer.bound * (1 + PROOF))
        bound += answer.bound
        sawn += of_job
    sawn.sort(key=lambda board: board.buy)
    cost = sum(board.cost for board in sawn)
    return CuttingPlan(tuple(sawn), cost, min(bound, cost), proven, tuple(_short(sawn)))


def _refuse_what_fits_nothing(pooled: Sequence[StripNeed], supplies: Mapping[str, Supply]) -> None:
    """Refuse all strips that neither the rack nor the usual board has room for, at once and before any search."""
    errors = []
    for need in pooled:
        supply = supplies[need.wood]
        if supply.item(need, supply.rack) is not None:
            continue
        try:
            if supply.item(need, [supply.source(need)]) is None:
                errors.append(_no_board_for_all(need, supply))
        except InvalidInput as refusal:
            errors.append(refusal)
    if errors:
        raise InvalidSheet(errors)


def _no_board_for_all(need: StripNeed, supply: Supply) -> InvalidInput:
    ring, count = need.rings[0]
    return InvalidInput(
        need.place,
        f"ring {ring}: its {count // need.sets} matched segments of {need.wood} have to come from one board, and none "
        "has room for them; give a larger board, or leave the matching out",
    )


def _tries(pooled: Sequence[StripNeed], boards: Sequence[Board]) -> int:
    """How much may be tried a board, so that the largest sheet is planned in a bounded time.

    Errors: InvalidInput at `boards` for more kinds of board and shapes of strip than can be tried at all.
    """
    shapes = Counter(need.wood for need in pooled)
    kinds = Counter(board.wood for board in boards)
    pairs = sum(count * (1 + kinds[wood]) for wood, count in shapes.items())
    if boards and pairs > MOST_PAIRS:
        reason = (
            f"{len(pooled):,} shapes of strip and {len(boards):,} kinds of board are more than can be planned: "
            f"{pairs:,} pairs of one wood, at most {MOST_PAIRS:,}; leave the smaller boards out"
        )
        raise InvalidInput("boards", reason)
    return max(FEWEST_TRIES, min(TRIES, MOST_TRIED // max(1, pairs)))


def _short(boards: Sequence[SawnBoard]) -> Iterator[Short]:
    """The segments sawn from boards to buy, per wood."""
    bought = [board for board in boards if board.buy]
    for wood in dict.fromkeys(board.wood for board in bought):
        strips = [strip for board in bought if board.wood == wood for strip in board.strips]
        rings = sorted({ring for strip in strips for ring in strip.rings})
        yield Short(wood, tuple(rings), sum(strip.segments for strip in strips))
