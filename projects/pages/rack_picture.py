"""A board as a small drawing to scale: its outline, and what of it is not used."""

from dataclasses import dataclass

from projects.models import Board, Studio
from projects.pages.rack_fields import written_defects


@dataclass(frozen=True, slots=True)
class Mark:
    """A defect as it is drawn, mm: from the left end, and from the far edge down."""

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
        """Its near edge."""
        return self.y + self.height


@dataclass(frozen=True, slots=True)
class BoardPicture:
    """A board seen from above, near edge below, mm. `share` is its length as a share of the page's longest, in %."""

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
        marks.append(Mark(x=defect[0], y=width - far, width=defect[1] - defect[0], height=far - near))
    unused = written_defects(board.defects, studio, parted_by="; ")
    words = f"not used, {studio.length_unit}: {unused}" if unused else "no defects noted"
    share = 100 * length / (longest or length)
    return BoardPicture(
        length=length, width=width, colour=board.wood.colour, marks=tuple(marks), words=words, share=share
    )
