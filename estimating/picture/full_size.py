"""Full-size drawings on paper: what to draw, set on sheets with crop marks, lines to check the scale by, and a map."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from estimating.errors import InvalidInput
from estimating.picture.dimensions import Pen
from estimating.picture.plates import DrawnPart, Plate, full_size_pen
from estimating.picture.sheets import PAPERS, Paper, PaperName, Sheet, packed_sheets, tiled_sheets
from estimating.picture.templates_disc import disc_plate, marks_of
from estimating.picture.templates_jig import jig_plate
from estimating.picture.templates_laminates import laminate_plates
from estimating.picture.templates_rings import ring_plates
from estimating.picture.templates_section import Sides, section_plate
from estimating.picture.templates_segments import saw_plates, segment_plates
from estimating.picture.tiling import tile
from estimating.quantities import InchStyle, Unit
from estimating.shape.pin_jig import Clamping, pin_template
from estimating.shape.rings import Ring

__all__ = ["PAPERS", "Clamping", "DrawnPart", "FullSize", "Sheet", "full_size_sheets"]

MOST_SHEETS = 300
"""More than this is more than anyone prints."""


@dataclass(frozen=True, slots=True)
class FullSize:
    """What to draw. `ring_numbers` are the rings to draw plans and segments of, all where it is empty.

    `jig_discs` are the diameters a pin jig holds, mm: no jig without any. `mandrel` is the diameter of the hole in
    the alignment disc, 0 for none.
    """

    section: bool = True
    sides: Sides = "both"
    rings: bool = True
    segments: bool = True
    disc: bool = True
    ring_numbers: tuple[int, ...] = ()
    mandrel: float = 0.0
    jig_discs: tuple[float, ...] = ()
    clamping: Clamping = field(default_factory=Clamping)


def full_size_sheets(
    parts: Sequence[DrawnPart],
    *,
    wanted: FullSize,
    paper: PaperName,
    unit: Unit = "mm",
    inches: InchStyle = "fraction",
) -> tuple[Sheet, ...]:
    """Every sheet to print, in order. A drawing larger than a sheet is cut into several; small ones share one.

    Shape: each Sheet is a whole page as SVG, its user unit 1 mm, to be printed without scaling.
    Errors: InvalidInput at `ring_numbers` for a ring there is none of, at `paper` where it would take too many
        sheets, at `wanted` where nothing is asked for, and as pin_template.
    """
    pen = full_size_pen(unit=unit, inches=inches)
    known = {ring.number for part in parts for ring in part.subject.rings}
    if unknown := sorted(set(wanted.ring_numbers) - known):
        raise InvalidInput("ring_numbers", f"there is no ring {unknown[0]}; the rings are 1 to {max(known)}")
    sheets = [
        sheet
        for chapter, plates in _chapters(parts, wanted, pen)
        for sheet in _laid_out(chapter, plates, PAPERS[paper], pen)
    ]
    if not sheets:
        raise InvalidInput("wanted", "choose at least one drawing")
    if len(sheets) > MOST_SHEETS:
        reason = f"these drawings would take {len(sheets)} sheets; choose fewer rings, or larger paper"
        raise InvalidInput("paper", reason)
    return tuple(sheets)


def boreless_discs(parts: Sequence[DrawnPart]) -> tuple[float, ...]:
    """Diameters of the solid discs without a bore, mm, the largest first: what a pin jig is for."""
    sizes = {
        round(2 * ring.outer_radius, 3)
        for part in parts
        for ring in part.subject.rings
        if ring.is_disc and ring.made == "solid" and not ring.bore
    }
    return tuple(sorted(sizes, reverse=True))


def _chapters(parts: Sequence[DrawnPart], wanted: FullSize, pen: Pen) -> Iterator[tuple[str, list[Plate]]]:
    """Each kind of drawing that is asked for, with its plates."""
    chosen = [(part, _chosen(part, wanted)) for part in parts]
    if wanted.section:
        for part in parts:
            plate = section_plate(part, pen=pen, sides=wanted.sides)
            yield plate.title, [plate]
    if wanted.rings:
        yield "Ring plans", [plate for part, rings in chosen for plate in ring_plates(part, rings, pen=pen)]
    if wanted.segments:
        yield (
            "Segment patterns",
            [
                plate
                for part, rings in chosen
                for plates in (segment_plates, laminate_plates)
                for plate in plates(part, rings, pen=pen)
            ],
        )
        yield "Saw settings", saw_plates([ring for _, rings in chosen for ring in rings], pen=pen)
    if wanted.disc:
        plates = [disc_plate(part, pen=pen, mandrel=wanted.mandrel) for part in parts if marks_of(part)]
        yield "Alignment disc" if len(plates) == 1 else "Alignment discs", plates
    if wanted.jig_discs:
        template = pin_template(disc_diameters=wanted.jig_discs, clamping=wanted.clamping)
        yield "Pin jig", [jig_plate(template, pen=pen)]


def _chosen(part: DrawnPart, wanted: FullSize) -> list[Ring]:
    return [
        ring for ring in part.subject.rings if not wanted.ring_numbers or ring.number in wanted.ring_numbers
    ]


def _laid_out(chapter: str, plates: Sequence[Plate], paper: Paper, pen: Pen) -> Iterator[Sheet]:
    """The small drawings together, then large ones each on sheets of their own."""
    cut = [(plate, tile(plate.box, window=paper.window)) for plate in plates]
    small = [plate for plate, tiling in cut if tiling.is_whole]
    if small:
        yield from packed_sheets(chapter, small, paper=paper, pen=pen)
    for plate, tiling in cut:
        if not tiling.is_whole:
            yield from tiled_sheets(chapter, plate, tiling, paper=paper, pen=pen)
