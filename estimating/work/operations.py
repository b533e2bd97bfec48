"""What is done to make the pieces, and how many times: counted from the geometry, the boards and the glue-ups."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from estimating.glue.assembly import OF_RINGS, GlueUp
from estimating.glue.mixing import Adhesive
from estimating.piece import Sheet
from estimating.shape.bores import Plug
from estimating.shape.build import Shape
from estimating.shape.rings import Ring, is_halved
from estimating.wood.needs import Needs
from estimating.wood.saw_boards import boards_in_order, fences, planed
from estimating.wood.set_ups import settings, stops
from estimating.wood.strips import CuttingPlan, SawnBoard

MOUNTINGS = 3
"""Times a piece is mounted on the lathe: outside, inside, foot. Common practice, no source: usually 2 to 4."""

_MM2_IN_DM2 = 10_000.0
_MM_IN_M = 1000.0


@dataclass(frozen=True, slots=True)
class Count:
    """How often an operation is set up for, and how much of it is done, in the unit of its rate."""

    setups: float
    quantity: float


@dataclass(frozen=True)
class Job:
    """What the counts are taken from."""

    sheet: Sheet
    shapes: Sequence[Shape]
    needs: Needs
    plan: CuttingPlan
    glue_ups: Sequence[GlueUp]
    adhesive: Adhesive

    @property
    def pieces(self) -> int:
        return self.sheet.quantity

    @cached_property
    def rings(self) -> list[Ring]:
        return [ring for shape in self.shapes for ring in shape.rings]

    @property
    def layers(self) -> int:
        return sum(len(shape.stack) for shape in self.shapes)

    @property
    def closed_rings(self) -> list[Ring]:
        return [ring for ring in self.rings if ring.end_joints]

    @property
    def halved_rings(self) -> list[Ring]:
        """Rings whose halves are trued and joined."""
        joining = self.sheet.shop.ring_joining
        return [ring for ring in self.rings if is_halved(ring, joining=joining)]

    @property
    def thick_rings(self) -> list[Ring]:
        return [ring for ring in self.rings if ring.made == "sliced"]

    @property
    def plugs(self) -> list[Plug]:
        return [plug for shape in self.shapes for plug in shape.plugs]

    @property
    def mountings(self) -> int:
        """Every part's own, and one more for each bowl that is turned inside before a form is closed."""
        return sum(MOUNTINGS + len(shape.closings) for shape in self.shapes)

    @property
    def sliced_layers(self) -> int:
        return sum(len(ring.layers) for ring in self.thick_rings)

    @property
    def sliced_bands(self) -> int:
        return len(
            {(id(shape), ring.band) for shape in self.shapes for ring in shape.rings if ring.made == "sliced"}
        )

    @property
    def segments(self) -> int:
        """Crosscut pieces, whatever they are cut from and for, and the crosscuts of laminated segments."""
        return (
            sum(count for need in self.needs.strips for _, count in need.rings)
            + self.needs.laminated_segments
        )

    @cached_property
    def milled(self) -> list[SawnBoard]:
        """Boards that are planed and ripped; sheets of veneer come ready and are cut with a knife."""
        veneers = {(ring.strip_width, ring.height) for ring in self.rings if ring.made == "veneer"}
        return [
            board
            for board in self.plan.boards
            if not any((strip.width, strip.height) in veneers for strip in board.strips)
        ]

    @property
    def stackings(self) -> int:
        return sum(glue_up.kind not in (*OF_RINGS, "panel") for glue_up in self.glue_ups)

    @property
    def outer_dm2(self) -> float:
        return sum(shape.form.outer_surface for shape in self.shapes) / _MM2_IN_DM2

    @property
    def inner_dm2(self) -> float:
        return sum(shape.form.inner_surface for shape in self.shapes) / _MM2_IN_DM2

    @property
    def flattened_faces(self) -> int:
        """Both faces of a ring that is a layer; of a thick ring the one that is trued, both if nothing holds it.

        Veneer comes flat.
        """
        thick = 1 if self.sheet.shop.slice_hold > 0 else 2
        plain = sum(ring.made not in ("sliced", "veneer") for ring in self.rings)
        return 2 * plain + thick * len(self.thick_rings)


def count_operations(job: Job) -> Mapping[str, Count]:
    """Every operation that is done at all, in the order of the work."""
    counts = {name: rule(job) for name, rule in _RULES.items()}
    return {name: count for name, count in counts.items() if count.setups or count.quantity}


def _thicknesses(job: Job) -> int:
    """Settings of the planer: what stands across the board's thickness, strip by strip."""
    across = settings(planed(strip) for board in job.milled for strip in board.strips)
    return len(set(across.values()))


def _mill(job: Job) -> Count:
    return Count(_thicknesses(job), sum(_milled_length(board) for board in job.milled) / _MM_IN_M)


def _milled_length(board: SawnBoard) -> float:
    """A board's length less what is crosscut off whole and goes back on the rack as it came."""
    back = sum(offcut.length for offcut in board.offcuts if offcut.width >= board.width - 1e-6)
    return board.length - back


def _rip(job: Job) -> Count:
    strips = [strip for board in job.milled for strip in board.strips]
    shop = job.sheet.shop
    at = fences(boards_in_order(job.milled, shop=shop), shop=shop)
    return Count(len(at), sum(strip.length for strip in strips) / _MM_IN_M)


def _miters(job: Job) -> Count:
    """Settings of the saw that have to be proven: each pair of miter and tilt."""
    return Count(
        0, len({(round(ring.miter, 9), round(ring.tilt, 9)) for ring in job.rings if not ring.is_disc})
    )


def _crosscut(job: Job) -> Count:
    cuts = [(need.miter, need.outer_edge) for need in job.needs.strips]
    cuts += [(one.cuts.miter, one.cuts.length) for one in job.needs.laminated]
    return Count(len(stops(cuts)), job.segments)


def _per_ring(job: Job) -> int:
    return len(job.closed_rings) * job.pieces


def _glue_rings(job: Job) -> Count:
    return Count(_per_ring(job), sum(ring.end_joints for ring in job.closed_rings) * job.pieces)


def _flatten(job: Job) -> Count:
    flattened = sum(band.made != "veneer" for shape in job.shapes for band in shape.bands)
    return Count(flattened, job.flattened_faces * job.pieces)


def _panels(job: Job) -> Count:
    """Laminated segments: panels glued up strip by strip, then sliced."""
    panels = [panel for one in job.needs.laminated for panel in one.cuts.panels]
    return Count(sum(panel.count for panel in panels), sum(panel.count * panel.pieces for panel in panels))


def _staves(job: Job) -> Count:
    """Staves that lean are tapered one by one; upright ones are ripped with the blade tilted."""
    leaning = [ring for ring in job.rings if ring.lean and ring.lean.flare]
    return Count(len(leaning), sum(ring.segments for ring in leaning) * job.pieces)


def _inside(job: Job) -> Count:
    hollow = sum(shape.form.inner is not None for shape in job.shapes)
    return Count(hollow * job.pieces, job.inner_dm2 * job.pieces)


def _coats(job: Job) -> Count:
    coats = job.sheet.finish.coats
    return Count(coats, coats * (job.outer_dm2 + job.inner_dm2) * job.pieces)


_RULES: Mapping[str, Callable[[Job], Count]] = {
    "design and drawings": lambda job: Count(1, job.layers),
    "choose, check and mark boards": lambda job: Count(
        len({board.wood for board in job.plan.boards}), len(job.plan.boards)
    ),
    "mill boards flat and to thickness": _mill,
    "rip strips": _rip,
    "set miter and prove with a test ring": _miters,
    "crosscut segments": _crosscut,
    "clean, sort and lay out segments": lambda job: Count(len(job.rings) * job.pieces, job.segments),
    "taper staves": _staves,
    "glue up and slice laminated panels": _panels,
    "glue ring": _glue_rings,
    "true half rings and join": lambda job: Count(0, len(job.halved_rings) * job.pieces),
    "flatten ring face": _flatten,
    "mount and true thick ring for slicing": lambda job: Count(0, len(job.thick_rings) * job.pieces),
    "saw layer from thick ring": lambda job: Count(
        len(job.thick_rings) * job.pieces, job.sliced_layers * job.pieces
    ),
    "sand slice, both faces": lambda job: Count(job.sliced_bands, job.sliced_layers * job.pieces),
    "bore layers or set jig": lambda job: Count(int(job.sliced_layers > 0), job.sliced_layers * job.pieces),
    "bore and plug the middle": lambda job: Count(len(job.plugs), len(job.plugs) * job.pieces),
    "mix adhesive": lambda job: Count(0, len(job.adhesive.mixes)),
    "coat, stack and align layers": lambda job: Count(
        job.stackings * job.pieces, (job.layers if job.stackings else 0) * job.pieces
    ),
    "clamp, clean squeeze-out, check": lambda job: Count(0, job.stackings * job.pieces),
    "take down, check run-out, true joint face": lambda job: Count(0, job.stackings * job.pieces),
    "mount on lathe (waste block, faceplate, chuck)": lambda job: Count(0, job.mountings * job.pieces),
    "turn outside": lambda job: Count(len(job.shapes) * job.pieces, job.outer_dm2 * job.pieces),
    "turn inside": _inside,
    "sand through the grits": lambda job: Count(
        len(job.shapes) * job.pieces, (job.outer_dm2 + job.inner_dm2) * job.pieces
    ),
    "finish foot, sign and number": lambda job: Count(0, len(job.shapes) * job.pieces),
    "apply finish coat and rub down": _coats,
    "photograph, record, pack, paperwork": lambda job: Count(1, job.pieces),
}
