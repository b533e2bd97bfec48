"""What the steps are drawn from, and what is known of them so far: which step each ring and glue-up is ready after."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from estimating.glue.assembly import OF_RINGS, GlueUp
from estimating.glue.label import Times, times_at
from estimating.shape.build import Shape
from estimating.steps.book import Book
from estimating.work.glue_work import GlueWork
from estimating.work.operations import Job

DAY = 24 * 60.0
HOUR = 60.0


@dataclass
class Making:
    """A job while its steps are gathered. Pieces count from 1, rings and glue-ups by number.

    `cut` has the steps at the saw that each ring's segments come from, `ready` the step that a ring of a piece is ready
    for its stack after, `glued` the hands-on step of each glue-up of a piece, `done` the last step of it.
    """

    job: Job
    book: Book = field(default_factory=Book)
    cut: dict[int, list[str]] = field(default_factory=dict)
    ready: dict[tuple[int, int], str] = field(default_factory=dict)
    glued: dict[tuple[int, int], str] = field(default_factory=dict)
    done: dict[tuple[int, int], str] = field(default_factory=dict)

    @property
    def pieces(self) -> range:
        return range(1, self.job.pieces + 1)

    @cached_property
    def times(self) -> Times:
        """Set, press and cure at the bench's temperature."""
        return times_at(self.job.sheet.shop, self.job.sheet.label)

    @cached_property
    def work(self) -> GlueWork:
        """What is done by hand in each glue-up."""
        return GlueWork(self.job)

    @cached_property
    def ring_at(self) -> Mapping[int, int]:
        """The ring that each layer is or is sawn from, by their numbers."""
        return {layer: ring.number for ring in self.job.rings for layer in ring.layers}

    @cached_property
    def band_starts(self) -> frozenset[int]:
        """The first ring of each band."""
        return frozenset(
            min(ring.number for ring in shape.rings if ring.band == band)
            for shape in self.job.shapes
            for band in {ring.band for ring in shape.rings}
        )

    @cached_property
    def stackings(self) -> tuple[GlueUp, ...]:
        """The glue-ups that are more than rings and panels."""
        return tuple(one for one in self.job.glue_ups if one.kind not in (*OF_RINGS, "panel"))

    def shape_of(self, glue_up: GlueUp) -> Shape | None:
        """The part that a glue-up belongs to, by its layers; None where it joins two."""
        of = [shape for shape in self.job.shapes if set(glue_up.layers) & set(shape.layers)]
        return of[0] if len(of) == 1 else None

    def on_piece(self, piece: int) -> str:
        """The end of a step's name: which piece, where there are several."""
        return f", piece {piece}" if piece and self.job.pieces > 1 else ""

    def of_part(self, shape: Shape) -> str:
        """A part as a step's name says it, where there are several."""
        return f" of {shape.part.name}" if len(self.job.shapes) > 1 else ""


def in_words(numbers: Sequence[int], one: str, many: str) -> str:
    """Numbers of something in words.

    >>> in_words([1, 2, 3], "ring", "rings"), in_words([4], "ring", "rings"), in_words([1, 2, 5], "layer", "layers")
    ('rings 1 to 3', 'ring 4', 'layers 1, 2 and 5')
    """
    ordered = sorted(numbers)
    if len(ordered) == 1:
        return f"{one} {ordered[0]}"
    if len(ordered) == 2:
        return f"{many} {ordered[0]} and {ordered[1]}"
    if ordered[-1] - ordered[0] == len(ordered) - 1:
        return f"{many} {ordered[0]} to {ordered[-1]}"
    if len(ordered) > 8:
        return f"{len(ordered)} {many} from {ordered[0]} to {ordered[-1]}"
    return f"{many} {', '.join(map(str, ordered[:-1]))} and {ordered[-1]}"
