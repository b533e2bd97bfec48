"""What a card for one glue-up says: courses and joints as they lie in the hand, mix, hold, times, what to do first."""

from dataclasses import dataclass
from typing import Literal

from estimating.glue.assembly import GlueUp
from estimating.glue.holding import Hold, Range
from estimating.glue.label import Times
from estimating.glue.mixing import Mix

Side = Literal["dry", "coated"]
Task = Literal[
    "spacers",
    "true_halves",
    "true_faces",
    "turn_inside",
    "wipe_oily",
    "wax_mandrel",
    "set_pins",
    "bore",
    "dry_fit",
]
Warned = Literal[
    "sensitises", "isocyanates", "bonds_skin", "cleaner_burns", "mix_heats", "too_slow", "too_cold",
    "clamps_under_load", "starves",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Before:
    """What is done before the mix: the task, the layers or rings it is done to, mm where it has a measure, woods."""

    task: Task
    of: tuple[int, ...] = ()
    mm: float = 0.0
    woods: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class RingWork:
    """A ring in a glue-up of ends: `joints` glued now, each of `end_area` mm2; pull in the band from and to, N."""

    ring: int
    segments: int
    joints: int
    end_area: float
    band: Range


@dataclass(frozen=True, slots=True)
class Course:
    """A layer as it lies in the hand, and its faces that look down and up. mm, degrees anticlockwise seen from above.

    `turn_deg` is from the mark of the course it is set on to its own, both at the middle of segment 1, `along` the same
    along the outside; `mark_deg` from the mark of the first course. `outer` and `inner` are across the corners outside
    and the flats inside.
    """

    layer: int
    ring: int
    segments: int
    disc: bool
    thickness: float
    outer: float
    inner: float
    turn_deg: float = 0.0
    mark_deg: float = 0.0
    along: float = 0.0
    down: Side = "dry"
    up: Side = "dry"


@dataclass(frozen=True, slots=True)
class Joint:
    """Two faces that meet: of the layer below in the hand and the one set on it. mm2, mm.

    `area` is wood on wood; `coated` what is coated of each face, as a mean. Coat to the lines: on the face below
    between the circles `line_below`, inner and outer diameter, on the face above between those of `line_above`.
    """

    below: int
    above: int
    area: float
    coated: float
    line_below: tuple[float, float]
    line_above: tuple[float, float]


@dataclass(frozen=True)
class Card:
    """All that one glue-up of one piece asks for. mm, mm2, ml, minutes, N.

    `counts` is which way segments count round as one looks down on it: rim down they go clockwise, so patterns run the
    other way round. `mixes` are of one piece. `plug` is the wood, diameter and length of the plug that is glued in.
    """

    glue_up: GlueUp
    part: str
    before: tuple[Before, ...]
    rings: tuple[RingWork, ...]
    courses: tuple[Course, ...]
    joints: tuple[Joint, ...]
    end_area: float
    face_area: float
    coated_area: float
    ml: float
    mixes: tuple[Mix, ...]
    times: Times
    coat_minutes: float
    hold: Hold
    cautions: tuple[Warned, ...]
    counts: Literal["anticlockwise", "clockwise"] = "anticlockwise"
    plug: tuple[str, float, float] | None = None

    @property
    def spreads_in_time(self) -> bool:
        """Whether coating and closing end within the working time."""
        return self.coat_minutes <= self.times.working + 1e-9
