"""Where each wood goes: from the boards to the turned piece, every part counted once."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from estimating.piece import ShopSettings
from estimating.quantities import BOARD_FOOT
from estimating.shape.build import Shape
from estimating.wood.needs import plug_length, plug_side
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


def turned_by_layer(shape: Shape, layer: int) -> Mapping[str, float]:
    """Turned volume of each wood in a layer (its index), its plug's too, mm3; an open layer's gaps are taken off."""
    ring = shape.rings[shape.ring_of[layer]]
    core = float(shape.core[layer])
    volume = (float(shape.stack.turned[layer]) - core) * (1 - ring.gap) / ring.segments
    turned = {wood: volume * share for wood, share in ring.wood_shares.items()}
    if (plug := shape.plug_wood(layer)) is not None:
        turned[plug] = turned.get(plug, 0.0) + core
    return turned


def account_for(
    shapes: Sequence[Shape],
    *,
    needs: Sequence[StripNeed],
    plan: CuttingPlan,
    quantity: int,
    shop: ShopSettings,
) -> Mapping[str, WoodAccount]:
    """Every wood's way from the boards to the piece, woods in the order they appear from the bottom up.

    Slicing waste is slicing and flattening; crosscut waste is kerf, strip ends, spare segments, the corners sawn off
    discs, and what making laminated segments takes; rip waste is kerf, trim, planing and short ends.
    """
    woods = dict.fromkeys(need.wood for need in needs)
    turned, layers, rings = (dict.fromkeys(woods, 0.0) for _ in range(3))
    for shape in shapes:
        for index, ring_index in enumerate(shape.ring_of):
            ring = shape.rings[ring_index]
            thickness = float(shape.stack.thickness[index])
            for wood, volume in turned_by_layer(shape, index).items():
                turned[wood] += volume * quantity
            for wood, share in ring.wood_shares.items():
                layers[wood] += share * ring.segment_area * thickness * quantity
        for ring in shape.rings:
            for wood, share in ring.wood_shares.items():
                rings[wood] += share * ring.segment_area * ring.height * quantity
        for plug in shape.plugs:
            # A plug's stick is turned, not flattened: all that goes of it is turning waste.
            stick = plug_side(plug.diameter, shop) ** 2 * plug_length(plug, shop) * quantity
            layers[plug.wood] += stick
            rings[plug.wood] += stick
    uses = wood_use(plan)
    return {
        wood: WoodAccount(
            segments=sum(
                count for need in needs if need.wood == wood and need.is_piece for _, count in need.rings
            ),
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
    """Mass of one part at 12 % moisture, gaps taken off, no glue, g."""
    kg_per_mm3 = 1e-9
    volumes = (turned_by_layer(shape, layer) for layer in range(len(shape.stack)))
    return 1000 * sum(v * woods[wood].density * kg_per_mm3 for layer in volumes for wood, v in layer.items())


def glue_line_mass_g(shape: Shape, *, bond_line: float, density: float) -> float:
    """Cured adhesive in the lines between the layers of one part, g; `density` g/cm3.

    Taken as the mean ring face of the turned layers either side, times the line's thickness.
    """
    stack = shape.stack
    faces = stack.turned / stack.thickness
    lines = (faces[:-1] + faces[1:]) / 2 * bond_line
    return float(lines.sum()) * density / 1000
