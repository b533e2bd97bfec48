"""The boards as they are listed: layouts put together to whole boards, strips with their rings, what goes back."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import zip_longest

from estimating.piece import Board, ShopSettings
from estimating.wood.items import Item
from estimating.wood.layouts import TOLERANCE, Lane, Layout, Task, edge_loss, layout_cost, stock_offcuts
from estimating.wood.sections import is_kept
from estimating.wood.strips import Offcut, SawnBoard, Strip
from estimating.wood.supply import Source


@dataclass(frozen=True, slots=True)
class Job:
    """Items of one wood that may share boards, and the boards: one stock of the task for each source.

    `free` is the task with each strip lying the narrower way in every board, where that is another.
    """

    items: tuple[Item, ...]
    sources: tuple[Source, ...]
    task: Task
    free: Task | None = None


@dataclass(frozen=True, slots=True)
class _Unit:
    """A clear part of one board: as it is with one layout, or resawn with up to as many as it has plates."""

    source: Source
    layouts: tuple[Layout, ...]


def saw(job: Job, layouts: Sequence[Layout], shop: ShopSettings) -> list[SawnBoard]:
    """The boards in the order of the sources; rings are served in their order."""
    waiting = [list(item.need.rings) for item in job.items]
    ordered = sorted(layouts, key=lambda layout: (layout.stock, layout_cost(job.task, layout)))
    boards = []
    for board, source, units in _boards(job, ordered):
        strips: list[Strip] = []
        offcuts: list[Offcut] = []
        for number, unit in units.items():
            for plate, layout in enumerate(unit.layouts, start=1):
                strips += _strips(job, layout, number, plate, waiting, shop)
            offcuts += _offcuts(job, unit, shop)
        offcuts += _unused(source, units, shop)
        boards.append(_sawn_board(board, source, units, strips, offcuts))
    return boards


def _boards(job: Job, layouts: Sequence[Layout]) -> Iterator[tuple[Board, Source, Mapping[int, _Unit]]]:
    """Each board with what is done to each of its parts."""
    parts: dict[tuple[Board, bool], dict[int, list[_Unit]]] = {}
    for layout in layouts:
        source = job.sources[layout.stock]
        units = parts.setdefault((source.board, source.buy), {}).setdefault(source.number, [])
        last = units[-1] if units else None
        if last and last.source == source and len(last.layouts) < source.plates:
            units[-1] = _Unit(source, (*last.layouts, layout))
        else:
            units.append(_Unit(source, (layout,)))
    for (board, _), by_part in parts.items():
        for row in zip_longest(*by_part.values()):
            done = {part: unit for part, unit in zip(by_part, row, strict=True) if unit is not None}
            yield board, next(iter(done.values())).source, done


def _sawn_board(
    board: Board,
    source: Source,
    units: Mapping[int, _Unit],
    strips: Sequence[Strip],
    offcuts: Sequence[Offcut],
) -> SawnBoard:
    resawn = max((unit.source for unit in units.values()), key=lambda at: at.plates)
    return SawnBoard(
        board.wood,
        board.length,
        board.width,
        board.thickness,
        board.price,
        source.buy,
        tuple(strips),
        tuple(offcuts),
        ref=board.ref,
        surface=board.surface,
        defects=board.defects,
        plates=resawn.plates,
        plate_thickness=resawn.thickness,
    )


def _strips(
    job: Job, layout: Layout, part: int, plate: int, waiting: list[list[tuple[int, int]]], shop: ShopSettings
) -> Iterator[Strip]:
    section = job.sources[layout.stock].section
    across, number = section.across + edge_loss(shop), 1
    for lane in layout.lanes:
        yield from _lane_strips(job, layout, lane, (number, across, part + 1, plate), waiting, shop)
        number += max(max(1, job.items[shape].beside) for shape, _ in lane.parts)
        across += lane.width + shop.rip_kerf


def _lane_strips(
    job: Job,
    layout: Layout,
    lane: Lane,
    where: tuple[int, float, int, int],
    waiting: list[list[tuple[int, int]]],
    shop: ShopSettings,
) -> Iterator[Strip]:
    number, across, part, plate = where
    section = job.sources[layout.stock].section
    start = section.start + section.near_trim
    for shape, count in lane.parts:
        item, rule = job.items[shape], job.task.shapes[shape].rule
        one = max(item.rip, shop.min_rip_width)
        for _ in range(count if item.beside else 1):
            length = rule.length(1 if item.beside else count)
            for beside in range(max(1, item.beside)):
                segments = item.strip_segments(beside) if item.beside else count
                yield Strip(
                    lane=number + beside,
                    start=start,
                    width=item.need.width,
                    height=item.need.height,
                    length=length,
                    segments=segments,
                    rings=_take(waiting[shape], segments),
                    rip_width=one,
                    lies=item.lies,
                    across=across + beside * (one + shop.rip_kerf),
                    section=part,
                    plate=plate,
                )
            start += length


def _take(waiting: list[tuple[int, int]], count: int) -> tuple[int, ...]:
    """The rings the next `count` segments of a shape are for; they are taken off the list."""
    served: list[int] = []
    while count:
        ring, wanted = waiting.pop(0)
        taken = min(count, wanted)
        count -= taken
        if taken < wanted:
            waiting.insert(0, (ring, wanted - taken))
        if ring not in served:
            served.append(ring)
    return tuple(served)


def _offcuts(job: Job, unit: _Unit, shop: ShopSettings) -> Iterator[Offcut]:
    """What goes back of one part of a board.

    A part that is resawn is crosscut first, where the longest of its plates ends, and what is beyond stays thick. A
    plate that ends sooner, and one that nothing is sawn from, go back as far as that crosscut.
    """
    source, at = unit.source, unit.source.section
    thick, plate_thick = source.board.thickness, source.thickness
    ends, beside = [], []
    for plate, layout in enumerate(unit.layouts, start=1):
        lanes = [(lane.width, lane.used) for lane in layout.lanes]
        end = at.length
        for long, wide, start, across in stock_offcuts(job.task, layout.stock, lanes):
            if start > at.near_trim and wide >= at.width - TOLERANCE:
                end = start
                continue
            thickness = thick if source.plates == 1 else plate_thick
            beside.append(Offcut(long, wide, thickness, at.start + start, at.across + across, plate))
        ends.append(end)
    far = max(ends)
    if far < at.length:
        yield Offcut(at.length - far, at.width, thick, at.start + far, at.across)
    yield from beside
    to = far - shop.crosscut_kerf if far < at.length else far
    for plate in range(1, source.plates + 1):
        begin = ends[plate - 1] if plate <= len(ends) else 0.0
        long_enough = to - begin >= max(shop.keep_length, TOLERANCE)
        if source.plates > 1 and long_enough and at.width >= shop.keep_width:
            yield Offcut(to - begin, at.width, plate_thick, at.start + begin, at.across, plate)


def _unused(source: Source, units: Mapping[int, _Unit], shop: ShopSettings) -> Iterator[Offcut]:
    """Clear parts of an opened board that nothing is sawn from."""
    for number, at in enumerate(source.sections):
        if number not in units and is_kept(at, shop):
            yield Offcut(at.length, at.width, source.board.thickness, at.start, at.across)
