"""A jig that holds small discs without a bore by their edge: where its pins stand, with gaps for the clamps."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import asin, floor, gcd, isfinite, pi, sin

import numpy as np

from estimating.errors import InvalidInput
from estimating.shape.curves import Floats

FEWEST_PINS, MOST_PINS = 3, 60
MOST_SIZES = 12
_TURNS = 720
_MORE = 1e-9


@dataclass(frozen=True, slots=True)
class Clamping:
    """Pins and clamps of a jig. mm.

    `clearance` is left between disc and pin all round; `web` is the least wood between two holes. None stands for a
    pin's diameter (common practice, no source).
    """

    pins: int = 6
    pin_diameter: float = 6.0
    clamps: int = 2
    clamp_width: float = 25.0
    clearance: float = 0.0
    web: float | None = None

    @property
    def apart(self) -> float:
        """The least distance between the centres of two holes, mm."""
        return self.pin_diameter + (self.pin_diameter if self.web is None else self.web)


@dataclass(frozen=True, slots=True)
class PinCircle:
    """The pins of one disc. mm; radians anticlockwise from the x axis, the disc's centre at 0, 0.

    `angles` are the pins' in order. `gaps` are the pins on either side of each clamp, as places in `angles`.
    """

    disc_diameter: float
    pin_diameter: float
    radius: float
    angles: tuple[float, ...]
    gaps: tuple[tuple[int, int], ...]

    @property
    def positions(self) -> Floats:
        """The holes' centres, (pins, 2), mm."""
        angles = np.array(self.angles)
        return self.radius * np.stack([np.cos(angles), np.sin(angles)], axis=1)

    def room(self, gap: int) -> float:
        """The chord between the edges of the pins on either side of a clamp, mm."""
        first, last = (self.positions[pin] for pin in self.gaps[gap])
        return float(np.hypot(*(last - first))) - self.pin_diameter

    def middle(self, gap: int) -> float:
        """The direction of a clamp, radians."""
        first, last = (self.angles[pin] for pin in self.gaps[gap])
        return first + ((last - first) % (2 * pi)) / 2

    def turned(self, by: float) -> "PinCircle":
        """The same circle turned about its centre."""
        return replace(self, angles=tuple(angle + by for angle in self.angles))


def pin_circle(
    *,
    disc_diameter: float,
    pins: int,
    pin_diameter: float,
    clamp_width: float,
    clamps: int = 2,
    clearance: float = 0.0,
    web: float | None = None,
) -> PinCircle:
    """Stand pins round a disc, each touching the circle of its edge and clearance, in groups with a gap for each clamp.

    The pins stand evenly where every space takes a clamp; else the spaces between groups are just wide enough, and
    the pins within the groups share what is left. The first clamp lies on the x axis.
    Shape: see PinCircle; a pin's centre is at D/2 + clearance + pin/2, and a chord c spans 2 asin(c / 2r).
    Errors: InvalidInput at `disc_diameter`, `pins`, `pin_diameter`, `clamps`, `clamp_width`, `clearance`, `web`.
    """
    asked = Clamping(pins, pin_diameter, clamps, clamp_width, clearance, web)
    _check_measures(asked, disc_diameter)
    radius = disc_diameter / 2 + clearance + pin_diameter / 2
    within, between = _spaces(asked, radius, disc_diameter)
    least, extra = divmod(pins, clamps)
    angles: list[float] = []
    gaps: list[tuple[int, int]] = []
    at = between / 2
    for group in range(clamps):
        first = len(angles)
        for place in range(least + (1 if group < extra else 0)):
            angles.append(at + place * within)
        at = angles[-1] + between
        gaps.append(((first - 1) % pins, first))
    return PinCircle(disc_diameter, pin_diameter, radius, tuple(angles), tuple(gaps))


def _check_measures(asked: Clamping, disc_diameter: float) -> None:
    for place, value in (
        ("disc_diameter", disc_diameter),
        ("pin_diameter", asked.pin_diameter),
        ("clamp_width", asked.clamp_width),
    ):
        if not (isfinite(value) and value > 0):
            raise InvalidInput(place, "must be more than 0")
    for place, value in (("clearance", asked.clearance), ("web", asked.apart - asked.pin_diameter)):
        if not (isfinite(value) and value >= 0):
            raise InvalidInput(place, "must be 0 or more")
    if not FEWEST_PINS <= asked.pins <= MOST_PINS:
        reason = (
            f"must be {FEWEST_PINS} to {MOST_PINS}: between fewer than {FEWEST_PINS} pins a disc slips out"
        )
        raise InvalidInput("pins", reason)
    if not 1 <= asked.clamps <= asked.pins:
        raise InvalidInput(
            "clamps", f"must be 1 to {asked.pins}, the number of pins: each stands between two"
        )


def _spaces(asked: Clamping, radius: float, disc_diameter: float) -> tuple[float, float]:
    """The angles from pin to pin within a group, and across a clamp."""
    even = 2 * pi / asked.pins
    chord = asked.clamp_width + asked.pin_diameter
    disc = f"the {disc_diameter:.5g} mm disc"
    if chord >= 2 * radius:
        widest = 2 * radius - asked.pin_diameter
        reason = (
            f"a clamp of {asked.clamp_width:.5g} mm does not fit between the pins of {disc}, where a gap must stay "
            f"under {widest:.5g} mm or the disc slips out; use a narrower clamp"
        )
        raise InvalidInput("clamp_width", reason)
    clamp = 2 * asin(chord / (2 * radius))
    left = 2 * pi - asked.clamps * clamp
    across = even if even >= clamp else clamp
    within = even if even >= clamp else left / max(asked.pins - asked.clamps, 1)
    if even < clamp and (left <= 0 or asked.pins == asked.clamps):
        reason = (
            f"{asked.clamps} clamps of {asked.clamp_width:.5g} mm do not fit between {asked.pins} pins round "
            f"{disc}; use narrower clamps or fewer of them"
        )
        raise InvalidInput("clamp_width", reason)
    closest = 2 * radius * sin(min(within, pi) / 2)
    if closest < asked.apart - _MORE:
        raise InvalidInput("pins", _too_close(asked, radius, disc, closest=closest, clamp=clamp))
    return within, across


def _too_close(asked: Clamping, radius: float, disc: str, *, closest: float, clamp: float) -> str:
    """Why the pins do not fit, and how many would."""
    most = 0
    if asked.apart < 2 * radius:
        apart = 2 * asin(asked.apart / (2 * radius))
        # The holes beside a clamp want the same distance as any others.
        left = 2 * pi - asked.clamps * max(clamp, apart)
        most = asked.clamps + floor(max(left, 0.0) / apart)
    mend = f"at most {most} such pins, " if most >= max(FEWEST_PINS, asked.clamps + 1) else ""
    return (
        f"{asked.pins} pins of {asked.pin_diameter:.5g} mm round {disc} stand {closest:.4g} mm apart, centre to "
        f"centre, and {asked.apart:.5g} mm are needed; what would fit: {mend}thinner pins, or narrower clamps"
    )


@dataclass(frozen=True, slots=True)
class PinTemplate:
    """The holes for discs of several sizes about one centre, the largest first; pins stand in one circle at a time."""

    clamping: Clamping
    circles: tuple[PinCircle, ...]


def pin_template(*, disc_diameters: Sequence[float], clamping: Clamping) -> PinTemplate:
    """One template for a taper of discs: their circles about one centre, each turned so that no holes collide.

    Errors: InvalidInput as pin_circle, and at `disc_diameters` where there are none, too many, or two sizes whose
    holes come too close however they are turned.
    """
    sizes = sorted({round(size, 3) for size in disc_diameters}, reverse=True)
    if not 1 <= len(sizes) <= MOST_SIZES:
        reason = f"must be 1 to {MOST_SIZES} sizes on one template, not {len(sizes)}"
        raise InvalidInput("disc_diameters", reason)
    circles: list[PinCircle] = []
    for size in sizes:
        circle = pin_circle(
            disc_diameter=size,
            pins=clamping.pins,
            pin_diameter=clamping.pin_diameter,
            clamp_width=clamping.clamp_width,
            clamps=clamping.clamps,
            clearance=clamping.clearance,
            web=clamping.web,
        )
        circles.append(_turned_clear(circle, circles, clamping))
    return PinTemplate(clamping, tuple(circles))


def _turned_clear(circle: PinCircle, others: Sequence[PinCircle], clamping: Clamping) -> PinCircle:
    """The circle as it is where its holes are clear of the others', else turned to where they are clearest."""
    if not others or min(_nearest(circle, other) for other in others) >= clamping.apart:
        return circle
    period = 2 * pi / gcd(clamping.pins, clamping.clamps)
    turns = (circle.turned(step * period / _TURNS) for step in range(_TURNS))
    best = max(turns, key=lambda turned: min(_nearest(turned, other) for other in others))
    closest = min(others, key=lambda other: _nearest(best, other))
    if (distance := _nearest(best, closest)) < clamping.apart - _MORE:
        reason = (
            f"the holes for the {closest.disc_diameter:.5g} mm and the {circle.disc_diameter:.5g} mm disc come within "
            f"{distance:.4g} mm of each other, centre to centre, and {clamping.apart:.5g} mm are needed; use thinner "
            f"pins, fewer pins, or a template of its own for one of them"
        )
        raise InvalidInput("disc_diameters", reason)
    return best


def _nearest(one: PinCircle, other: PinCircle) -> float:
    """The least distance between holes of two circles, centre to centre, mm."""
    between = one.positions[:, None, :] - other.positions[None, :, :]
    return float(np.sqrt((between**2).sum(axis=2)).min())


def least_web(template: PinTemplate) -> float:
    """The least wood between any two holes of a template, mm; infinite for a single hole."""
    centres = np.concatenate([circle.positions for circle in template.circles])
    between = np.sqrt(((centres[:, None, :] - centres[None, :, :]) ** 2).sum(axis=2))
    np.fill_diagonal(between, np.inf)
    return float(between.min()) - template.clamping.pin_diameter
