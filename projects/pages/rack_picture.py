"""A board as a small drawing to scale: its outline, and what of it is not used."""

from dataclasses import dataclass

from projects.models import Board, Studio
from projects.templatetags.turnery import size


@dataclass(frozen=True, slots=True)
class Mark:
    """A defect as it is drawn, mm: from the left end, and from the near edge down."""

    x: float
    y: float
    width: float
    height: float

    @property
    def right(self) -> float:
        """Its end."""
        return self.x + self.width

    @property
    def bottom(self) -> float:
        """Its edge away from the near one."""
        return self.y + self.height


@dataclass(frozen=True, slots=True)
class BoardPicture:
    """A board seen from above, near edge on top as in the saw's diagrams, mm.

    `share` is its length as a share of the page's longest, in %.
    """

    length: float
    width: float
    colour: str
    marks: tuple[Mark, ...]
    words: str
    share: float = 100.0


def picture_of(board: Board, *, studio: Studio, longest: float | None = None) -> BoardPicture:
    """A board's drawing, beside others of which the longest is so many mm."""
    length, width = float(board.length), float(board.width)
    marks = []
    for defect in board.defects:
        near, far = defect[2:] or (0.0, width)
        marks.append(Mark(x=defect[0], y=near, width=defect[1] - defect[0], height=far - near))
    share = 100 * length / (longest or length)
    return BoardPicture(
        length=length,
        width=width,
        colour=board.wood.colour,
        marks=tuple(marks),
        words=_words(board, studio),
        share=share,
    )


def _words(board: Board, studio: Studio) -> str:
    """What is not used, as a caption says it."""
    spans = [
        f"{size(defect[0], studio)} to {size(defect[1], studio)}"
        + (
            f" ({size(defect[2], studio)} to {size(defect[3], studio)} from the near edge)"
            if defect[2:]
            else ""
        )
        for defect in board.defects
    ]
    return f"not used, {studio.length_unit}: {', '.join(spans)}" if spans else "no defects noted"
