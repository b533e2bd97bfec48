"""A drawing at full size cut into sheets that join again, and small drawings set together on one sheet. mm."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import ceil, isfinite

from estimating.errors import InvalidInput

OVERLAP = 10.0
"""How much of a drawing two neighbouring sheets share, so that one can be laid over the other."""

CLEAR = 7.0
"""What stays free between two drawings on one sheet."""

MOST_TILES = 120
"""More sheets than this to one drawing are a mistake in its size, or nothing that anyone would join."""

_MORE = 1e-6
_BEFORE = 0.2
Box = tuple[float, float, float, float]
"""x, y, width and height of a drawing, in its own coordinates."""


@dataclass(frozen=True, slots=True)
class Tile:
    """One sheet's part of a drawing: row and column from 0, and where its window begins in the drawing."""

    row: int
    column: int
    x: float
    y: float

    @property
    def name(self) -> str:
        """Row as a letter, column as a number.

        >>> Tile(1, 2, 0.0, 0.0).name, Tile(27, 0, 0.0, 0.0).name
        ('B3', 'AB1')
        """
        return f"{_letters(self.row)}{self.column + 1}"


@dataclass(frozen=True, slots=True)
class Tiling:
    """A drawing's sheets, row by row; `window` is the width and height of what each shows."""

    rows: int
    columns: int
    window: tuple[float, float]
    overlap: float
    tiles: tuple[Tile, ...]

    @property
    def step(self) -> tuple[float, float]:
        """From one window to the next, across and down."""
        return self.window[0] - self.overlap, self.window[1] - self.overlap

    @property
    def is_whole(self) -> bool:
        """Whether the drawing stands on one sheet."""
        return len(self.tiles) == 1

    def neighbours(self, tile: Tile) -> Iterator[tuple[str, str]]:
        """The side and the name of each sheet that joins this one."""
        for side, down, across in (("left", 0, -1), ("right", 0, 1), ("above", -1, 0), ("below", 1, 0)):
            row, column = tile.row + down, tile.column + across
            if 0 <= row < self.rows and 0 <= column < self.columns:
                yield side, self.tiles[row * self.columns + column].name


def tile(box: Box, *, window: tuple[float, float], overlap: float = OVERLAP) -> Tiling:
    """Cut a drawing into as few sheets of one window as show it all.

    Neighbours share `overlap`; each is trimmed through the middle of it, and only along the edges that join.
    Errors: InvalidInput at `paper` where it would take more than MOST_TILES, at `overlap` where the window is no
        larger.
    """
    x, y, width, height = box
    if not 0 <= overlap < min(window):
        raise InvalidInput("overlap", f"must be 0 or more and less than the {min(window):.5g} mm of a sheet")
    across, down = (window[axis] - overlap for axis in (0, 1))
    columns, rows = _count(width - overlap, across), _count(height - overlap, down)
    if columns * rows > MOST_TILES:
        reason = (
            f"a drawing of {width:.0f} x {height:.0f} mm would take {columns * rows} sheets, and "
            f"{MOST_TILES} are the most; use larger paper or leave it out"
        )
        raise InvalidInput("paper", reason)
    # Off the middle, so that no cut runs along the axis of what is the same on both sides of it.
    left = round(x - (columns * across + overlap - width) * _BEFORE, 2)
    upper = round(y - (rows * down + overlap - height) * _BEFORE, 2)
    tiles = tuple(
        Tile(row, column, left + column * across, upper + row * down)
        for row in range(rows)
        for column in range(columns)
    )
    return Tiling(rows, columns, window, overlap, tiles)


def _count(length: float, step: float) -> int:
    if not isfinite(length):
        raise InvalidInput("paper", "a drawing without end fits no paper")
    return max(1, ceil((length - _MORE) / step))


def _letters(number: int) -> str:
    more, letter = divmod(number, 26)
    return (_letters(more - 1) if more else "") + chr(ord("A") + letter)


@dataclass(frozen=True, slots=True)
class Place:
    """Where a small drawing stands on a sheet: which one, and the upper left corner of its box."""

    number: int
    x: float
    y: float


def set_together(
    sizes: Sequence[tuple[float, float]], *, window: tuple[float, float], clear: float = CLEAR
) -> list[list[Place]]:
    """Set drawings that each fit a sheet in rows, in their order, as many to a sheet as there is room for.

    Errors: ValueError where one is larger than the window.
    """
    sheets: list[list[Place]] = []
    x = y = row = 0.0
    for number, (width, height) in enumerate(sizes):
        if width > window[0] + _MORE or height > window[1] + _MORE:
            raise ValueError(f"drawing {number} is larger than a sheet")
        if x and x + width > window[0] + _MORE:
            x, y, row = 0.0, y + row + clear, 0.0
        if not sheets or y + height > window[1] + _MORE:
            sheets.append([])
            x = y = row = 0.0
        sheets[-1].append(Place(number, x, y))
        x, row = x + width + clear, max(row, height)
    return sheets
