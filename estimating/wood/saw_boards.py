"""The boards of a sawing plan in the order of work: crosscut, resawn, ripped one fence setting at a time, planed."""

from collections.abc import Iterable, Iterator, Sequence, Set
from dataclasses import dataclass, replace
from itertools import groupby

from estimating.piece import ShopSettings
from estimating.wood.set_ups import settings
from estimating.wood.strips import Offcut, SawnBoard, Strip

_SAME = 1e-6
"""mm; sizes nearer than this are one."""


@dataclass(frozen=True, slots=True)
class PlacedStrip:
    """A strip with its name: board - lane - place in the lane, each from 1. Lanes count through the whole board."""

    board: int
    lane: int
    place: int
    wood: str
    strip: Strip

    @property
    def name(self) -> str:
        """As it stands on the diagram, in the lists and, in pencil, on the wood."""
        return f"{self.board}-{self.lane}-{self.place}"

    @property
    def end(self) -> float:
        """Where it ends along the board, mm from the board's near end."""
        return self.strip.start + self.strip.length


@dataclass(frozen=True, slots=True)
class LaneOfStrips:
    """Strips end to end, from the near end on, as wide as the widest of them. mm."""

    board: int
    number: int
    section: int
    plate: int
    across: float
    strips: tuple[PlacedStrip, ...]

    @property
    def name(self) -> str:
        """Board - lane."""
        return f"{self.board}-{self.number}"

    @property
    def width(self) -> float:
        """What the ripping fence is set to first: the widest strip's."""
        return max(placed.strip.rip_width for placed in self.strips)

    @property
    def start(self) -> float:
        """Where it begins along the board."""
        return self.strips[0].strip.start

    @property
    def end(self) -> float:
        """Where its last strip ends."""
        return self.strips[-1].end

    @property
    def length(self) -> float:
        """Of its strips together."""
        return self.end - self.start


@dataclass(frozen=True, slots=True)
class Blank:
    """A length of a board that is ripped as one: from `start` to `stop`, mm from the board's near end.

    `start` is where its strips begin, with the end trimmed square. `stop` is None where nothing asks for a crosscut:
    the far end stays as it is, and is cut off with the last strips.
    """

    board: int
    number: int
    start: float
    stop: float | None


@dataclass(frozen=True, slots=True)
class BoardWork:
    """One board, its number in the plan, its blanks and lanes. Offcuts are the board's own."""

    number: int
    board: SawnBoard
    blanks: tuple[Blank, ...]
    lanes: tuple[LaneOfStrips, ...]

    @property
    def strips(self) -> tuple[PlacedStrip, ...]:
        """All its strips, lane by lane."""
        return tuple(placed for lane in self.lanes for placed in lane.strips)

    @property
    def is_resawn(self) -> bool:
        """Whether it is sawn in its thickness first."""
        return self.board.plates > 1


@dataclass(frozen=True, slots=True)
class Rest:
    """Neighbouring strips of a lane that are narrower than it, crosscut off it in one piece and ripped once more.

    Where some of them are narrower still, those are crosscut off it in turn.
    """

    strips: tuple[PlacedStrip, ...]

    @property
    def name(self) -> str:
        """The strip it is, or the first and the last: `3-2-2`, `3-2-2 to 3-2-4`."""
        first, last = self.strips[0].name, self.strips[-1].name
        return first if first == last else f"{first} to {last}"

    @property
    def length(self) -> float:
        """Of its strips together, mm."""
        return self.strips[-1].end - self.strips[0].strip.start


@dataclass(frozen=True, slots=True)
class Fence:
    """One setting of the ripping fence, mm, and all that is ripped at it.

    `lanes` come off the boards; `again` are what is narrower than its lane, crosscut off it and ripped once more.
    `carried` names those of both that are shorter than the shop rips: on a carrier board or a sled with hold-downs.
    """

    width: float
    lanes: tuple[LaneOfStrips, ...]
    again: tuple[Rest, ...]
    carried: tuple[str, ...] = ()

    @property
    def rips(self) -> int:
        """How often something goes past the blade."""
        return len(self.lanes) + len(self.again)


@dataclass(frozen=True, slots=True)
class Planing:
    """Strips that are planed from the thickness of the board to one size, mm: the ring's height, or on edge its width.

    `carried` are those too short for the planer by themselves and in their lane: on a carrier board, or by hand.
    """

    to: float
    strips: tuple[PlacedStrip, ...]
    carried: tuple[PlacedStrip, ...]


def boards_in_order(boards: Sequence[SawnBoard], *, shop: ShopSettings) -> tuple[BoardWork, ...]:
    """Each board with its lanes numbered through, section by section, plate by plate, and its crosscuts."""
    return tuple(_board_work(number, board, shop) for number, board in enumerate(boards, start=1))


def _board_work(number: int, board: SawnBoard, shop: ShopSettings) -> BoardWork:
    lanes = []
    ordered = sorted(board.strips, key=_lane_and_start)
    for place, (key, of_lane) in enumerate(groupby(ordered, key=_lane_of), start=1):
        strips = tuple(
            PlacedStrip(number, place, at, board.wood, strip) for at, strip in enumerate(of_lane, start=1)
        )
        section, plate, _ = key
        lanes.append(LaneOfStrips(number, place, section, plate, strips[0].strip.across, strips))
    return BoardWork(number, board, tuple(_blanks(number, board, lanes, shop)), tuple(lanes))


def _lane_of(strip: Strip) -> tuple[int, int, int]:
    return strip.section, strip.plate, strip.lane


def _lane_and_start(strip: Strip) -> tuple[int, int, int, float]:
    return (*_lane_of(strip), strip.start)


def _blanks(
    number: int, board: SawnBoard, lanes: Sequence[LaneOfStrips], shop: ShopSettings
) -> Iterator[Blank]:
    """Clear parts one after another; such as lie side by side share a blank, and the rip parts them."""
    spans = _merged(_section_spans(lanes))
    whole = sorted(offcut.start for offcut in board.offcuts if _is_whole_width(offcut, board))
    for place, (start, end) in enumerate(spans):
        last = place == len(spans) - 1
        past = [at - shop.crosscut_kerf for at in whole if at >= end - _SAME]
        stop = min(past) if past else None
        if not last:
            following = spans[place + 1][0] - shop.crosscut_kerf
            reach = max([end, *(_ends_of(board.offcuts, start, following))])
            stop = min(reach, stop) if stop is not None else reach
        yield Blank(number, place + 1, start, stop)


def _ends_of(offcuts: Iterable[Offcut], start: float, before: float) -> Iterator[float]:
    """Where the offcuts of a stretch end."""
    for offcut in offcuts:
        if start - _SAME <= offcut.start < before:
            yield min(offcut.start + offcut.length, before)


def _is_whole_width(offcut: Offcut, board: SawnBoard) -> bool:
    return offcut.width >= board.width - _SAME


def _section_spans(lanes: Iterable[LaneOfStrips]) -> list[tuple[float, float]]:
    spans: dict[int, tuple[float, float]] = {}
    for lane in lanes:
        start, end = spans.get(lane.section, (lane.start, lane.end))
        spans[lane.section] = min(start, lane.start), max(end, lane.end)
    return sorted(spans.values())


def _merged(spans: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    merged: list[tuple[float, float]] = []
    for start, end in spans:
        if merged and start < merged[-1][1] - _SAME:
            merged[-1] = merged[-1][0], max(merged[-1][1], end)
        else:
            merged.append((start, end))
    return merged


def fences(works: Iterable[BoardWork], *, shop: ShopSettings) -> tuple[Fence, ...]:
    """Every setting of the ripping fence, the widest first, with all that is ripped at it.

    A lane is ripped at its widest strip. What is narrower comes later, once it is crosscut off: in one piece from where
    the narrower strips begin, and so on from width to width, as the plan has it (`layouts.rips_safely`).
    """
    lanes: dict[float, list[LaneOfStrips]] = {}
    again: dict[float, list[Rest]] = {}
    short: set[str] = set()
    works = tuple(works)
    serving = settings(placed.strip.rip_width for work in works for placed in work.strips)
    for work in works:
        for lane in work.lanes:
            lanes.setdefault(serving[lane.width], []).append(lane)
            short |= {lane.name} if _run(work, lane) < shop.min_rip_length - _SAME else set()
            for width, rest in _rests(lane):
                again.setdefault(serving[width], []).append(rest)
                short |= {rest.name} if rest.length < shop.min_rip_length - _SAME else set()
    widths = sorted({*lanes, *again}, reverse=True)
    return tuple(_fence(width, lanes.get(width, ()), again.get(width, ()), short) for width in widths)


def _rests(lane: LaneOfStrips) -> Iterator[tuple[float, Rest]]:
    """What is ripped again of a lane, each with its width: the strips next to each other that are no wider."""
    serving = settings(placed.strip.rip_width for placed in lane.strips)
    own = [serving[placed.strip.rip_width] for placed in lane.strips]
    for width in sorted(set(own), reverse=True)[1:]:
        for narrow, run in groupby(zip(own, lane.strips, strict=True), key=lambda at: at[0] <= width):
            of = tuple(run)
            if narrow and any(size == width for size, _ in of):
                yield width, Rest(tuple(placed for _, placed in of))


def _run(work: BoardWork, lane: LaneOfStrips) -> float:
    """How long the piece is that a lane is ripped from."""
    of = [blank for blank in work.blanks if blank.start <= lane.start + _SAME][-1]
    return (of.stop or work.board.length) - of.start


def _fence(width: float, lanes: Iterable[LaneOfStrips], again: Iterable[Rest], short: Set[str]) -> Fence:
    fence = Fence(width, tuple(lanes), tuple(again))
    names = [*(lane.name for lane in fence.lanes), *(rest.name for rest in fence.again)]
    return replace(fence, carried=tuple(name for name in names if name in short))


def planings(works: Iterable[BoardWork], *, shop: ShopSettings) -> tuple[Planing, ...]:
    """Strips whose board, or plate, is thicker than they are; the thickest first, so that the planer only closes."""
    found: dict[float, list[PlacedStrip]] = {}
    carried: dict[float, list[PlacedStrip]] = {}
    works = tuple(works)
    serving = settings(planed(placed.strip) for work in works for placed in work.strips)
    for work in works:
        thickness = work.board.plate_thickness if work.is_resawn else work.board.thickness
        for lane in work.lanes:
            alike = len({serving[planed(placed.strip)] for placed in lane.strips}) == 1
            for placed in lane.strips:
                to = serving[planed(placed.strip)]
                if to >= thickness - _SAME:
                    continue
                found.setdefault(to, []).append(placed)
                run = lane.length if alike else placed.strip.length
                if run < shop.min_planer_length - _SAME:
                    carried.setdefault(to, []).append(placed)
    return tuple(
        Planing(to, tuple(found[to]), tuple(carried.get(to, ()))) for to in sorted(found, reverse=True)
    )


def planed(strip: Strip) -> float:
    """The size of a strip, mm, that the board's thickness gives it."""
    return strip.height if strip.lies == "flat" else strip.width
