"""Where each wood goes: from the boards to the turned piece, every part counted once."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import ceil

from estimating.quantities import BOARD_FOOT
from estimating.shape.build import Shape
from estimating.shape.rings import Ring
from estimating.wood.species import Species
from estimating.wood.strips import CuttingPlan, StripNeed, wood_use


@dataclass(frozen=True, slots=True)
class WoodAccount:
    """One wood's volumes for all pieces, mm3: turned + each waste + kept = boards. Strip length mm."""

    segments: int
    strip_length: float
    turned: float
    turning_waste: float
    slicing_waste: float
    crosscut_waste: float
    rip_waste: float
    kept: float
    boards: float

    @property
    def board_feet(self) -> float:
        return self.boards / BOARD_FOOT


def strip_needs(rings: Sequence[Ring], *, quantity: int, spare_share: float) -> tuple[StripNeed, ...]:
    """The segments to saw for all pieces, with spares: a share of those needed, at least one a ring and wood."""
    return tuple(
        StripNeed(
            wood=wood,
            width=ring.strip_width,
            height=ring.height,
            miter=ring.miter,
            outer_edge=ring.outer_edge,
            inner_edge=ring.inner_edge,
            rings=((ring.number, _with_spares(count * quantity, spare_share)),),
        )
        for ring in rings
        for wood, count in ring.wood_counts.items()
    )


def _with_spares(needed: int, share: float) -> int:
    return needed + (max(1, ceil(share * needed - 1e-9)) if share > 0 else 0)


def turned_by_layer(shape: Shape, layer: int) -> Mapping[str, float]:
    """Turned volume of each wood in a layer (its index), mm3; an open layer's gaps are taken off."""
    ring = shape.rings[shape.ring_of[layer]]
    volume = float(shape.stack.turned[layer]) * (1 - ring.gap) / ring.segments
    return {wood: volume * count for wood, count in ring.wood_counts.items()}


def account_for(
    shape: Shape, *, needs: Sequence[StripNeed], plan: CuttingPlan, quantity: int
) -> Mapping[str, WoodAccount]:
    """Every wood's way from the boards to the piece, woods in the order they appear from the bottom up.

    Slicing waste is slicing and flattening; crosscut waste is kerf, strip ends and spare segments; rip waste is kerf,
    trim, planing and short ends.
    """
    woods = dict.fromkeys(need.wood for need in needs)
    turned, layers, rings = (dict.fromkeys(woods, 0.0) for _ in range(3))
    for index, ring_index in enumerate(shape.ring_of):
        ring = shape.rings[ring_index]
        thickness = float(shape.stack.thickness[index])
        for wood, volume in turned_by_layer(shape, index).items():
            turned[wood] += volume * quantity
            layers[wood] += ring.wood_counts[wood] * ring.segment_area * thickness * quantity
    for ring in shape.rings:
        for wood, count in ring.wood_counts.items():
            rings[wood] += count * ring.segment_area * ring.height * quantity
    uses = wood_use(plan)
    return {
        wood: WoodAccount(
            segments=sum(count for need in needs if need.wood == wood for _, count in need.rings),
            strip_length=uses[wood].strip_length,
            turned=turned[wood],
            turning_waste=layers[wood] - turned[wood],
            slicing_waste=rings[wood] - layers[wood],
            crosscut_waste=uses[wood].strips - rings[wood],
            rip_waste=uses[wood].rip_waste,
            kept=uses[wood].kept,
            boards=uses[wood].boards,
        )
        for wood in woods
    }


def mass_g(shape: Shape, woods: Mapping[str, Species]) -> float:
    """Mass of one piece at 12 % moisture, gaps taken off, no glue, g."""
    kg_per_mm3 = 1e-9
    volumes = (turned_by_layer(shape, layer) for layer in range(len(shape.stack)))
    return 1000 * sum(v * woods[wood].density * kg_per_mm3 for layer in volumes for wood, v in layer.items())


def glue_line_mass_g(shape: Shape, *, bond_line: float, density: float) -> float:
    """Cured adhesive in the lines between the layers of one piece, g; `density` g/cm3.

    Taken as the mean ring face of the turned layers either side, times the line's thickness.
    """
    stack = shape.stack
    faces = stack.turned / stack.thickness
    lines = (faces[:-1] + faces[1:]) / 2 * bond_line
    return float(lines.sum()) * density / 1000
