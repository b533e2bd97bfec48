"""The saw's work of one estimate as the bench book and the page show it: diagrams, lists and proofs."""

import hashlib
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from math import degrees, floor, pi, radians
from typing import TYPE_CHECKING, cast

from estimating.quantities import unit_in_mm
from projects.models import Studio
from projects.templatetags.turnery import size

if TYPE_CHECKING:
    from estimating.estimate import Estimate
    from estimating.picture.board_diagram import Area, BoardDrawing
    from estimating.piece import ShopSettings
    from estimating.quantities import InchStyle, Unit
    from estimating.shape.rings import Ring
    from estimating.wood.needs import Needs
    from estimating.wood.saw_boards import BoardWork, Fence, Planing
    from estimating.wood.saw_list import Angle, Pieces, SawList, Stop
    from estimating.wood.species import Species
    from estimating.wood.strips import CuttingPlan

MITER_ERRORS_DEG = (0.05, 0.1, 0.25)
BLADE_ERRORS_DEG = (0.1, 0.25, 0.5)
"""Degrees a setting may well be off: what the proof shows the consequences of."""

SEEN_GAP = 0.1
"""mm: about what is still seen as a line of glue; common practice, no source."""


@dataclass(frozen=True, slots=True)
class MiterError:
    """What a miter that is off by so many degrees does. mm; the halves' figures are None where there are none."""

    error_deg: float
    opening_deg: float
    gap: float
    straightedge: float | None
    out_of_round: float | None


@dataclass(frozen=True, slots=True)
class BladeError:
    """What a blade out of square by so many degrees does, mm, and whether the shop's flattening takes it off."""

    error_deg: float
    dish: float
    flattened: bool


@dataclass(frozen=True, slots=True)
class Proof:
    """How far one angle of the saw may be off, on the ring that shows it most. degrees and mm.

    `miter_deg` and `tilt_deg` are what the joints are sawn to; `halves` whether it has halves to lay a straightedge on.
    `miters` is empty for staves that lean, `blades` for any staves.
    """

    miter_deg: float
    tilt_deg: float
    ring: "Ring"
    halves: bool
    miters: tuple[MiterError, ...]
    blades: tuple[BladeError, ...]
    close_enough_deg: float
    square_enough_deg: float

    @property
    def angle(self) -> tuple[Decimal, Decimal]:
        """Miter and tilt as they are recorded: degrees to the thousandth."""
        return _recorded(self.miter_deg), _recorded(self.tilt_deg)


@dataclass(frozen=True, slots=True)
class AngleWork:
    """One angle of the saw, its stops with what is set as written, and its proof where its joints close a ring."""

    angle: "Angle"
    stops: "tuple[tuple[str, Stop], ...]"
    miter_deg: float
    tilt_deg: float
    proof: Proof | None

    @property
    def key(self) -> tuple[Decimal, Decimal]:
        """Miter and tilt as they are recorded."""
        return _recorded(self.miter_deg), _recorded(self.tilt_deg)


def _recorded(angle_deg: float) -> Decimal:
    return round(Decimal(angle_deg), 3)


@dataclass(frozen=True, slots=True)
class BoardSheet:
    """A board, the name and colour of its wood, its diagram as SVG and in words."""

    work: "BoardWork"
    wood: str
    colour: str
    svg: str
    words: str


@dataclass(frozen=True, slots=True)
class BenchSheets:
    """All the saw's work, fences and planer with what is set, as it is written. `mark` changes when any of it does."""

    work: "SawList"
    fences: "tuple[tuple[str, Fence], ...]"
    planings: "tuple[tuple[str, Planing], ...]"
    boards: tuple[BoardSheet, ...]
    angles: tuple[AngleWork, ...]
    mark: str

    @property
    def proofs(self) -> tuple[Proof, ...]:
        """One for each angle that closes rings."""
        return tuple(at.proof for at in self.angles if at.proof is not None)


@dataclass(frozen=True)
class Sawn:
    """What is sawn: a plan, what it was made for, the rings by the numbers it knows them by, and the woods."""

    cutting: "CuttingPlan"
    needs: "Needs"
    rings: "Sequence[Ring]"
    pieces: "Pieces"
    shop: "ShopSettings"
    woods: "Mapping[str, Species]"


def bench_sheets(estimate: "Estimate", *, studio: Studio, fold: float, text: float) -> BenchSheets:
    """The saw's work of an estimate. `fold` and `text` as estimating.picture.board_diagram takes them."""
    sheet = estimate.sheet
    sawn = Sawn(
        estimate.cutting,
        estimate.needs,
        estimate.rings,
        sheet.quantity,
        sheet.shop,
        estimate.workshop.woods,
    )
    return sheets_of(sawn, studio=studio, fold=fold, text=text)


def sheets_of(sawn: Sawn, *, studio: Studio, fold: float, text: float) -> BenchSheets:
    """The saw's work of a plan, of one job or of several. Errors: ValueError for a plan made for other needs."""
    from estimating.wood.saw_list import saw_list

    work = saw_list(sawn.cutting, needs=sawn.needs, rings=sawn.rings, pieces=sawn.pieces, shop=sawn.shop)
    boards = tuple(_board_sheets(work, sawn, studio, fold=fold, text=text))
    angles = tuple(_angles(work, sawn, studio))
    fences = written_apart([fence.width for fence in work.fences], studio)
    planings = written_apart([planing.to for planing in work.planings], studio)
    return BenchSheets(
        work,
        fences=tuple(zip(fences, work.fences, strict=True)),
        planings=tuple(zip(planings, work.planings, strict=True)),
        boards=boards,
        angles=angles,
        mark=hashlib.sha256(repr(work).encode()).hexdigest()[:16],
    )


def written_apart(settings: Sequence[float], studio: Studio) -> list[str]:
    """Settings in mm as the shop writes lengths; those that would read alike, with as many decimals as part them.

    Fractions of an inch that read alike are written in decimals.
    """
    usual = [size(mm, studio) for mm in settings]
    measure = unit_in_mm(cast("Unit", studio.length_unit))
    alike = Counter(usual)
    for places in (2, 3, 4):
        finer = [f"{mm / measure:.{places}f}" for mm in settings]
        said = [exact if alike[short] > 1 else short for short, exact in zip(usual, finer, strict=True)]
        if len(set(said)) == len(said):
            break
    return said


def _board_sheets(
    work: "SawList", sawn: Sawn, studio: Studio, *, fold: float, text: float
) -> Iterator[BoardSheet]:
    from estimating.picture.board_diagram import describe_board, draw_board

    unit, inches = cast("Unit", studio.length_unit), cast("InchStyle", studio.inch_style)
    for board in work.boards:
        species = sawn.woods[board.board.wood]
        drawing = board_drawing(board, wood=species.name, colour=species.colour)
        yield BoardSheet(
            work=board,
            wood=species.name,
            colour=species.colour,
            svg=draw_board(
                drawing, unit=unit, inches=inches, fold=fold, text=text, prefix=f"board-{board.number}"
            ),
            words=describe_board(drawing, unit=unit, inches=inches),
        )


def board_drawing(work: "BoardWork", *, wood: str, colour: str) -> "BoardDrawing":
    """A board's work as its diagram takes it."""
    from estimating.picture.board_diagram import Area, BoardDrawing, NumberedStrip, RipLine

    board = work.board
    ends = {blank.number: blank.stop or board.length for blank in work.blanks}
    cuts = [at for blank in work.blanks for at in (blank.start, blank.stop) if at]

    def end_of(start: float) -> float:
        return next(ends[blank.number] for blank in reversed(work.blanks) if blank.start <= start + 1e-6)

    return BoardDrawing(
        number=work.number,
        wood=wood,
        colour=colour,
        length=board.length,
        width=board.width,
        thickness=board.thickness,
        strips=tuple(
            NumberedStrip(
                Area(
                    placed.strip.start,
                    placed.strip.across,
                    placed.strip.length,
                    placed.strip.rip_width,
                    placed.strip.plate,
                ),
                placed.name,
                ring_words(placed.strip.rings),
            )
            for placed in work.strips
        ),
        kept=tuple(Area(cut.start, cut.across, cut.length, cut.width, cut.plate) for cut in board.offcuts),
        defects=tuple(_defect_area(defect, board.width) for defect in board.defects),
        crosscuts=tuple(sorted(set(cuts))),
        rips=tuple(
            RipLine(lane.start, end_of(lane.start), lane.across + lane.width, lane.plate)
            for lane in work.lanes
        ),
        plates=board.plates,
        plate_thickness=board.plate_thickness,
    )


def _defect_area(defect: Sequence[float], width: float) -> "Area":
    from estimating.picture.board_diagram import Area

    start, end, near, far = defect if len(defect) == 4 else (*defect, 0.0, width)
    return Area(start, near, end - start, far - near)


def ring_words(rings: Sequence[int]) -> str:
    """`ring 3`, `rings 3, 4`."""
    return f"ring{'s' if len(rings) > 1 else ''} {', '.join(map(str, rings))}"


def _angles(work: "SawList", sawn: Sawn, studio: Studio) -> Iterator[AngleWork]:
    known = {ring.number: ring for ring in sawn.rings}
    for angle in work.angles:
        closing = [known[number] for number in _closing(angle)]
        proof = _proof(closing, flatten=sawn.shop.flatten) if closing else None
        stops = written_apart([stop.length for stop in angle.stops], studio)
        yield AngleWork(
            angle,
            stops=tuple(zip(stops, angle.stops, strict=True)),
            miter_deg=proof.miter_deg if proof else degrees(angle.miter),
            tilt_deg=proof.tilt_deg if proof else degrees(angle.tilt),
            proof=proof,
        )


def _closing(angle: "Angle") -> list[int]:
    """The rings whose joints are sawn at this angle, or along the edges of the staves cut at it."""
    kinds = ("segment", "stave")
    return sorted({line.ring for stop in angle.stops for line in stop.lines if line.cut in kinds})


def _proof(rings: Sequence["Ring"], *, flatten: float) -> Proof:
    """Of the ring with the farthest corners and widest strips together: what opens and dishes most."""
    from estimating.wood.saw_proof import close_enough, square_enough

    ring = max(rings, key=lambda ring: (ring.corner_radius, ring.strip_width))
    widest = max(ring.strip_width for ring in rings)
    # A leaning stave's joint depends on miter and tilt at once: no one error stands for both.
    plain = ring.lean is None or ring.lean.flare == 0
    halves = ring.segments % 2 == 0 and ring.gap == 0
    close = close_enough(
        gap=SEEN_GAP, miter=ring.half_angle, segments=ring.segments, outer_edge=ring.outer_edge
    )
    return Proof(
        miter_deg=degrees(ring.miter),
        tilt_deg=degrees(ring.tilt),
        ring=ring,
        halves=halves,
        miters=tuple(_miter_errors(ring, halves=halves)) if plain else (),
        blades=tuple(_blade_errors(widest, ring, flatten)) if ring.lean is None else (),
        close_enough_deg=_no_more_than(degrees(close), places=4),
        square_enough_deg=_no_more_than(
            degrees(square_enough(width=widest, miter=ring.half_angle, flatten=flatten)), places=2
        ),
    )


def _no_more_than(limit: float, *, places: int) -> float:
    """A limit as it is printed: rounded down, since one rounded up would promise too much."""
    return floor(limit * 10**places) / 10**places


def _miter_errors(ring: "Ring", *, halves: bool) -> Iterator[MiterError]:
    from estimating.wood.saw_proof import last_joint, trued_halves

    for error_deg in MITER_ERRORS_DEG:
        error = radians(error_deg)
        if error >= ring.half_angle or ring.segments * error > pi / 2:
            continue
        count, edge, width, miter = ring.segments, ring.outer_edge, ring.strip_width, ring.half_angle
        opening = last_joint(segments=count, outer_edge=edge, width=width, error=error, miter=miter)
        lost = None
        if halves:
            lost = trued_halves(segments=count, outer_edge=edge, width=width, error=error, miter=miter)
        yield MiterError(
            error_deg,
            degrees(opening.angle),
            opening.outside,
            lost.straightedge if lost else None,
            lost.short if lost else None,
        )


def _blade_errors(width: float, ring: "Ring", flatten: float) -> Iterator[BladeError]:
    from estimating.wood.saw_proof import dish

    for error in BLADE_ERRORS_DEG:
        height = dish(width=width, miter=ring.half_angle, out_of_square=radians(error)).height
        yield BladeError(error, height, height <= flatten)
