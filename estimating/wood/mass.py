"""What a piece weighs at a given moisture: the blank as it is glued up, and the finished piece."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import isfinite, pi

from estimating.errors import InvalidInput
from estimating.shape.build import Shape
from estimating.shape.rings import Ring
from estimating.wood.account import glue_line_mass_g, mass_g, turned_by_layer
from estimating.wood.movement import FIBRE_SATURATION
from estimating.wood.species import Species

CURED_ADHESIVE = 1.1
"""Density of cured adhesive in the glue lines, g/cm3: unfilled epoxy is about 1.1, as resin makers' guides print."""

WETTEST = 150.0
"""Moisture, %, at which the handbook's table of densities ends."""

_G_PER_KG_MM3 = 1e-6
"""kg/m3 times mm3 to grams."""

AVERAGE_SHRINKAGE = 0.265
"""Volumetric shrinkage of the average wood, a fraction, by its basic specific gravity."""


@dataclass(frozen=True, slots=True)
class PieceMass:
    """One piece, all its parts, g, at `moisture` %: the glued blank before turning, and the finished piece.

    Cured adhesive between the layers is in both, and takes up no moisture.
    """

    moisture: float
    blank_g: float
    finished_g: float


def density_at(*, density_12: float, moisture: float, shrink_volumetric_pct: float | None = None) -> float:
    """Density at `moisture` %, kg/m3, from that at 12 %; the volume is that at the same moisture.

    Wood of ovendry mass m and green volume V has V (1 - S (30 - M) / 30) below 30 % moisture and V above, and weighs
    m (1 + M / 100). So with the density at 12 %
        rho(M) = rho(12) (1 + M/100) / 1.12 (1 - 0.6 S) / (1 - S max(30 - M, 0) / 30).
    S is the wood's own shrinkage (%, green to ovendry) where it is given, else that of the average wood, 0.265 G with
    G the specific gravity by green volume: G = G12 / (1 + 0.159 G12), G12 = rho(12) / 1120.
    Errors: InvalidInput at `density_12`, `moisture` or `shrink_volumetric_pct` for what no wood has.
    Source: Wood Handbook (FPL-GTR-282) ch. 4, density 1000 G_M (1 + M/100) and G_M = G / (1 - 0.265 a G) with
    a = (30 - M) / 30; the relations from memory, held in tests against published pairs of green and dry gravity.

    >>> round(density_at(density_12=560, moisture=0))
    528
    """
    if not (isfinite(density_12) and 0 < density_12 < 2000):
        raise InvalidInput("density_12", f"must be more than 0 and less than 2000 kg/m3, not {density_12:g}")
    _check_moisture("moisture", moisture)
    if shrink_volumetric_pct is None:
        gravity = density_12 / 1120
        shrinkage = AVERAGE_SHRINKAGE * gravity / (1 + AVERAGE_SHRINKAGE * 0.6 * gravity)
    elif 0 <= shrink_volumetric_pct < 50:
        shrinkage = shrink_volumetric_pct / 100
    else:
        raise InvalidInput(
            "shrink_volumetric_pct", f"must be from 0 to less than 50 %, not {shrink_volumetric_pct:g}"
        )
    share = max(FIBRE_SATURATION - moisture, 0.0) / FIBRE_SATURATION
    volumes = (1 - 0.6 * shrinkage) / (1 - shrinkage * share)
    return density_12 * (100 + moisture) / 112 * volumes


def shrinkage_of(species: Species) -> float | None:
    """Volumetric shrinkage, %, from the two across the grain, V = 1 - (1 - r)(1 - t); None where one is not known."""
    radial, tangential = species.shrink_radial_pct, species.shrink_tangential_pct
    if radial is None or tangential is None:
        return None
    return 100 * (1 - (1 - radial / 100) * (1 - tangential / 100))


def mass_as_drawn(
    shapes: Sequence[Shape], *, woods: Mapping[str, Species], bond_line: float
) -> tuple[float, float]:
    """One piece at the 12 % moisture it is drawn at, all its parts: its wood and its glue lines, g."""
    wood = sum(mass_g(shape, woods) for shape in shapes)
    lines = sum(glue_line_mass_g(shape, bond_line=bond_line, density=CURED_ADHESIVE) for shape in shapes)
    return wood, lines


def mass_at(
    shapes: Sequence[Shape],
    *,
    woods: Mapping[str, Species],
    moisture: float,
    bond_line: float,
    sized_at: float | None = None,
) -> PieceMass:
    """Mass of one piece at `moisture` %, all its parts.

    `sized_at` is the moisture at which it has the sizes drawn: that of the shop where it is turned. The wood in it
    stays the same, so at another moisture it weighs (100 + M) / (100 + sized_at) of that. None: sized at `moisture`.
    Errors: InvalidInput at `moisture` or `sized_at` outside 0 to 150 %.
    """
    sized = moisture if sized_at is None else sized_at
    _check_moisture("moisture", moisture)
    _check_moisture("sized_at", sized)
    density = {
        key: density_at(
            density_12=woods[key].density, moisture=sized, shrink_volumetric_pct=shrinkage_of(woods[key])
        )
        * (100 + moisture)
        / (100 + sized)
        for key in {wood for shape in shapes for wood in blank_volumes(shape)}
    }
    glue = sum(glue_line_mass_g(shape, bond_line=bond_line, density=CURED_ADHESIVE) for shape in shapes)
    glued = sum(blank_glue_g(shape, bond_line=bond_line, density=CURED_ADHESIVE) for shape in shapes)
    return PieceMass(
        moisture=moisture,
        blank_g=sum(_weigh(blank_volumes(shape), density) for shape in shapes) + glued,
        finished_g=sum(_weigh(finished_volumes(shape), density) for shape in shapes) + glue,
    )


def blank_volumes(shape: Shape) -> dict[str, float]:
    """Each wood of a part's layers as glued up, bored and plugged, before it is turned, mm3."""
    volumes: dict[str, float] = {}
    for index, ring_index in enumerate(shape.ring_of):
        ring, thickness = shape.rings[ring_index], float(shape.stack.thickness[index])
        for wood, segments in ring.wood_shares.items():
            volumes[wood] = volumes.get(wood, 0.0) + segments * _face(ring) * thickness
    for plug in shape.plugs:
        volumes[plug.wood] = volumes.get(plug.wood, 0.0) + pi * plug.diameter**2 / 4 * plug.length
    return volumes


def finished_volumes(shape: Shape) -> dict[str, float]:
    """Each wood of a part as turned, mm3."""
    volumes: dict[str, float] = {}
    for layer in range(len(shape.stack)):
        for wood, volume in turned_by_layer(shape, layer).items():
            volumes[wood] = volumes.get(wood, 0.0) + volume
    return volumes


def blank_glue_g(shape: Shape, *, bond_line: float, density: float) -> float:
    """Cured adhesive between the layers of a part as glued, g: mean face times the line; `density` g/cm3."""
    rings = [shape.rings[index] for index in shape.ring_of]
    faces = [ring.segments * _face(ring) for ring in rings]
    return sum((low + high) / 2 for low, high in pairwise(faces)) * bond_line * density / 1000


def _face(ring: Ring) -> float:
    """One segment's face; of a disc what is left round its bore."""
    return ring.segment_area - (pi * ring.inner_apothem**2 if ring.is_disc else 0.0)


def _weigh(volumes: Mapping[str, float], density: Mapping[str, float]) -> float:
    return sum(volume * density[wood] * _G_PER_KG_MM3 for wood, volume in volumes.items())


def _check_moisture(place: str, moisture: float) -> None:
    if not (isfinite(moisture) and 0 <= moisture <= WETTEST):
        raise InvalidInput(place, f"must be a moisture from 0 to {WETTEST:g} %, not {moisture:g}")
