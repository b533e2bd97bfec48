"""Fifty made-up orders as a segmenting shop gets them, each with the rack it is sawn from: input for the timings."""

import random
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from decimal import Decimal
from math import ceil, cos, pi, sin, sqrt, tan
from typing import NamedTuple

from estimating.piece import Board, ShopSettings, UsualBoard
from estimating.wood.strips import StripNeed

CASES = 50

SPARE = 0.05
"""Spare segments, a share of those needed; at least one a ring and wood."""

PER_M3 = {"maple": 3100, "walnut": 5200, "cherry": 4100, "ash": 2400, "red_oak": 2900}
"""Invented prices of a cubic metre."""

THICKNESSES = (19.0, 20.0, 22.0, 25.4, 27.0, 32.0, 38.0, 40.0, 44.0, 52.0)
LENGTHS = (600, 2400)
WIDTHS = (80, 250)
FEWEST_BOARDS, MOST_BOARDS = 4, 15

NARROWEST, WIDEST = 12.0, 40.0
"""Widths of strips, mm."""

LEFT_ON = 2.0
"""What is left on for turning, outside and inside, mm."""


class ShopCase(NamedTuple):
    """What one call of `plan_cutting` takes."""

    needs: tuple[StripNeed, ...]
    boards: tuple[Board, ...]
    usual: UsualBoard
    price_per_mm3: dict[str, Decimal]
    shop: ShopSettings


@dataclass(frozen=True, slots=True)
class _Course:
    """One ring: its circles and height in mm, and one wood a segment all round."""

    outer: float
    inner: float
    height: float
    segments: int
    woods: tuple[str, ...]


def shop_cases(cases: int = CASES) -> Iterator[ShopCase]:
    """The cases in their order; the same every time.

    Shape: one to three pieces of 8 to 30 rings, in one to three woods each, on a rack of 4 to 15 boards. Every fourth
    rack is short of the wood needed most; on every third some boards have defects. mm; money in no currency.
    """
    for number in range(cases):
        yield shop_case(number)


def shop_case(number: int) -> ShopCase:
    """One of them by its number, from 0."""
    draw = random.Random(f"shop case {number}")
    choice = draw.sample(sorted(PER_M3), k=4)
    courses = [course for _ in range(1 + number % 3) for course in _piece(draw, choice)]
    needs = tuple(need for ring, course in enumerate(courses, start=1) for need in _needs(ring, course))
    boards = _rack(draw, needs, choice, short=number % 4 == 3, flawed=number % 3 == 1)
    prices = {wood: Decimal(price) / 10**9 for wood, price in PER_M3.items()}
    return ShopCase(needs, boards, UsualBoard(), prices, ShopSettings(spare_segments=SPARE))


def _piece(draw: random.Random, choice: list[str]) -> list[_Course]:
    """A bowl or a vase: plain rings of one wood, and in a band of some of them a pattern of two or three."""
    rings = draw.randint(8, 30)
    wall = draw.uniform(4, 14)
    segments = draw.choice([12, 12, 16, 18, 24, 24, 36])
    plain = draw.choice([6.0, 10.0, 12.0, 15.0, 18.0, 20.0, 25.0])
    pattern_height = draw.choice([6.0, 10.0, 20.0, plain])
    first = draw.randint(0, rings - 2)
    last = min(rings - 1, first + draw.randint(1, 6))
    woods = draw.sample(choice, k=draw.randint(1, 3))
    curve = _profile(draw)
    heights = [pattern_height if first <= ring <= last else plain for ring in range(rings)]
    total = sum(heights)
    courses, below = [], 0.0
    for ring, height in enumerate(heights):
        edge = [curve(at / total) for at in (below, below + height / 2, below + height)]
        outer = max(edge) + LEFT_ON
        inner = max(5.0, min(edge) - wall - LEFT_ON)
        pattern = tuple(woods) if first <= ring <= last else (woods[0],)
        courses.append(_Course(outer, inner, height, segments, pattern * (segments // len(pattern))))
        below += height
    return courses


def _profile(draw: random.Random) -> Callable[[float], float]:
    """Outer radius by the share of the height: an open bowl, or a vase with a belly and a neck."""
    foot = draw.uniform(35, 60)
    if draw.random() < 0.5:
        rim = foot + draw.uniform(30, 90)
        return lambda share: foot + (rim - foot) * sqrt(share)
    belly, neck = draw.uniform(25, 70), draw.uniform(-20, 10)
    return lambda share: foot + belly * sin(pi * share) + neck * share


def _needs(ring: int, course: _Course) -> Iterator[StripNeed]:
    """The segments of each wood of a ring; its edges by the regular polygon."""
    phi = pi / course.segments
    width = min(WIDEST, max(NARROWEST, course.outer - course.inner * cos(phi)))
    for wood in dict.fromkeys(course.woods):
        wanted = course.woods.count(wood)
        yield StripNeed(
            wood=wood,
            width=width,
            height=course.height,
            miter=phi,
            outer_edge=2 * course.outer * tan(phi),
            inner_edge=2 * (course.outer - width) * tan(phi),
            rings=((ring, wanted + max(1, ceil(SPARE * wanted))),),
        )


def _rack(
    draw: random.Random, needs: tuple[StripNeed, ...], choice: list[str], *, short: bool, flawed: bool
) -> tuple[Board, ...]:
    """Boards of each wood for about twice its strips; a small one only of the scarce wood; others to fill up."""
    volume: dict[str, float] = {}
    for need in needs:
        mean = (need.outer_edge + need.inner_edge) / 2 + 3
        segments = sum(count for _, count in need.rings)
        volume[need.wood] = volume.get(need.wood, 0.0) + segments * mean * (need.width + 3) * need.height
    scarce = max(volume, key=lambda wood: volume[wood]) if short else None
    boards: list[Board] = []
    for wood, wanted in volume.items():
        tallest = max(need.height for need in needs if need.wood == wood)
        on_rack = 0.0
        aim = (0.0 if wood == scarce else draw.uniform(1.6, 3.0)) * wanted
        while len(boards) < MOST_BOARDS:
            board = _board(draw, wood, tallest, small=wood == scarce, flawed=flawed)
            boards.append(board)
            on_rack += board.length * board.width * board.thickness
            if on_rack >= aim:
                break
    others = [wood for wood in choice if wood != scarce]
    size = draw.randint(FEWEST_BOARDS, MOST_BOARDS)
    while len(boards) < size:
        boards.append(_board(draw, draw.choice(others), 20.0, small=False, flawed=flawed))
    return tuple(boards)


def _board(draw: random.Random, wood: str, tallest: float, *, small: bool, flawed: bool) -> Board:
    """One board, mostly thick enough for the tallest ring, at a price up to a quarter off the usual."""
    length = float(draw.randint(600, 900) if small else draw.randrange(LENGTHS[0], LENGTHS[1] + 1, 10))
    width = float(draw.randint(80, 120) if small else draw.randint(*WIDTHS))
    thick = [size for size in THICKNESSES if size >= tallest or draw.random() < 0.15]
    thickness = draw.choice(thick)
    cubic_metres = length * width * thickness / 1e9
    price = Decimal(f"{cubic_metres * PER_M3[wood] * draw.uniform(0.75, 1.25):.2f}")
    return Board(wood, length, width, thickness, 1, price, defects=_defects(draw, length) if flawed else ())


def _defects(draw: random.Random, length: float) -> tuple[tuple[float, float], ...]:
    """Up to two knots or splits across the board, apart from one another; none on half the boards."""
    if draw.random() < 0.5:
        return ()
    found = []
    for part in range(draw.randint(1, 2)):
        start = round(length * (0.08 + 0.45 * part) + draw.uniform(0, 0.3 * length), 0)
        found.append((start, start + draw.randint(30, 130)))
    return tuple(found)
