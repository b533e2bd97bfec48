"""Amounts side by side as plain bars from one line: each as long as its amount, hatched below nothing."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from estimating.picture.svg import document, element, number, text_of, wood_colour

_TEXT = 15.0
_ROW = 30.0
_BAR = 17.0
_LETTER = 0.56
"""Mean width of a letter by its height, on the wide side: room is kept, no line is set by it."""


@dataclass(frozen=True, slots=True)
class Bar:
    """Words, the amount as printed, how much it is in any unit, and a colour where it is a wood."""

    words: str
    printed: str
    amount: float
    colour: str | None = None


def draw_bars(
    bars: Sequence[Bar], *, title: str, description: str, upright: bool = False, prefix: str = "ba"
) -> str:
    """Bars one under another, all of one scale: the longest fills the width.

    Shape: an SVG element. Bars carry data-amount; one below nothing is as long as what is lacking, and hatched.
        `upright` sets the words above their bars, for a narrow screen. Ink is currentColor, wood alone has a colour.
    Errors: ValueError where there is no bar, or none that is anything but nothing.
    """
    most = max((abs(bar.amount) for bar in bars), default=0.0)
    if most <= 0:
        raise ValueError("a picture of amounts needs one that is not nothing")
    picture = _Picture(bars, most, upright, prefix)
    return document(*picture.drawn(), box=picture.box(), title=title, description=description, prefix=prefix)


class _Picture:
    """Rows of words, bar and amount."""

    def __init__(self, bars: Sequence[Bar], most: float, upright: bool, prefix: str) -> None:
        self.bars, self.upright, self.prefix = bars, upright, prefix
        self.width = 240.0 if upright else 560.0
        self.scale = self.width / most
        self.head = _TEXT * 1.3 if upright else 0.0
        self.row = _ROW + self.head
        self.words = max(len(bar.words) for bar in bars) * _TEXT * _LETTER
        self.left = 0.0 if upright else self.words + 12.0
        self.right = max(len(bar.printed) for bar in bars) * _TEXT * _LETTER + 10.0

    def drawn(self) -> Iterator[str]:
        """The hatching, then the rows from the top down."""
        line = element("path", d="M0,6 L6,0", stroke="currentColor", stroke_width=0.8, fill="none")
        pattern = element(
            "pattern", line, id=f"{self.prefix}-less", width=6, height=6, patternUnits="userSpaceOnUse"
        )
        yield element("defs", pattern)
        for at, bar in enumerate(self.bars):
            yield from self._row(at, bar)

    def _row(self, at: int, bar: Bar) -> Iterator[str]:
        top = at * self.row + self.head
        length = max(abs(bar.amount) * self.scale, 0.5)
        whole = "currentColor" if bar.colour is None else wood_colour(bar.colour)
        yield element(
            "rect", x=number(self.left), y=number(top), width=number(length), height=number(_BAR),
            stroke="currentColor", stroke_width=0.9, data_amount=number(bar.amount, 6),
            fill=whole if bar.amount >= 0 else f"url(#{self.prefix}-less)",
        )  # fmt: skip
        yield self._text(bar.words, 0.0, top - _TEXT * 0.4 if self.upright else top + _BAR - 3.5)
        yield self._text(bar.printed, self.left + length + 10.0, top + _BAR - 3.5)

    def _text(self, words: str, x: float, y: float) -> str:
        return element(
            "text", text_of(words), x=number(x), y=number(y), font_size=number(_TEXT), fill="currentColor",
            aria_hidden="true",
        )  # fmt: skip

    def box(self) -> tuple[float, float, float, float]:
        """Room for the bars and the words on both sides."""
        width = max(self.left + self.width + self.right, self.words)
        return (-2.0, -3.0, width + 4.0, len(self.bars) * self.row - _ROW + _BAR + 8.0)
