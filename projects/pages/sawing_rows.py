"""A sawing plan as its page shows it: the answer, each board with its diagram, set-ups, and what to buy."""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from math import ceil, degrees
from typing import TYPE_CHECKING, Any, cast

from django.utils.safestring import SafeString, mark_safe

from projects.models import PlannedBoard, SawingPlan, Studio, Wood
from projects.pages.cut import FOLD, TEXT
from projects.papers.bench_sheets import board_drawing, written_apart
from projects.sawing_json import FrozenPlan
from projects.services.sawing import thawed

if TYPE_CHECKING:
    from estimating.quantities import InchStyle, Unit
    from estimating.wood.saw_boards import BoardWork
    from estimating.wood.strips import SawnBoard, Strip


@dataclass(frozen=True)
class StripRow:
    """A strip by its name, and for whose rings it is."""

    name: str
    use: str
    strip: "Strip"


@dataclass(frozen=True)
class BoardRow:
    """A board of the plan, its record, and its diagram."""

    row: PlannedBoard
    board: "SawnBoard"
    wood: str
    colour: str
    svg: SafeString
    words: str
    strips: list[StripRow]


@dataclass(frozen=True)
class PlanShown:
    """All that the page says of a plan, from what was frozen."""

    boards: list[BoardRow]
    jobs: "list[tuple[str, str]]"
    from_rack: int
    to_buy: int
    outlay: Any
    purchases: list[tuple[str, str, "SawnBoard", int]]
    fences: list[str]
    stops: list[tuple[str, list[str]]]
    stop_count: int


def plan_shown(plan: SawingPlan, studio: Studio) -> PlanShown:
    """The plan for its page. Errors: projects.sawing_json.UnreadablePlan."""
    from estimating.wood.saw_boards import boards_in_order, fences

    frozen = thawed(plan)
    cutting, shop = frozen.plan.cutting, frozen.shop
    woods = {wood.key: wood for wood in Wood.objects.for_studio(studio)}
    rows = {row.number: row for row in plan.boards.select_related("board", "for_commission", "cut_by__user")}
    works = boards_in_order(cutting.boards, shop=shop)
    bought = [board for board in cutting.boards if board.buy]
    return PlanShown(
        boards=[
            _board(work, rows[work.number], frozen, woods, studio) for work in works if work.number in rows
        ],
        jobs=[(letter_of(at), job.label) for at, job in enumerate(frozen.plan.jobs)],
        from_rack=len(cutting.boards) - len(bought),
        to_buy=len(bought),
        outlay=cutting.outlay,
        purchases=list(_purchases(bought, woods)),
        fences=written_apart([fence.width for fence in fences(works, shop=shop)], studio),
        stops=(at := _stops(frozen, studio)),
        stop_count=sum(len(lengths) for _, lengths in at),
    )


def letter_of(job: int) -> str:
    """A job's short name in the diagrams: A, B, ... Z, A2, ..."""
    letter = chr(ord("A") + job % 26)
    return letter if job < 26 else f"{letter}{job // 26 + 1}"


def rings_of(rings: Iterable[int], frozen: FrozenPlan) -> str:
    """Whose rings these are: `A 1, 3; B 2`, or `ring 3` where there is one job only."""
    owned: dict[int, list[int]] = {}
    for number in rings:
        job, ring = frozen.plan.ring(number)
        owned.setdefault(job, []).append(ring)
    if len(frozen.plan.jobs) == 1:
        (numbers,) = owned.values()
        return f"ring{'s' if len(numbers) > 1 else ''} {_listed(numbers)}"
    return "; ".join(f"{letter_of(job)} {_listed(numbers)}" for job, numbers in sorted(owned.items()))


def _listed(numbers: Sequence[int]) -> str:
    return ", ".join(map(str, numbers))


def _board(
    work: "BoardWork", row: PlannedBoard, frozen: FrozenPlan, woods: dict[str, Wood], studio: Studio
) -> BoardRow:
    from estimating.picture.board_diagram import describe_board, draw_board

    unit, inches = cast("Unit", studio.length_unit), cast("InchStyle", studio.inch_style)
    wood, colour = _wood(work.board.wood, woods)
    strips = [
        StripRow(placed.name, rings_of(placed.strip.rings, frozen), placed.strip) for placed in work.strips
    ]
    plain = board_drawing(work, wood=wood, colour=colour)
    named = tuple(replace(one, use=strip.use) for one, strip in zip(plain.strips, strips, strict=True))
    drawing = replace(plain, strips=named)
    # Every word in it is escaped where it is drawn.
    svg = mark_safe(
        draw_board(drawing, unit=unit, inches=inches, fold=FOLD, text=TEXT, prefix=f"board-{work.number}")
    )
    words = describe_board(drawing, unit=unit, inches=inches)
    return BoardRow(row, work.board, wood, colour, svg, words, strips)


def _wood(key: str, woods: dict[str, Wood]) -> tuple[str, str]:
    """Its name and colour; a wood that is gone by its key, in grey."""
    wood = woods.get(key)
    return (wood.name, wood.colour) if wood else (key, "#999999")


def _purchases(
    bought: "Sequence[SawnBoard]", woods: dict[str, Wood]
) -> "Iterable[tuple[str, str, SawnBoard, int]]":
    counts = Counter((one.wood, one.length, one.width, one.thickness, one.price) for one in bought)
    for kind, count in counts.items():
        like = next(
            one for one in bought if (one.wood, one.length, one.width, one.thickness, one.price) == kind
        )
        yield *_wood(like.wood, woods), like, count


def _stops(frozen: FrozenPlan, studio: Studio) -> list[tuple[str, list[str]]]:
    """Each miter in degrees with its stops as they are written, the longest first, for all jobs together."""
    from estimating.wood.set_ups import stops

    cuts = stops((need.miter, need.outer_edge) for need in frozen.plan.needs if need.cut != "veneer")
    return [
        (
            f"{degrees(miter):.2f}°",
            written_apart(sorted((length for at, length in cuts if at == miter), reverse=True), studio),
        )
        for miter in sorted({at for at, _ in cuts})
    ]


def distance_words(plan: SawingPlan) -> str:
    """How far the plan can be from the best, never less than it is: `at most 0.6 % above the least possible`."""
    if plan.cost is None or plan.bound is None:
        return ""
    if plan.proven:
        return "and no plan costs less"
    if plan.bound <= 0:
        return "and how near that is to the least possible is not known yet"
    tenths = ceil((plan.cost - plan.bound) / plan.bound * 1000)
    return f"at most {tenths / 10:.1f} % above the least possible"
