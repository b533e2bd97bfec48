"""Where the money goes, as bars one under another: each as long as its amount, and begun where the last one ended."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import accumulate

from estimating.picture.svg import document, element, number, text_of

_TEXT = 15.0
_ROW = 30.0
_BAR = 17.0
_WIDTH = 640.0
_LETTER = 0.56
"""Mean width of a letter by its height, on the wide side: room is kept, no line is set by it."""


@dataclass(frozen=True, slots=True)
class Slice:
    """A part of what is paid: its words, its amount as printed, and how much it is, in any unit, not negative."""

    words: str
    printed: str
    amount: float


def draw_money(
    slices: Sequence[Slice],
    *,
    begins: Slice,
    title: str,
    description: str,
    upright: bool = False,
    prefix: str = "mo",
) -> str:
    """What is paid, and what of it goes where, from the top down; the last slice is what is left.

    Shape: an SVG element. All bars have one scale: what is paid is the longest, and those of the slices end to end are
        as long as it. What leaves is hatched, what is left is solid. `upright` sets the words above their bars, for a
        narrow screen. A slice of nothing is not drawn, but for the last.
    Bars carry data-amount. Ink is currentColor; money has no colour. `prefix` begins every id.
    Errors: ValueError where nothing is paid, where a slice is negative, or where the slices are not what is paid.
    """
    if begins.amount <= 0 or any(one.amount < 0 for one in slices):
        raise ValueError("money that is shared out is more than nothing, and so is each part of it")
    if abs(sum(one.amount for one in slices) - begins.amount) > 1e-6 * begins.amount:
        raise ValueError("the parts must be what is paid")
    shown = [one for one in slices[:-1] if one.amount > 0] + [slices[-1]]
    picture = _Picture(begins, shown, upright, prefix)
    return document(*picture.drawn(), box=picture.box(), title=title, description=description, prefix=prefix)


class _Picture:
    """Rows of words, bar and amount."""

    def __init__(self, begins: Slice, shown: Sequence[Slice], upright: bool, prefix: str) -> None:
        self.begins, self.shown, self.upright, self.prefix = begins, shown, upright, prefix
        self.scale = (300.0 if upright else _WIDTH) / begins.amount
        self.row = _ROW + (_TEXT * 1.3 if upright else 0.0)
        rows = (begins, *shown)
        widest = max(len(one.words) for one in rows) * _TEXT * _LETTER
        self.left = 0.0 if upright else widest + 12.0
        self.right = max(len(one.printed) for one in rows) * _TEXT * _LETTER + 10.0

    def drawn(self) -> Iterator[str]:
        """Hatching, rows, and the hairlines that carry the end of one bar to the start of the next."""
        line = element("path", d="M0,6 L6,0", stroke="currentColor", stroke_width=0.8, fill="none")
        pattern = element(
            "pattern", line, id=f"{self.prefix}-goes", width=6, height=6, patternUnits="userSpaceOnUse"
        )
        yield element("defs", pattern)
        yield from self._row(0, self.begins, self.begins.amount, solid=True)
        ends = accumulate((-one.amount for one in self.shown), initial=self.begins.amount)
        for at, (one, end) in enumerate(zip(self.shown, ends, strict=False), start=1):
            yield self._drop(at, end)
            yield from self._row(at, one, end, solid=at == len(self.shown))

    def _row(self, at: int, one: Slice, end: float, *, solid: bool) -> Iterator[str]:
        top = self._top(at)
        yield element(
            "rect", x=number(self.left + (end - one.amount) * self.scale), y=number(top),
            width=number(max(one.amount * self.scale, 0.5)), height=number(_BAR), stroke="currentColor",
            stroke_width=0.9, fill="currentColor" if solid else f"url(#{self.prefix}-goes)",
            data_amount=number(one.amount, 6),
        )  # fmt: skip
        weight = "600" if solid else None
        base = top - _TEXT * 0.4 if self.upright else top + _BAR - 3.5
        yield self._text(one.words, 0.0, base, weight=weight)
        at_x = self.left + self.begins.amount * self.scale + 10.0
        yield self._text(one.printed, at_x, top + _BAR - 3.5, weight=weight)

    def _drop(self, at: int, end: float) -> str:
        x = number(self.left + end * self.scale)
        above, below = number(self._top(at - 1) + _BAR), number(self._top(at))
        return element(
            "path", d=f"M{x},{above} V{below}", stroke="currentColor", stroke_width=0.5, fill="none"
        )

    def _top(self, at: int) -> float:
        return at * self.row + (_TEXT * 1.3 if self.upright else 0.0)

    def _text(self, words: str, x: float, y: float, *, weight: str | None) -> str:
        return element(
            "text", text_of(words), x=number(x), y=number(y), font_size=number(_TEXT), fill="currentColor",
            font_weight=weight, aria_hidden="true",
        )  # fmt: skip

    def box(self) -> tuple[float, float, float, float]:
        """Room for the bars and the words on both sides."""
        width = self.left + self.begins.amount * self.scale + self.right
        return (-2.0, -3.0, width + 4.0, self._top(len(self.shown)) + _BAR + 8.0)
