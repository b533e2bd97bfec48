"""A sheet of paper with full-size drawings on it: crop marks, neighbours' names, a map, and two lines to check by."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from estimating.picture.dimensions import Pen, hairlines
from estimating.picture.plates import TEXT, Plate, label
from estimating.picture.svg import document, element, number
from estimating.picture.tiling import Tile, Tiling, set_together

PaperName = Literal["a4", "letter"]

SIDE, HEAD, FOOT, STRIP = 10.0, 25.5, 29.0, 9.0
"""Kept free of the drawing on a sheet, mm: both sides, above, below, and at the right for the upright check line.

Common printers leave 4 to 7 mm of each edge blank; common practice, no source."""

HUNDRED_MM, FOUR_INCHES = 100.0, 4 * 25.4
_LINE_UP = 24.0
_SMALL = 0.85 * TEXT


@dataclass(frozen=True, slots=True)
class Paper:
    """A size of paper, upright, mm."""

    name: PaperName
    width: float
    height: float

    @property
    def window(self) -> tuple[float, float]:
        """Width and height of where a drawing may stand."""
        return self.width - 2 * SIDE - STRIP, self.height - HEAD - FOOT


PAPERS: Mapping[PaperName, Paper] = {
    "a4": Paper("a4", 210.0, 297.0),  # ISO 216
    "letter": Paper("letter", 8.5 * 25.4, 11 * 25.4),  # ANSI/ASME Y14.1, size A
}


@dataclass(frozen=True, slots=True)
class Sheet:
    """One page: its heading and notes, its name among a drawing's sheets, the whole page as SVG, and in words.

    `chapter` is the kind of drawing it belongs to. `notes` is empty where each drawing on the page carries its own.
    """

    chapter: str
    heading: str
    notes: str
    tile: str
    svg: str
    description: str


def tiled_sheets(chapter: str, plate: Plate, tiling: Tiling, *, paper: Paper, pen: Pen) -> Iterator[Sheet]:
    """The sheets of one drawing that is larger than a sheet."""
    count = len(tiling.tiles)
    for at in tiling.tiles:
        shift = (SIDE - at.x, HEAD - at.y)
        inside = element("g", plate.drawing, transform=_moved(*shift))
        joins = dict(tiling.neighbours(at))
        said = ", ".join(f"{name} joins {_WHERE[side]}" for side, name in joins.items())
        name = f"{at.name} of {count}"
        yield Sheet(
            chapter=chapter,
            heading=plate.title,
            notes=_sentences(plate),
            tile=name,
            svg=_page(
                [inside], [_crop_marks(tiling, joins, pen), _map(tiling, at, paper, pen)],
                paper=paper, pen=pen, title=f"{plate.title}, {name}", description=plate.description,
            ),
            description=f"{plate.description} Sheet {name}; {said}.",
        )  # fmt: skip


_WHERE = {"left": "at the left", "right": "at the right", "above": "above", "below": "below"}


def packed_sheets(chapter: str, plates: Sequence[Plate], *, paper: Paper, pen: Pen) -> Iterator[Sheet]:
    """Sheets of drawings that each fit one, as many together as there is room for with their captions."""
    captioned = [plate.captioned(pen) for plate in plates]
    # A drawing that leaves no room for its caption takes the whole sheet, with its notes at the head.
    sizes = [plate.box[2:] if _fits(plate, paper) else paper.window for plate in captioned]
    for places in set_together(sizes, window=paper.window):
        alone = len(places) == 1
        shown = [(plates if alone else captioned)[place.number] for place in places]
        title = shown[0].title if alone else chapter
        said = " ".join(plate.description for plate in shown)
        inside = [
            element(
                "g", plate.drawing, transform=_moved(SIDE + at.x - plate.box[0], HEAD + at.y - plate.box[1])
            )
            for plate, at in zip(shown, places, strict=True)
        ]
        svg = _page(inside, [], paper=paper, pen=pen, title=title, description=said)
        yield Sheet(
            chapter=chapter,
            heading=title,
            notes=_sentences(shown[0]) if alone else "",
            tile="",
            svg=svg,
            description=said,
        )


def _fits(plate: Plate, paper: Paper) -> bool:
    return plate.box[2] <= paper.window[0] and plate.box[3] <= paper.window[1]


def _sentences(plate: Plate) -> str:
    return " ".join(f"{note}." for note in plate.notes)


def _moved(right: float, down: float) -> str:
    return f"translate({number(right)} {number(down)})"


def _page(
    inside: Sequence[str], marks: Sequence[str], *, paper: Paper, pen: Pen, title: str, description: str
) -> str:
    width, height = paper.window
    window = element("clipPath", element("rect", x=SIDE, y=HEAD, width=width, height=height), id="window")
    return document(
        element("defs", window),
        element("g", *inside, clip_path="url(#window)"),
        *marks,
        check_lines(paper, pen),
        box=(0.0, 0.0, paper.width, paper.height),
        title=title,
        description=description,
        prefix="sheet",
        full_size=True,
    )


def check_lines(paper: Paper, pen: Pen) -> str:
    """100 mm along the foot and 4 inches up the right side, so that both ways a printer may stretch are measured."""
    x, y = SIDE, paper.height - _LINE_UP
    level = f"M{number(x)},{number(y)}H{number(x + HUNDRED_MM)}"
    ticks = "".join(
        f"M{number(x + 10 * n)},{number(y - (2 if n % 10 == 0 else 1))}v{2 if n % 10 == 0 else 1}"
        for n in range(11)
    )
    right, upper = paper.width - SIDE - 2, HEAD + 2
    upright = f"M{number(right)},{number(upper)}V{number(upper + FOUR_INCHES)}"
    ticks += "".join(
        f"M{number(right - (2 if n % 4 == 0 else 1))},{number(upper + 25.4 * n)}h{2 if n % 4 == 0 else 1}"
        for n in range(5)
    )
    middle = upper + FOUR_INCHES / 2
    return element(
        "g",
        *(_ink(d, pen) for d in (level, upright, ticks)),
        label("100 mm", x=x + HUNDRED_MM + 1.5, y=y, size=TEXT),
        label("4 in", x=right - 2.2, y=middle, anchor="middle", turn=-90, size=TEXT),
        class_="dw-check",
    )


def _ink(d: str, pen: Pen) -> str:
    return element("path", d=d, fill="none", stroke="currentColor", stroke_width=1.2 * pen.line)


def _crop_marks(tiling: Tiling, joins: Mapping[str, str], pen: Pen) -> str:
    """A cross at each corner in the middle of the overlap; where a sheet joins, a line to cut along and its name."""
    width, height = tiling.window
    inset = tiling.overlap / 2
    left, right = SIDE + inset, SIDE + width - inset
    upper, lower = HEAD + inset, HEAD + height - inset
    crosses = "".join(
        f"M{number(x - inset)},{number(y)}h{number(2 * inset)}M{number(x)},{number(y - inset)}v{number(2 * inset)}"
        for x in (left, right)
        for y in (upper, lower)
    )
    edges = {
        "left": (f"M{number(left)},{number(HEAD)}v{number(height)}", SIDE + 3.4, HEAD + height / 2, -90),
        "right": (
            f"M{number(right)},{number(HEAD)}v{number(height)}",
            SIDE + width - 1.6,
            HEAD + height / 2,
            -90,
        ),
        "above": (f"M{number(SIDE)},{number(upper)}h{number(width)}", SIDE + width / 2, HEAD + 3.4, 0),
        "below": (
            f"M{number(SIDE)},{number(lower)}h{number(width)}",
            SIDE + width / 2,
            HEAD + height - 1.6,
            0,
        ),
    }
    parts = [_ink(crosses, pen)]
    for side, name in joins.items():
        d, x, y, turn = edges[side]
        parts += [hairlines(pen, d, opacity=0.7, dashes="0.4 1.6"), _joined(f"joins {name}", x, y, turn, pen)]
    return element("g", *parts, class_="dw-crop")


def _joined(words: str, x: float, y: float, turn: int, pen: Pen) -> str:
    """A neighbour's name on ground of its own, since the drawing runs beneath it."""
    half = pen.width_of(words, share=_SMALL / TEXT) / 2 + 0.6
    ground = element(
        "rect",
        x=x - half,
        y=y - _SMALL,
        width=2 * half,
        height=1.3 * _SMALL,
        fill="#ffffff",
        transform=f"rotate({turn} {number(x)} {number(y)})" if turn else None,
    )
    return ground + label(words, x=x, y=y, anchor="middle", turn=turn, size=_SMALL)


def _map(tiling: Tiling, at: Tile, paper: Paper, pen: Pen) -> str:
    """How the sheets lie together, this one filled."""
    cell = min(5.0, 15.0 / tiling.rows, 34.0 / tiling.columns)
    left = paper.width - SIDE - tiling.columns * cell
    upper = paper.height - FOOT + 3.0
    cells = [
        element(
            "rect",
            x=left + tile.column * cell,
            y=upper + tile.row * cell,
            width=cell,
            height=cell,
            fill="currentColor" if tile == at else "none",
            stroke="currentColor",
            stroke_width=pen.line,
        )
        for tile in tiling.tiles
    ]
    return element("g", *cells, class_="dw-map")
