"""What full-size drawings share: one pen for them all, captions and marks, and the plate each is handed over as."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from math import degrees
from textwrap import wrap

from estimating.picture.dimensions import Pen, hairlines
from estimating.picture.subject import Subject
from estimating.picture.svg import element, number, text_of
from estimating.picture.tiling import Box
from estimating.quantities import InchStyle, Unit
from estimating.shape.laminates import CutList
from estimating.shape.rings import Ring

TEXT = 2.9
"""Height of figures on paper, mm."""

ROW = 1.35 * TEXT
_LINE = 36
"""Characters to a line of a caption, so that three patterns stand side by side."""


@dataclass(frozen=True, slots=True)
class Plate:
    """One drawing at full size: its title, notes of a line each, its elements, and the box they fill, mm.

    `listed` says in words what the drawing lists, for those who cannot see it.
    """

    title: str
    notes: tuple[str, ...]
    drawing: str
    box: Box
    listed: str = ""

    @property
    def description(self) -> str:
        """What the drawing shows, in words."""
        return " ".join(
            f"{said}." for said in (f"{self.title}, at full size", *self.notes, self.listed) if said
        )

    def captioned(self, pen: Pen) -> "Plate":
        """The same drawing with its title and notes written below it, for a sheet that it shares."""
        x, y, width, height = self.box
        lines = [self.title, *(line for note in self.notes for line in wrapped(note, width=_LINE))]
        words, wide, high = caption(pen, lines, x=x, y=y + height + ROW / 3)
        box = (x, y, max(width, wide), height + ROW / 3 + high)
        return replace(self, drawing=self.drawing + words, box=box)


@dataclass(frozen=True, slots=True)
class DrawnPart:
    """One part of a piece as these drawings take it; its name is empty where the piece is all one part.

    `cuts` says by ring number and laminate how laminated segments are cut.
    """

    subject: Subject
    name: str = ""
    cuts: Mapping[tuple[int, str], CutList] = field(default_factory=dict)

    @property
    def first_layer(self) -> int:
        """How many layers of other parts are numbered before this part's."""
        return self.subject.first_layer

    def titled(self, words: str) -> str:
        """The words, with the part's name before them where it has one.

        >>> DrawnPart(None, "lid").titled("Section")
        'Lid: section'
        """
        return (
            f"{self.name[:1].upper()}{self.name[1:]}: {words[:1].lower()}{words[1:]}" if self.name else words
        )


def full_size_pen(*, unit: Unit, inches: InchStyle) -> Pen:
    """A pen that draws alike at any size of piece: hairlines of 0.15 mm."""
    return Pen(size=1.5, text=TEXT, unit=unit, inches=inches)


def caption(pen: Pen, lines: Sequence[str], *, x: float, y: float) -> tuple[str, float, float]:
    """Lines of text from the upper left corner, the first one bold; with how wide and how high they run."""
    drawn = "".join(
        element(
            "text",
            text_of(line),
            x=x,
            y=y + place * ROW + TEXT,
            font_size=TEXT,
            font_weight=None if place else 600,
            fill="currentColor",
        )
        for place, line in enumerate(lines)
    )
    return drawn, max(map(pen.width_of, lines), default=0.0), len(lines) * ROW


def label(
    text: str,
    *,
    x: float,
    y: float,
    anchor: str = "start",
    turn: float = 0.0,
    size: float = TEXT,
    bold: bool = False,
) -> str:
    """A text at a point, turned by degrees clockwise."""
    return element(
        "text",
        text_of(text),
        x=x,
        y=y,
        font_size=size,
        font_weight=600 if bold else None,
        text_anchor=anchor,
        fill="currentColor",
        transform=f"rotate({number(turn, 3)} {number(x)} {number(y)})" if turn else None,
    )


def centre_mark(pen: Pen, *, reach: float, x: float = 0.0, y: float = 0.0) -> str:
    """Two hairlines that cross at a centre."""
    d = f"M{number(x - reach)},{number(y)}H{number(x + reach)}M{number(x)},{number(y - reach)}V{number(y + reach)}"
    return hairlines(pen, d, opacity=1.0)


def circle(
    pen: Pen, radius: float, *, x: float = 0.0, y: float = 0.0, weight: float = 1.0, dashes: str | None = None
) -> str:
    """A circle in outline."""
    return element(
        "circle",
        cx=x,
        cy=y,
        r=number(radius, 3),
        fill="none",
        stroke="currentColor",
        stroke_width=weight * pen.line,
        stroke_dasharray=dashes,
    )


def around(*boxes: Box, margin: float = 0.0) -> Box:
    """The box about all boxes, and a margin."""
    left, upper = min(box[0] for box in boxes) - margin, min(box[1] for box in boxes) - margin
    right = max(box[0] + box[2] for box in boxes) + margin
    lower = max(box[1] + box[3] for box in boxes) + margin
    return left, upper, right - left, lower - upper


def said_numbers(numbers: Iterable[int]) -> str:
    """Numbers in order, runs and even steps said short.

    >>> said_numbers([1, 2, 3, 7]), said_numbers([1, 9, 17, 25]), said_numbers([4]), said_numbers([1, 2])
    ('1–3, 7', '1, 9 … 25', '4', '1, 2')
    """
    left, said = sorted(set(numbers)), []
    while left:
        step = left[1] - left[0] if len(left) > 1 else 0
        count = 1
        while count < len(left) and left[count] - left[count - 1] == step:
            count += 1
        if count > 2 and (step == 1 or count > 3):
            said.append(
                f"{left[0]}–{left[count - 1]}" if step == 1 else f"{left[0]}, {left[1]} … {left[count - 1]}"
            )
            left = left[count:]
        else:
            said.append(str(left.pop(0)))
    return ", ".join(said)


def named(what: str, numbers: Sequence[int]) -> str:
    """`ring 3`, or `rings 3–5`."""
    return f"{what}{'s' if len(set(numbers)) > 1 else ''} {said_numbers(numbers)}"


def said_angle(angle: float) -> str:
    """Radians in degrees as a saw is set, to the thousandth.

    >>> said_angle(0.1308996938995747), said_angle(0.0)
    ('7.5°', '0°')
    """
    return f"{degrees(angle):.3f}".rstrip("0").rstrip(".") + "°"


def cut_list(counts: Mapping[str, int]) -> str:
    """`24 maple, 12 walnut`."""
    return ", ".join(f"{count} {wood}" for wood, count in counts.items())


def wrapped(text: str, *, width: int) -> list[str]:
    """A text in lines of at most so many characters."""
    return wrap(text, width, break_long_words=False)


def sizes_of(pen: Pen, values: Iterable[float]) -> str:
    """One length, or from the least to the greatest where they differ as written."""
    all_values = list(values)
    low, high = pen.length(min(all_values)), pen.length(max(all_values))
    return low if low == high else f"{low} to {high}"


def layers_of(rings: Iterable[Ring]) -> list[int]:
    """Every layer of some rings."""
    return sorted(layer for ring in rings for layer in ring.layers)
