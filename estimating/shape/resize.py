"""A design made larger or smaller: its profile scaled, its layers fitted to a new height, layers laid in a gap."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import product
from math import ceil, floor, isfinite
from typing import Literal

from estimating.errors import InvalidInput
from estimating.shape.curves import CurvePoint
from estimating.shape.layers import STACK_TOLERANCE

MOST_LAYERS = 5000
_PLACES = (2, 3, 4, 5, 6)
_LEAST_SHARE = 0.5
_MORE = 1e-9


def scale_profile(
    outer: Sequence[tuple[float, float] | tuple[float, float, bool]],
    inner: Sequence[tuple[float, float] | tuple[float, float, bool]],
    *,
    height_factor: float,
    radius_factor: float,
) -> tuple[tuple[CurvePoint, ...], tuple[CurvePoint, ...]]:
    """Outer and inner points with heights and radii multiplied; corners stay corners. A wall scales with them.

    Heights are scaled from 0, so a profile that stands on a height keeps its proportion to it.
    Errors: InvalidInput at `height_factor` or `radius_factor` unless it is finite and more than 0.
    """
    for place, factor in (("height_factor", height_factor), ("radius_factor", radius_factor)):
        if not (isfinite(factor) and factor > 0):
            raise InvalidInput(place, f"must be more than 0, not {factor:g}")

    def scaled(points: Sequence[tuple[float, float] | tuple[float, float, bool]]) -> tuple[CurvePoint, ...]:
        read = (CurvePoint(*point) for point in points)
        return tuple(CurvePoint(h * height_factor, r * radius_factor, corner) for h, r, corner in read)

    return scaled(outer), scaled(inner)


Changes = Literal["either", "thickness", "nothing"]


@dataclass(frozen=True, slots=True)
class BandHeight:
    """What a band adds to the stack: layers and the thickness of one, mm, and what of it may change.

    `either`: rings, as many and as thick as it takes. `thickness`: one layer by nature, a course of staves or a solid
    disc, which grows by its thickness alone. `nothing`: veneer, as it is bought.
    """

    layers: int
    thickness: float
    changes: Changes = "either"


def refit_layers(
    bands: Sequence[BandHeight], *, target: float, keep: Literal["thickness", "count"], bond_line: float
) -> tuple[BandHeight, ...]:
    """The bands made to reach a stack of `target` mm, allowances and glue lines included.

    `thickness` keeps it and changes the counts, shared in proportion to the bands' heights by largest remainder, each
    at least 1; `count` keeps the counts and scales every thickness, to 0.01 mm or finer where many layers need it.
    The stack then ends at most 0.1 mm short of the target and less than its last layer above it.
    Errors: InvalidInput at `target` for a height that cannot be met so, with what would mend it.
    """
    _check(bands, target=target, bond_line=bond_line)
    if keep == "count":
        return _scale_thickness(bands, target=target, bond_line=bond_line)
    return _change_counts(bands, target=target, bond_line=bond_line)


def _check(bands: Sequence[BandHeight], *, target: float, bond_line: float) -> None:
    if not bands or any(band.layers < 1 or not band.thickness > 0 for band in bands):
        raise InvalidInput("bands", "must each have a layer at least, of a thickness above 0")
    if not (isfinite(target) and target > 0):
        raise InvalidInput("target", f"must be more than 0 mm, not {target:g} mm")
    if not (isfinite(bond_line) and bond_line >= 0):
        raise InvalidInput("bond_line", f"must be 0 mm or more, not {bond_line:g} mm")


def stack_height(bands: Sequence[BandHeight], *, bond_line: float) -> float:
    """Height of the layers and the glue lines between them, mm."""
    lines = sum(band.layers for band in bands) - 1
    return sum(band.layers * band.thickness for band in bands) + lines * bond_line


def _fits(bands: Sequence[BandHeight], *, target: float, bond_line: float) -> bool:
    over = stack_height(bands, bond_line=bond_line) - target
    return -STACK_TOLERANCE - _MORE <= over < bands[-1].thickness - _MORE


# --- the counts kept ----------------------------------------------------------------------------------------------


def _scale_thickness(
    bands: Sequence[BandHeight], *, target: float, bond_line: float
) -> tuple[BandHeight, ...]:
    lines = (sum(band.layers for band in bands) - 1) * bond_line
    kept = lines + sum(band.layers * band.thickness for band in bands if band.changes == "nothing")
    wood = sum(band.layers * band.thickness for band in bands if band.changes != "nothing")
    if target <= kept:
        reason = f"is no higher than what cannot change, {kept:.5g} mm of glue lines and veneer"
        raise InvalidInput("target", f"{reason}; use fewer layers or a greater height")
    factor = (target - kept) / wood if wood else 1.0
    exact = [band.thickness * (1.0 if band.changes == "nothing" else factor) for band in bands]
    for places in _PLACES:
        best = min(
            _rounded(bands, exact, places),
            key=lambda found: abs(stack_height(found, bond_line=bond_line) - target),
        )
        near = abs(stack_height(best, bond_line=bond_line) - target) <= STACK_TOLERANCE + _MORE
        if near and min(b.thickness for b in best) > 0 and _fits(best, target=target, bond_line=bond_line):
            return best
    raise InvalidInput(
        "target", "leaves layers too thin to count, or none that may change; change the layers"
    )


def _rounded(
    bands: Sequence[BandHeight], exact: Sequence[float], places: int
) -> Iterator[tuple[BandHeight, ...]]:
    """Every thickness rounded down, then one band after another up instead, the largest remainder first."""
    unit = 10.0**places
    steps = [floor(thickness * unit + 1e-6) for thickness in exact]
    free = [number for number, band in enumerate(bands) if band.changes != "nothing"]
    yield _with_thickness(bands, steps, places)
    for number in sorted(free, key=lambda n: steps[n] - exact[n] * unit):
        steps[number] += 1
        yield _with_thickness(bands, steps, places)


def _with_thickness(bands: Sequence[BandHeight], steps: Sequence[int], places: int) -> tuple[BandHeight, ...]:
    return tuple(
        band if band.changes == "nothing" else replace(band, thickness=round(step / 10.0**places, places))
        for band, step in zip(bands, steps, strict=True)
    )


# --- the thickness kept -------------------------------------------------------------------------------------------


def _change_counts(bands: Sequence[BandHeight], *, target: float, bond_line: float) -> tuple[BandHeight, ...]:
    if not any(band.changes == "either" for band in bands):
        return _scale_thickness(bands, target=target, bond_line=bond_line)
    start, wanted = _shares(bands, target=target, bond_line=bond_line)
    found = _by_largest_remainder(start, wanted, target=target, bond_line=bond_line)
    for candidate in _near(found, target=target, bond_line=bond_line):
        if _fits(candidate, target=target, bond_line=bond_line):
            return candidate
    least = [replace(band, layers=1) if band.changes == "either" else band for band in start]
    reason = (
        f"cannot be met with layers of their present thickness, {target:.5g} mm where one layer of each band "
        f"is {stack_height(least, bond_line=bond_line):.5g} mm"
    )
    raise InvalidInput("target", f"{reason}; keep the number of layers and change their thickness instead")


def _shares(
    bands: Sequence[BandHeight], *, target: float, bond_line: float
) -> tuple[tuple[BandHeight, ...], list[float]]:
    """The bands with their share of the layers rounded down, and the shares themselves."""
    fixed = [band for band in bands if band.changes == "nothing"]
    fixed_height = sum(band.layers * (band.thickness + bond_line) for band in fixed)
    before = stack_height(bands, bond_line=bond_line) + bond_line - fixed_height
    ratio = max(0.0, target + bond_line - fixed_height) / before
    wanted = [band.layers * (ratio if band.changes == "either" else 1.0) for band in bands]
    if sum(wanted) > MOST_LAYERS:
        raise InvalidInput("target", f"would need more than {MOST_LAYERS} layers; keep their number instead")
    return tuple(_share(band, want, ratio) for band, want in zip(bands, wanted, strict=True)), wanted


def _share(band: BandHeight, want: float, ratio: float) -> BandHeight:
    match band.changes:
        case "either":
            return replace(band, layers=max(1, floor(want + _MORE)))
        case "thickness":
            return replace(band, thickness=max(round(band.thickness * ratio, 2), 0.01))
        case "nothing":
            return band


def _by_largest_remainder(
    bands: tuple[BandHeight, ...], wanted: Sequence[float], *, target: float, bond_line: float
) -> tuple[BandHeight, ...]:
    """Layers taken from the band furthest above its share while the stack is too tall, then added to the one furthest
    below while it is short."""
    rings = [number for number, band in enumerate(bands) if band.changes == "either"]

    def over() -> float:
        return stack_height(bands, bond_line=bond_line) - target

    def lack(number: int) -> float:
        return wanted[number] - bands[number].layers

    while over() >= bands[-1].thickness - _MORE and any(bands[n].layers > 1 for n in rings):
        bands = _with_layers(bands, min((n for n in rings if bands[n].layers > 1), key=lack), -1)
    while over() < -STACK_TOLERANCE - _MORE:
        bands = _with_layers(bands, max(rings, key=lack), 1)
    return bands


def _with_layers(bands: tuple[BandHeight, ...], number: int, more: int) -> tuple[BandHeight, ...]:
    changed = replace(bands[number], layers=bands[number].layers + more)
    return (*bands[:number], changed, *bands[number + 1 :])


def _near(
    bands: tuple[BandHeight, ...], *, target: float, bond_line: float
) -> Iterator[tuple[BandHeight, ...]]:
    """The bands, then a layer moved from one to another, then staves and discs a little thicker or thinner."""
    yield bands
    rings = [number for number, band in enumerate(bands) if band.changes == "either"]
    for fewer, more in product(rings, rings):
        if bands[fewer].layers > 1 and fewer != more:
            yield _with_layers(_with_layers(bands, fewer, -1), more, 1)
    over = stack_height(bands, bond_line=bond_line) - target
    whole = sum(band.thickness for band in bands if band.changes == "thickness")
    if whole and (share := 1 - over / whole) >= _LEAST_SHARE:
        yield tuple(
            replace(band, thickness=ceil(band.thickness * share * 100 - 1e-6) / 100)
            if band.changes == "thickness"
            else band
            for band in bands
        )


# --- layers between two heights -----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Laid:
    """Layers between two heights: how many, what they leave free at their thickness, and the one that leaves nothing.

    `leftover` is negative where they stand over. mm.
    """

    count: int
    thickness: float
    leftover: float
    exact_thickness: float


def lay_between(*, lower: float, upper: float, thickness: float, bond_line: float) -> Laid:
    """The number of layers that comes nearest to filling the heights from `lower` to `upper`, at least 1. mm.

    Between n layers lie n - 1 glue lines. Keep the thickness and live with `leftover`, or use `exact_thickness`.
    Errors: InvalidInput at the measure at fault.
    """
    if not thickness > 0 or not isfinite(thickness):
        raise InvalidInput("thickness", f"must be more than 0 mm, not {thickness:g} mm")
    if not (isfinite(bond_line) and bond_line >= 0):
        raise InvalidInput("bond_line", f"must be 0 mm or more, not {bond_line:g} mm")
    room = upper - lower
    if not (isfinite(room) and room > 0):
        raise InvalidInput("upper", f"must be above {lower:g} mm, where the layers start")
    count = max(1, floor((room + bond_line) / (thickness + bond_line) + 0.5))
    if count > MOST_LAYERS:
        raise InvalidInput("thickness", f"would need more than {MOST_LAYERS} layers; make them thicker")
    exact = (room - (count - 1) * bond_line) / count
    if exact <= 0:
        raise InvalidInput("bond_line", "is so thick that the glue lines alone fill the heights")
    leftover = room - count * thickness - (count - 1) * bond_line
    return Laid(count=count, thickness=thickness, leftover=leftover, exact_thickness=exact)
