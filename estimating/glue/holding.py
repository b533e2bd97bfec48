"""What holds a glue-up until it has set: force between two limits, how many clamps, the tension of a band."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, pi

from estimating.glue.assembly import Held
from estimating.piece import ShopSettings

_MORE = 1e-9

Range = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Hold:
    """How one glue-up is held. Newtons, mm.

    `held` as the glue-up says. `force` from and to: enough for the largest joint, and not so much that the smallest is
    starved; None where nothing presses. `clamps` so many, each to `each` N at the most; 0 where a band does it.
    """

    held: Held
    pressure: Range
    force: Range | None = None
    clamps: int = 0

    @property
    def each(self) -> float:
        """The most that one clamp presses with, N."""
        return self.force[1] / self.clamps if self.force and self.clamps else 0.0

    @property
    def starves(self) -> bool:
        """Whether no force suits all joints at once: what the largest needs squeezes the smallest dry."""
        return self.force is not None and self.force[0] > self.force[1] + _MORE


def press_force(areas: Sequence[float], *, pressure: Range) -> Range:
    """Least and most force on faces that are pressed together in a pile, N; areas mm2, pressure MPa.

    Every joint of a pile carries the whole force: the largest needs the least pressure, the smallest bears the most.
    Source: force is pressure x glued area.

    >>> press_force([10_000.0, 8_000.0], pressure=(0.02, 0.2))
    (200.0, 1600.0)
    """
    return pressure[0] * max(areas), pressure[1] * min(areas)


def clamps_for(force: float, *, around: float, shop: ShopSettings) -> int:
    """Clamps for a force (N) round a rim (mm): strong enough together, and near enough to one another; two at least."""
    return max(2, ceil(force / shop.clamp_force_n - _MORE), ceil(around / shop.clamp_spacing - _MORE))


def band_tension(end_area: float, *, pressure: Range) -> Range:
    """Least and most pull in a band that closes a ring with joints of this area (mm2), N; pressure MPa.

    Cut across a diameter, the two strands of the band pull as much as two joints press, so one joint bears what one
    strand pulls, whatever the ring's width. Without friction; a band that drags on corners wants more.
    Source: a thin ring under radial loading p a length has the tension p r, by the balance of half of it (a textbook of
    strength of materials, "Circular ring under radial pressure"; MIT 2.010, problem 4.3, the same balance).
    """
    return pressure[0] * end_area, pressure[1] * end_area


def radial_pressure(tension: float, *, height: float, radius: float) -> float:
    """What a band of this tension (N) presses on the outside of a ring with, MPa: T / (h r)."""
    return tension / (height * radius)


def hold_pile(
    held: Held, areas: Sequence[float], *, rim_radius: float, pressure: Range, shop: ShopSettings
) -> Hold:
    """A pile of layers, or two of them: clamps round the rim, or one press in their place. Areas mm2."""
    glued = [area for area in areas if area > 0]
    if not glued:
        return Hold(held, pressure)
    force = press_force(glued, pressure=pressure)
    return Hold(held, pressure, force, clamps_for(force[0], around=2 * pi * rim_radius, shop=shop))
