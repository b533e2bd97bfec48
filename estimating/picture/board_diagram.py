"""A board to scale with all that is sawn from it: trims, defects, crosscuts, rips, numbered strips, what is kept."""

from collections.abc import Iterator
from dataclasses import dataclass
from math import ceil

from estimating.picture.board_parts import (
    SAME,
    Area,
    BoardDrawing,
    BoardPen,
    NumberedStrip,
    RipLine,
    describe_board,
)
from estimating.picture.svg import (
    INK,
    PAPER,
    document,
    element,
    joint_colour,
    number,
    outline,
    text_of,
    wood_colour,
)
from estimating.quantities import InchStyle, Unit

__all__ = ["Area", "BoardDrawing", "NumberedStrip", "RipLine", "describe_board", "draw_board"]

_LEAST = 0.62
"""No figure is written smaller than this share of the usual size."""


@dataclass(frozen=True, slots=True)
class _Stretch:
    """A part of one plate's length that is drawn in a row of its own, and where its near edge lies on the drawing.

    `rest`: what lies beyond it is kept whole, and not drawn.
    """

    plate: int
    start: float
    end: float
    y: float
    rest: bool = False

    def spans(self, area: Area) -> tuple[float, float] | None:
        """The part of an area's length that shows in this row, None where none does."""
        left, right = max(area.start, self.start), min(area.start + area.length, self.end)
        return (left - self.start, right - self.start) if right - left > SAME else None


def draw_board(
    board: BoardDrawing,
    *,
    unit: Unit = "mm",
    inches: InchStyle = "fraction",
    fold: float = 800.0,
    text: float = 13.0,
    prefix: str = "board",
) -> str:
    """A board's diagram as SVG, 1 unit to 1 mm of the board.

    Shape: the near end is at the left, the near edge at the top. A board longer than `fold` is drawn in even lengths
        one below the other, so that its strips are large enough to be read; its plates likewise. Lengths at the far
        end that are kept whole are left out. `text` is the figures' height in mm of the board. Every board drawn with
        one `fold` and `text` is to one scale.
    Errors: none. A wood without a colour is grey; words are escaped.
    """
    pen = BoardPen(text, unit, inches)
    left = 2.6 * text
    rows = list(_stretches(board, fold=fold, text=text))
    parts = [part for row in rows for part in _row(board, row, pen)]
    bottom = rows[-1].y + board.width + 1.9 * text
    return document(
        *parts,
        box=(-left, -2.4 * text, left + fold + 1.2 * text, bottom + 2.4 * text),
        title=f"Board {board.number}, {board.wood}",
        description=describe_board(board, unit=unit, inches=inches),
        prefix=prefix,
    )


def _stretches(board: BoardDrawing, *, fold: float, text: float) -> Iterator[_Stretch]:
    rows = max(1, ceil(board.length / fold - SAME))
    each, y = board.length / rows, 0.0
    for plate in range(1, board.plates + 1):
        busy = [row for row in range(rows) if not _is_kept(board, plate, row * each + text, (row + 1) * each)]
        last = max(busy, default=0)
        for row in range(last + 1):
            yield _Stretch(plate, row * each, (row + 1) * each, y, rest=row == last < rows - 1)
            y += board.width + 3.6 * text


def _is_kept(board: BoardDrawing, plate: int, start: float, end: float) -> bool:
    """Whether a stretch is nothing but a part of an offcut as wide as the board; a kerf at its beginning aside."""
    return any(
        area.plate == plate
        and area.width >= board.width - SAME
        and area.start <= start + SAME
        and area.start + area.length >= end - SAME
        for area in board.kept
    )


def _row(board: BoardDrawing, row: _Stretch, pen: BoardPen) -> Iterator[str]:
    whole = Area(row.start, 0.0, row.end - row.start, board.width, row.plate)
    yield _rect(row, whole, pen, fill=PAPER, stroke="none")
    yield _hatched(row, whole, pen, step=0.9 * pen.text, opacity=0.45, kind="waste")
    for area in board.kept:
        if area.plate == row.plate:
            yield from _offcut(board, row, area, pen)
    for strip in board.strips:
        if strip.area.plate == row.plate:
            yield from _strip(board, row, strip, pen)
    for area in board.defects:
        yield from _defect(row, area, pen)
    yield _rip_lines(board, row, pen)
    yield _edges(board, row, pen)
    yield from _crosscuts(board, row, pen)
    yield from _measures(board, row, pen)


def _rect(row: _Stretch, area: Area, pen: BoardPen, **drawn: str | float | None) -> str:
    span = row.spans(area)
    if span is None:
        return ""
    usual: dict[str, str | float | None] = {"stroke_width": number(pen.line, 3)}
    return element(
        "rect",
        x=span[0],
        y=row.y + area.across,
        width=span[1] - span[0],
        height=area.width,
        **{**usual, **drawn},
    )


def _hatched(
    row: _Stretch, area: Area, pen: BoardPen, *, step: float, opacity: float, kind: str, both: bool = False
) -> str:
    """Slanted lines over an area, from the lower left to the upper right; both ways over what must not be used."""
    span = row.spans(area)
    if span is None:
        return ""
    wide, high = span[1] - span[0], area.width
    lines = []
    for along in _steps(wide + high, step):
        first, last = max(0.0, along - high), min(along, wide)
        upper, lower = row.y + area.across + along - first, row.y + area.across + along - last
        lines.append(outline((span[0] + first, span[0] + last), (upper, lower), closed=False))
        if both:
            mirrored = (span[1] - first, span[1] - last)
            lines.append(outline(mirrored, (upper, lower), closed=False))
    return element(
        "path",
        d="".join(lines),
        fill="none",
        stroke="currentColor",
        stroke_width=number(0.6 * pen.line, 3),
        stroke_opacity=opacity,
        class_=f"dw-{kind}",
    )


def _steps(reach: float, step: float) -> Iterator[float]:
    at = step
    while at < reach:
        yield at
        at += step


def _strip(board: BoardDrawing, row: _Stretch, strip: NumberedStrip, pen: BoardPen) -> Iterator[str]:
    colour = wood_colour(board.colour)
    span = row.spans(strip.area)
    if span is None:
        return
    yield _rect(row, strip.area, pen, fill=colour, stroke=INK, class_="dw-strip", data_strip=strip.name)
    tall, room = strip.area.width, span[1] - span[0] - 0.4 * pen.text
    share = min(1.0, max(_LEAST, 0.8 * tall / pen.text))
    words = f"{strip.name} · {strip.use}"
    if pen.wide(words, share) > room:
        words = strip.name
        share = min(share, room / pen.wide(words))
    if share < _LEAST and strip.area.length > span[1] - span[0] + SAME:
        return  # the row that shows more of it has its name
    middle = row.y + strip.area.across + tall / 2
    yield _write(
        words, pen, x=(span[0] + span[1]) / 2, y=middle, share=share, fill=joint_colour(colour), bold=True
    )


def _offcut(board: BoardDrawing, row: _Stretch, area: Area, pen: BoardPen) -> Iterator[str]:
    span = row.spans(area)
    if span is None:
        return
    dashes = f"{number(0.5 * pen.text)} {number(0.3 * pen.text)}"
    yield _rect(row, area, pen, fill=PAPER, stroke="none")
    yield _rect(
        row,
        area,
        pen,
        fill=wood_colour(board.colour),
        fill_opacity="0.3",
        stroke=INK,
        stroke_dasharray=dashes,
        class_="dw-kept",
    )
    words = f"keep {pen.length(area.length)} × {pen.length(area.width)}"
    if pen.wide(words) > span[1] - span[0]:
        words = "keep"
    if pen.wide(words) <= span[1] - span[0]:
        middle = row.y + area.across + area.width / 2
        yield _write(words, pen, x=(span[0] + span[1]) / 2, y=middle, fill=INK)


def _defect(row: _Stretch, area: Area, pen: BoardPen) -> Iterator[str]:
    span = row.spans(area)
    if span is None:
        return
    yield _rect(row, area, pen, fill=PAPER, stroke="currentColor", class_="dw-defect")
    yield _hatched(row, area, pen, step=0.6 * pen.text, opacity=0.8, kind="not-used", both=True)
    words = "not used"
    if pen.wide(words) + pen.text < span[1] - span[0] and area.width > 1.6 * pen.text:
        middle, x = row.y + area.across + area.width / 2, (span[0] + span[1]) / 2
        half = pen.wide(words) / 2 + 0.3 * pen.text
        yield element(
            "rect", x=x - half, y=middle - 0.7 * pen.text, width=2 * half, height=1.4 * pen.text, fill=PAPER
        )
        yield _write(words, pen, x=x, y=middle, fill=INK)


def _rip_lines(board: BoardDrawing, row: _Stretch, pen: BoardPen) -> str:
    """Dashed, along each fence cut."""
    lines = []
    for rip in board.rips:
        if rip.plate != row.plate:
            continue
        span = row.spans(Area(rip.start, rip.across, rip.end - rip.start, 0.0))
        if span is not None:
            lines.append(f"M{number(span[0])},{number(row.y + rip.across)}H{number(span[1])}")
    if not lines:
        return ""
    dashes = f"{number(0.9 * pen.text)} {number(0.25 * pen.text)} {number(0.12 * pen.text)} {number(0.25 * pen.text)}"
    return element(
        "path",
        d="".join(lines),
        fill="none",
        stroke="currentColor",
        stroke_width=number(1.2 * pen.line, 3),
        stroke_dasharray=dashes,
        class_="dw-rip",
    )


def _edges(board: BoardDrawing, row: _Stretch, pen: BoardPen) -> str:
    """The board's own outline; where it goes on in the next row, a dotted end."""
    length, lower = row.end - row.start, row.y + board.width
    solid = f"M0,{number(row.y)}H{number(length)}M0,{number(lower)}H{number(length)}"
    dotted = ""
    for x, is_end in ((0.0, row.start < SAME), (length, row.end > board.length - SAME)):
        line = f"M{number(x)},{number(row.y)}V{number(lower)}"
        solid, dotted = (solid + line, dotted) if is_end else (solid, dotted + line)
    drawn = [_ink(solid, 1.6 * pen.line)]
    if dotted:
        drawn.append(_ink(dotted, pen.line, dashes=f"{number(0.12 * pen.text)} {number(0.3 * pen.text)}"))
    return element("g", *drawn, class_="dw-board")


def _ink(d: str, width: float, *, dashes: str | None = None) -> str:
    return element(
        "path",
        d=d,
        fill="none",
        stroke="currentColor",
        stroke_width=number(width, 3),
        stroke_dasharray=dashes,
    )


def _crosscuts(board: BoardDrawing, row: _Stretch, pen: BoardPen) -> Iterator[str]:
    """Thick lines across, each with where it is from the near end; names side by side move apart."""
    free = -pen.text
    for at in board.crosscuts:
        # A cut where two rows meet is drawn where its row begins.
        if not row.start - SAME <= at < row.end - SAME:
            continue
        x, words = at - row.start, pen.length(at)
        overhang = 0.5 * pen.text
        d = f"M{number(x)},{number(row.y - overhang)}V{number(row.y + board.width + overhang)}"
        yield element(
            "g",
            _ink(d, 2.4 * pen.line),
            _write(words, pen, x=max(x, free + pen.wide(words) / 2), y=row.y - 1.1 * pen.text, bold=True),
            class_="dw-crosscut",
            data_at=number(at),
        )
        free = max(x, free + pen.wide(words) / 2) + pen.wide(words) / 2 + 0.5 * pen.text


def _measures(board: BoardDrawing, row: _Stretch, pen: BoardPen) -> Iterator[str]:
    """The width at the left; below, from where to where the row runs."""
    yield _width_measure(board, row, pen)
    yield _length_measure(board, row, pen)


def _width_measure(board: BoardDrawing, row: _Stretch, pen: BoardPen) -> str:
    x, tick = -0.9 * pen.text, 0.3 * pen.text
    lower = row.y + board.width
    d = f"M{number(x)},{number(row.y)}V{number(lower)}"
    for y in (row.y, lower):
        d += f"M{number(x - tick)},{number(y + tick)}L{number(x + tick)},{number(y - tick)}"
    return element(
        "g",
        _ink(d, pen.line),
        element(
            "text",
            text_of(pen.length(board.width)),
            x=x - 0.5 * pen.text,
            y=(row.y + lower) / 2,
            font_size=pen.text,
            text_anchor="middle",
            fill="currentColor",
            transform=f"rotate(-90 {number(x - 0.5 * pen.text)} {number((row.y + lower) / 2)})",
        ),
        class_="dw-dimension",
        data_dimension="width",
    )


def _length_measure(board: BoardDrawing, row: _Stretch, pen: BoardPen) -> str:
    tick = 0.3 * pen.text
    length, y = row.end - row.start, row.y + board.width + 0.75 * pen.text
    d = f"M0,{number(y)}H{number(length)}"
    for x in (0.0, length):
        d += f"M{number(x - tick)},{number(y + tick)}L{number(x + tick)},{number(y - tick)}"
    words = f"{pen.length(row.start)} to {pen.length(row.end)}"
    if board.plates > 1:
        words = f"plate {row.plate}: {words}"
    if row.rest:
        words += f"; the rest, to {pen.length(board.length)}, is kept whole"
    half = pen.wide(words) / 2 + 0.4 * pen.text
    middle = length / 2
    return element(
        "g",
        _ink(d, pen.line),
        element(
            "rect", x=middle - half, y=y - 0.6 * pen.text, width=2 * half, height=1.2 * pen.text, fill=PAPER
        ),
        _write(words, pen, x=middle, y=y),
        class_="dw-dimension",
        data_dimension="length",
    )


def _write(
    words: str,
    pen: BoardPen,
    *,
    x: float,
    y: float,
    share: float = 1.0,
    fill: str = "currentColor",
    bold: bool = False,
) -> str:
    """Words about a middle."""
    return element(
        "text",
        text_of(words),
        x=x,
        y=y + 0.35 * share * pen.text,
        font_size=share * pen.text,
        text_anchor="middle",
        fill=fill,
        font_weight=600 if bold else None,
    )
