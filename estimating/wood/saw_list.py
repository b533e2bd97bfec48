"""The order of work at the saw: boards, fence settings, planing, then segments by angle and by stop."""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from estimating.piece import Match, ShopSettings
from estimating.shape.rings import Ring
from estimating.wood.needs import LaminateCuts, Needs
from estimating.wood.saw_boards import (
    BoardWork,
    Fence,
    PlacedStrip,
    Planing,
    boards_in_order,
    fences,
    planings,
)
from estimating.wood.saw_checks import RingCheck, ring_checks
from estimating.wood.saw_shares import share_out
from estimating.wood.set_ups import settings
from estimating.wood.strips import Cut, CuttingPlan, StripNeed, pool_needs, strip_rule

Pieces = int | Mapping[int, int]
"""How many pieces are made, for all rings or by ring number."""


@dataclass(frozen=True, slots=True)
class Feed:
    """A strip and how many of a line's segments come out of it."""

    strip: PlacedStrip
    count: int


@dataclass(frozen=True, slots=True)
class Line:
    """Segments of one wood for one ring, all crosscut at one stop. mm, radians.

    `count` has the `spares` in it. `feeds` are the strips they come out of, none for laminated segments, which come
    out of `panels` once those are glued. `edges` is what both edges of a stave are then sawn to: miter and tilt.
    """

    ring: int
    wood: str
    cut: Cut
    count: int
    spares: int
    outer_edge: float
    inner_edge: float
    width: float
    height: float
    feeds: tuple[Feed, ...]
    match: Match = ""
    from_panels: bool = False
    edges: tuple[float, float] | None = None

    @property
    def needed(self) -> int:
        """Without the spares."""
        return self.count - self.spares


@dataclass(frozen=True, slots=True)
class Stop:
    """One setting of the stop block, mm from the blade along the longer edge, and what is cut at it."""

    length: float
    lines: tuple[Line, ...]

    @property
    def count(self) -> int:
        """Pieces cut at it, spares included."""
        return sum(line.count for line in self.lines)

    @property
    def spares(self) -> int:
        """The spares among them."""
        return sum(line.spares for line in self.lines)


@dataclass(frozen=True, slots=True)
class Angle:
    """One setting of the saw: miter and tilt, radians from a square cut, and the stops used at it, the longest first.

    `knife`: veneer, which is cut with a knife along a rule.
    """

    miter: float
    tilt: float
    stops: tuple[Stop, ...]
    knife: bool = False

    @property
    def count(self) -> int:
        """Pieces cut at it, spares included."""
        return sum(stop.count for stop in self.stops)

    @property
    def rings(self) -> tuple[int, ...]:
        """The rings they are for."""
        return tuple(sorted({line.ring for stop in self.stops for line in stop.lines}))


@dataclass(frozen=True, slots=True)
class SawList:
    """All the work at the saw in its order, and what it comes to. `knifed` are the numbers of veneer sheets."""

    boards: tuple[BoardWork, ...]
    knifed: frozenset[int]
    fences: tuple[Fence, ...]
    planings: tuple[Planing, ...]
    angles: tuple[Angle, ...]
    checks: tuple[RingCheck, ...]

    @property
    def stops(self) -> int:
        """Set-ups of the stop: one for each length at each angle, veneer left out."""
        return sum(len(angle.stops) for angle in self.angles if not angle.knife)

    @property
    def pieces(self) -> int:
        """All that is crosscut, spares included: segments, discs, staves, plugs, strips of laminates."""
        return sum(angle.count for angle in self.angles)

    @property
    def segments(self) -> int:
        """Pieces that are part of a ring themselves, spares included."""
        kinds = ("plug", "lamination")
        return sum(line.count for line in self.lines if line.cut not in kinds)

    @property
    def spares(self) -> int:
        """The spares among the segments."""
        return sum(line.spares for line in self.lines)

    @property
    def lines(self) -> tuple[Line, ...]:
        """Every line of every stop."""
        return tuple(line for angle in self.angles for stop in angle.stops for line in stop.lines)

    @property
    def resawn(self) -> tuple[BoardWork, ...]:
        """Boards that are sawn in their thickness first."""
        return tuple(work for work in self.boards if work.is_resawn)


def saw_list(
    plan: CuttingPlan, *, needs: Needs, rings: Sequence[Ring], pieces: Pieces, shop: ShopSettings
) -> SawList:
    """The work that a sawing plan asks for, in its order.

    Shape: boards are numbered as the plan has them. `needs` is what the plan was made for; `rings` by the numbers that
        the needs know them by. Every strip is ripped once at its lane's setting, and again where it is narrower; every
        segment stands in one line, with the strips it comes out of.
    Units: mm, radians.
    Errors: ValueError for a plan that was made for other needs.
    """
    works = boards_in_order(plan.boards, shop=shop)
    known = {ring.number: ring for ring in rings}
    lines = [
        *_strip_lines(works, needs.strips, known, pieces, shop),
        *_panel_lines(needs.laminated, known, pieces),
    ]
    knifed = frozenset(feed.strip.board for line in lines if line.cut == "veneer" for feed in line.feeds)
    sawn = [work for work in works if work.number not in knifed]
    return SawList(
        boards=works,
        knifed=knifed,
        fences=fences(sawn, shop=shop),
        planings=planings(sawn, shop=shop),
        angles=_angles(lines, known),
        checks=ring_checks(rings),
    )


def made(pieces: Pieces, ring: int) -> int:
    """How often a ring is made."""
    return pieces if isinstance(pieces, int) else pieces[ring]


def _strip_lines(
    works: Iterable[BoardWork],
    needs: Iterable[StripNeed],
    known: Mapping[int, Ring],
    pieces: Pieces,
    shop: ShopSettings,
) -> Iterator[Line]:
    pooled = pool_needs(needs)
    serving = _served(pooled, [placed for work in works for placed in work.strips], shop)
    for need, strips in zip(pooled, serving, strict=True):
        wanted: Counter[int] = Counter()
        for ring, count in need.rings:
            wanted[ring] += count
        shares = share_out(
            [placed.strip.segments for placed in strips], [placed.strip.rings for placed in strips], wanted
        )
        for ring, count in sorted(wanted.items()):
            feeds = tuple(
                Feed(placed, share[ring])
                for placed, share in zip(strips, shares, strict=True)
                if ring in share
            )
            yield _line(need, known[ring], count, feeds, pieces)


def _line(need: StripNeed, ring: Ring, count: int, feeds: tuple[Feed, ...], pieces: Pieces) -> Line:
    needed = ring.wood_counts.get(need.wood, 0) * made(pieces, ring.number) if need.is_piece else count
    return Line(
        ring=ring.number,
        wood=need.wood,
        cut=need.cut,
        count=count,
        spares=count - needed,
        outer_edge=need.outer_edge,
        inner_edge=need.inner_edge,
        width=need.width,
        height=need.height,
        feeds=feeds,
        match=need.match,
        edges=(ring.miter, ring.tilt) if need.cut == "stave" else None,
    )


def _served(
    pooled: Sequence[StripNeed], strips: Sequence[PlacedStrip], shop: ShopSettings
) -> list[list[PlacedStrip]]:
    """Which strips are for which need: those of its wood and size, for its rings, as long as its segments take."""
    # Veneer is planned without kerfs, trims and hold.
    bare = replace(shop, crosscut_kerf=0.0, strip_hold=0.0)
    rules = [strip_rule(need=need, shop=bare if need.cut == "veneer" else shop) for need in pooled]
    by_size: dict[tuple[str, float, float], list[int]] = {}
    for index, need in enumerate(pooled):
        by_size.setdefault(_size(need.wood, need.width, need.height), []).append(index)
    serving: list[list[PlacedStrip]] = [[] for _ in pooled]
    for placed in strips:
        strip = placed.strip
        fitting = [
            index
            for index in by_size.get(_size(placed.wood, strip.width, strip.height), [])
            if set(strip.rings) <= {ring for ring, _ in pooled[index].rings}
        ]
        if not fitting:
            raise ValueError(f"strip {placed.name} is for no segment of these needs")
        of = min(fitting, key=lambda index: abs(rules[index].length(strip.segments) - strip.length))
        serving[of].append(placed)
    return serving


def _size(wood: str, width: float, height: float) -> tuple[str, float, float]:
    return wood, round(width, 6), round(height, 6)


def _panel_lines(
    laminated: Iterable[LaminateCuts], known: Mapping[int, Ring], pieces: Pieces
) -> Iterator[Line]:
    for one in laminated:
        ring = known[one.ring]
        yield Line(
            ring=one.ring,
            wood=one.key,
            cut="segment",
            count=one.cuts.segments,
            spares=one.cuts.segments - ring.wood_counts[one.key] * made(pieces, one.ring),
            outer_edge=ring.outer_edge,
            inner_edge=ring.inner_edge,
            width=ring.strip_width,
            height=ring.height,
            feeds=(),
            from_panels=True,
        )


Setting = tuple[bool, float, float]


def _setting(line: Line, known: Mapping[int, Ring]) -> Setting:
    """Knife or saw, miter and tilt of the crosscut. The ends of leaning staves are bevelled by the lean."""
    ring = known[line.ring]
    if line.cut == "stave":
        assert ring.lean is not None, "staves are cut for a ring of staves alone"
        return False, 0.0, round(ring.lean.end_bevel, 9)
    miter = ring.miter if line.cut == "segment" else 0.0
    return line.cut == "veneer", round(miter, 9), 0.0


def _angles(lines: Iterable[Line], known: Mapping[int, Ring]) -> tuple[Angle, ...]:
    """Square cuts first, since panels of strips must be glued before their segments are cut; the knife last."""
    at_angle: dict[Setting, list[Line]] = {}
    for line in lines:
        at_angle.setdefault(_setting(line, known), []).append(line)
    return tuple(
        Angle(miter=miter, tilt=tilt, stops=tuple(_stops(of)), knife=knife)
        for (knife, miter, tilt), of in sorted(at_angle.items())
    )


def _stops(lines: Sequence[Line]) -> Iterator[Stop]:
    """The longest first."""
    serving = settings(line.outer_edge for line in lines)
    for length in dict.fromkeys(serving.values()):
        at = [line for line in lines if serving[line.outer_edge] == length]
        yield Stop(length, tuple(sorted(at, key=_ring_and_wood)))


def _ring_and_wood(line: Line) -> tuple[int, str]:
    return line.ring, line.wood
