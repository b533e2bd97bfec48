"""Dimension lines, brackets and notes of a drawing, sized to the piece so that they read alike on any."""

from collections.abc import Sequence
from dataclasses import dataclass

from estimating.picture.svg import element, number, text_of
from estimating.quantities import InchStyle, Unit, format_length

_CHARACTER = 0.53
"""Mean width of a character as a share of its size, near enough to leave room."""

_SMALLEST = 0.3
"""Names smaller than this share of their usual size are left out."""


@dataclass(frozen=True)
class Pen:
    """Sizes of what stands round the piece, mm: one unit is a hundredth of the piece. And how lengths are written."""

    size: float
    text: float
    unit: Unit = "mm"
    inches: InchStyle = "fraction"

    @property
    def line(self) -> float:
        """A hairline."""
        return 0.1 * self.size

    def length(self, mm: float) -> str:
        """A length as the shop writes it."""
        return format_length(mm, unit=self.unit, inches=self.inches)

    def width_of(self, text: str, *, share: float = 1.0) -> float:
        """About how wide a text runs."""
        return _CHARACTER * self.text * share * len(text)


def write(
    pen: Pen,
    text: str,
    *,
    x: float,
    y: float,
    anchor: str = "start",
    upright: bool = False,
    share: float = 1.0,
) -> str:
    """A text; `upright` reads from below."""
    return element(
        "text",
        text_of(text),
        x=x,
        y=y,
        font_size=share * pen.text,
        text_anchor=anchor,
        fill="currentColor",
        transform=f"rotate(-90 {number(x)} {number(y)})" if upright else None,
    )


def hairlines(pen: Pen, d: str, *, opacity: float = 0.8, dashes: str | None = None) -> str:
    """Hairlines along path data."""
    return element(
        "path",
        d=d,
        fill="none",
        stroke="currentColor",
        stroke_width=pen.line,
        stroke_opacity=opacity,
        stroke_dasharray=dashes,
    )


def across(pen: Pen, *, radius: float, y: float, start: float, name: str, sign: str = "Ø ") -> str:
    """A dimension line at y for a diameter about the axis, its extension lines from y = `start`."""
    way, tick, clear = (1 if y > start else -1), 0.9 * pen.size, 0.8 * pen.size
    lines = [f"M{number(-radius)},{number(y)}H{number(radius)}"]
    ticks = []
    for x in (-radius, radius):
        lines.append(f"M{number(x)},{number(start + way * clear)}V{number(y + way * tick)}")
        ticks.append(
            f"M{number(x - tick)},{number(y + tick)}L{number(x + tick)},{number(y - tick)}",
        )
    return element(
        "g",
        hairlines(pen, "".join(lines), opacity=0.6),
        hairlines(pen, "".join(ticks), opacity=1.0),
        write(pen, f"{sign}{pen.length(2 * radius)}", x=0.0, y=y - 0.7 * pen.size, anchor="middle"),
        class_="dw-dimension",
        data_dimension=name,
    )


def along(
    pen: Pen, *, x: float, upper: float, lower: float, starts: tuple[float, float], value: float
) -> str:
    """A dimension line at x, left of the piece, for a height; extension lines from x = `starts` (above, below)."""
    tick, clear = 0.9 * pen.size, 0.8 * pen.size
    lines, ticks = [f"M{number(x)},{number(upper)}V{number(lower)}"], []
    for y, start in ((upper, starts[0]), (lower, starts[1])):
        lines.append(f"M{number(start - clear)},{number(y)}H{number(x - tick)}")
        ticks.append(f"M{number(x - tick)},{number(y + tick)}L{number(x + tick)},{number(y - tick)}")
    return element(
        "g",
        hairlines(pen, "".join(lines), opacity=0.6),
        hairlines(pen, "".join(ticks), opacity=1.0),
        write(
            pen, pen.length(value), x=x - 0.8 * pen.size, y=(upper + lower) / 2, anchor="middle", upright=True
        ),
        class_="dw-dimension",
        data_dimension="height",
    )


@dataclass(frozen=True)
class Note:
    """What stands beside one band: where the band is, its name and what it is made of."""

    upper: float
    lower: float
    name: str
    detail: str


def brackets(pen: Pen, notes: Sequence[Note], *, x: float, room: float) -> tuple[str, float, float, float]:
    """Brackets at x with their names; returns them with how far right, up and down they reach.

    Names that would run into each other move apart, joined to their bracket by a slanted line; where there are
    more than fit in `room` (mm of height) they are written smaller, and where they would be too small to read, the
    brackets stand alone.
    """
    needed = sum(_rows(note, pen) for note in notes) * 1.3 * pen.text
    share = min(1.0, room / needed)
    if share < _SMALLEST:
        alone = [_bracket(pen, note, x=x, arm=pen.size, to=(note.upper + note.lower) / 2) for note in notes]
        return element("g", *alone, class_="dw-bands"), x, notes[0].upper, notes[-1].lower
    row = 1.3 * pen.text * share
    heights = [_rows(note, pen) * row for note in notes]
    middles = _spread([(note.upper + note.lower) / 2 for note in notes], heights)
    arm, parts, reach = 1.0 * pen.size, [], x
    for note, middle in zip(notes, middles, strict=True):
        at = x + 3.2 * pen.size
        parts.append(_bracket(pen, note, x=x, arm=arm, to=middle))
        label, width = _label(pen, note, x=at, middle=middle, share=share)
        parts.append(label)
        reach = max(reach, at + width)
    drawn = element("g", *parts, class_="dw-bands")
    return drawn, reach, middles[0] - heights[0] / 2, middles[-1] + heights[-1] / 2


def _rows(note: Note, pen: Pen) -> int:
    """Two rows where the band is tall enough for them, else one."""
    return 2 if note.lower - note.upper > 2.8 * pen.text else 1


def _bracket(pen: Pen, note: Note, *, x: float, arm: float, to: float) -> str:
    inset = min(0.3 * pen.size, (note.lower - note.upper) / 4)
    upper, lower = note.upper + inset, note.lower - inset
    d = f"M{number(x - arm)},{number(upper)}H{number(x)}V{number(lower)}H{number(x - arm)}"
    middle = (upper + lower) / 2
    if abs(to - middle) > 0.2 * pen.size:
        d += f"M{number(x)},{number(middle)}L{number(x + 2.6 * pen.size)},{number(to)}"
    return hairlines(pen, d)


def _label(pen: Pen, note: Note, *, x: float, middle: float, share: float) -> tuple[str, float]:
    small, size = 0.86, share * pen.text
    name = shortened(note.name, 28)
    if _rows(note, pen) == 2:
        words = [
            element("tspan", text_of(name), x=x, y=middle - 0.15 * size, font_weight=600),
            " ",
            element("tspan", text_of(note.detail), x=x, y=middle + 1.0 * size, font_size=small * size),
        ]
        width = max(pen.width_of(name, share=share), pen.width_of(note.detail, share=small * share))
    else:
        words = [
            element("tspan", text_of(name), font_weight=600),
            " ",
            element("tspan", text_of(note.detail), font_size=small * size),
        ]
        width = pen.width_of(f"{name} ", share=share) + pen.width_of(note.detail, share=small * share)
    drawn = element(
        "text",
        element("title", text_of(note.name)) if name != note.name else "",
        *words,
        x=x,
        y=middle + 0.35 * size,
        font_size=size,
        fill="currentColor",
    )
    return drawn, width


def shortened(text: str, most: int) -> str:
    """The text, or its beginning and an ellipsis."""
    return text if len(text) <= most else f"{text[: most - 1].rstrip()}…"


def _spread(middles: Sequence[float], heights: Sequence[float]) -> list[float]:
    """Middles moved as little as keeps neighbours from overlapping, in the same order.

    Neighbours that touch are pooled, and a pool sits where its members want to be on average.
    """
    pools: list[
        tuple[float, list[int]]
    ] = []  # where the pool's first member's top wants to be, and its members
    for number_, (middle, height) in enumerate(zip(middles, heights, strict=True)):
        pools.append((middle - height / 2, [number_]))
        while len(pools) > 1 and pools[-2][0] + sum(heights[i] for i in pools[-2][1]) > pools[-1][0]:
            (first, members), (second, joining) = pools[-2], pools[-1]
            above = sum(heights[i] for i in members)
            total = len(members) + len(joining)
            start = (first * len(members) + (second - above) * len(joining)) / total
            pools[-2:] = [(start, members + joining)]
    placed = []
    for start, members in pools:
        for member in members:
            placed.append(start + heights[member] / 2)
            start += heights[member]
    return placed
