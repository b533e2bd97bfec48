"""What a board diagram is made of: the board's parts as plain figures, the pen it is written with, and it in words."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from estimating.quantities import InchStyle, Unit, format_length

CHARACTER = 0.53
"""Mean width of a character as a share of its size, near enough to leave room."""

SAME = 1e-6
"""mm; places nearer than this are one."""


@dataclass(frozen=True, slots=True)
class Area:
    """A rectangle on one plate of a board, mm: from its near end, and across from its near edge."""

    start: float
    across: float
    length: float
    width: float
    plate: int = 1


@dataclass(frozen=True, slots=True)
class NumberedStrip:
    """Where a strip lies, its number, and what it is for in a few words."""

    area: Area
    name: str
    use: str


@dataclass(frozen=True, slots=True)
class RipLine:
    """A cut along a plate, mm: from `start` to `end`, at `across` from the near edge."""

    start: float
    end: float
    across: float
    plate: int = 1


@dataclass(frozen=True, slots=True)
class BoardDrawing:
    """All that is drawn of one board. mm; `colour` #rrggbb; `defects` go through all its plates."""

    number: int
    wood: str
    colour: str | None
    length: float
    width: float
    thickness: float
    strips: tuple[NumberedStrip, ...]
    kept: tuple[Area, ...] = ()
    defects: tuple[Area, ...] = ()
    crosscuts: tuple[float, ...] = ()
    rips: tuple[RipLine, ...] = ()
    plates: int = 1
    plate_thickness: float = 0.0


@dataclass(frozen=True, slots=True)
class BoardPen:
    """How lengths and figures are written; `text` is their height in mm of the board."""

    text: float
    unit: Unit
    inches: InchStyle

    def length(self, mm: float) -> str:
        """As the shop writes it."""
        return format_length(mm, unit=self.unit, inches=self.inches)

    def said(self, mm: float) -> str:
        """Likewise, with its unit."""
        return format_length(mm, unit=self.unit, inches=self.inches, with_unit=True)

    @property
    def line(self) -> float:
        """A hairline."""
        return 0.06 * self.text

    def wide(self, words: str, share: float = 1.0) -> float:
        """About how wide words run."""
        return CHARACTER * self.text * share * len(words)


def describe_board(board: BoardDrawing, *, unit: Unit = "mm", inches: InchStyle = "fraction") -> str:
    """The diagram in words, for those who cannot see it."""
    pen = BoardPen(1.0, unit, inches)
    size = f"{pen.length(board.length)} × {pen.length(board.width)} × {pen.said(board.thickness)}"
    said = [f"Board {board.number}: {board.wood}, {size}."]
    if board.plates > 1:
        said.append(f"Resawn into {board.plates} plates of {pen.said(board.plate_thickness)}.")
    if board.defects:
        said.append(f"Not used: {_joined(_where(area, board, pen) for area in board.defects)}.")
    if board.crosscuts:
        said.append(f"Crosscut at {_joined(pen.said(at) for at in board.crosscuts)} from the near end.")
    said += [_strip_words(strip, board, pen) for strip in board.strips]
    kept = [f"{pen.length(area.length)} × {pen.said(area.width)}" for area in board.kept]
    said.append(f"Kept: {_joined(kept)}." if kept else "Nothing is kept.")
    return " ".join(said)


def _strip_words(strip: NumberedStrip, board: BoardDrawing, pen: BoardPen) -> str:
    area = strip.area
    plate = f"plate {area.plate}, " if board.plates > 1 else ""
    return (
        f"Strip {strip.name}: {plate}{pen.length(area.length)} long, {pen.length(area.width)} wide, from "
        f"{pen.length(area.start)} along and {pen.said(area.across)} across, for {strip.use}."
    )


def _where(area: Area, board: BoardDrawing, pen: BoardPen) -> str:
    along = f"from {pen.length(area.start)} to {pen.said(area.start + area.length)} along"
    if area.width >= board.width - SAME:
        return along
    return f"{along}, {pen.length(area.across)} to {pen.said(area.across + area.width)} across"


def _joined(words: Iterable[str]) -> str:
    said: Sequence[str] = list(words)
    return said[0] if len(said) == 1 else f"{', '.join(said[:-1])} and {said[-1]}"
