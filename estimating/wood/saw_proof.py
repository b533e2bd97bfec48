"""The proof of the saw: what a small error of the angle or of the blade does to a ring, and how large it may be."""

from dataclasses import dataclass
from math import asin, atan, degrees, isfinite, pi, sin, tan

from estimating.errors import InvalidInput


@dataclass(frozen=True, slots=True)
class Opening:
    """The last joint of a ring whose others are closed. radians, mm.

    `angle` is how far the two last faces stand apart, `outside` and `inside` the distance between their corners there.
    Negative: the faces overlap by as much, so that the last segment does not go in.
    """

    angle: float
    outside: float
    inside: float


@dataclass(frozen=True, slots=True)
class Halves:
    """What two halves lose that are glued with spacers between them and then trued on one plane. radians, mm.

    `angle` is how far each end of a half stands off the plane through both; `straightedge` the gap that a straightedge
    laid across both ends leaves at one corner of each; `off_each` the deepest that truing takes from each end, at the
    other corner; `short` how much less the ring then measures across the joint of its halves than it should (negative:
    more).
    """

    angle: float
    straightedge: float
    off_each: float
    short: float


@dataclass(frozen=True, slots=True)
class Dish:
    """A ring whose joints lean. radians, mm.

    `slope` is how far each segment's face stands off flat, `height` how much higher its one edge lies than the other,
    which each face loses when it is flattened.
    """

    slope: float
    height: float


def last_joint(*, segments: int, outer_edge: float, width: float, error: float, miter: float) -> Opening:
    """The opening of the last joint where every end of every segment is cut `error` short of its `miter`.

    Shape: `outer_edge` the segments' longer edge, `width` from it to the shorter one, mm; angles in radians.
    Derivation: segments with both ends cut at f = miter - error are like trapezia; laid end to end, their end faces
    all point to one centre, each segment taking 2 f of the full turn. Of n segments that should take 2 n miter (the
    full turn, or what open gaps leave of it) 2 n error is left over: the angle between the last two faces. They still
    point to the centre, so that corners at radius r from it stand 2 r sin(n error) apart, with
    r = outer_edge / (2 sin f) outside and (outer_edge - 2 width tan f) / (2 sin f) inside. With open gaps it is what
    all the gaps together lack.
    Source: geometry of the ring; no other.
    Errors: InvalidInput at `segments`, `outer_edge`, `width`, `miter` or `error`.

    >>> opening = last_joint(segments=12, outer_edge=50.0, width=20.0, error=pi / 1800, miter=pi / 12)
    >>> round(degrees(opening.angle), 6), round(opening.outside, 2)
    (2.4, 4.07)
    """
    cut = _checked(segments=segments, outer_edge=outer_edge, width=width, error=error, miter=miter)
    outer, inner = _corner_radii(outer_edge, width, cut)
    half = segments * error
    return Opening(2 * half, 2 * outer * sin(half), 2 * inner * sin(half))


def trued_halves(*, segments: int, outer_edge: float, width: float, error: float, miter: float) -> Halves:
    """What halves lose instead, where spacers keep them apart and each is then trued on one plane.

    Shape: as `last_joint`.
    Derivation: a half of n / 2 segments takes n f of the turn instead of n miter = pi, so that each of its ends stands
    n error / 2 off the plane through the centre. With f too small the ends lie above that plane, by r sin(n error / 2)
    at radius r: the plane that trues both ends goes through the outer corners, R sin above the centre, takes
    (R - r) sin off the inner ones, and both halves together are 2 R sin shorter across their joint. With f too large
    the inner corners reach least below the plane, by r sin: the plane goes through them, takes (R - r) sin off the
    outer ones, and the ring is 2 r sin longer. R and r are the outer and inner corners' radii as in `last_joint`. No
    joint stays open; the ring is as much out of round, which the allowance for turning has to cover.
    Source: geometry of the ring; no other.
    Errors: InvalidInput as `last_joint`, and at `segments` for an odd ring, which has no halves, or at `miter` for a
    ring with open gaps, which has no joint to close.
    """
    cut = _checked(segments=segments, outer_edge=outer_edge, width=width, error=error, miter=miter)
    if segments % 2:
        raise InvalidInput("segments", "must be even: an odd ring has no halves; test a whole ring in scrap")
    if abs(miter * segments - pi) > 1e-9:
        raise InvalidInput("miter", "must be that of a closed ring: one with open gaps has no joint to close")
    outer, inner = _corner_radii(outer_edge, width, cut)
    off = segments * error / 2
    lost = (outer - inner) * sin(abs(off))
    short = 2 * (outer if error > 0 else inner) * sin(off)
    return Halves(angle=off, straightedge=lost, off_each=lost, short=short)


def dish(*, width: float, miter: float, out_of_square: float) -> Dish:
    """How a ring dishes whose segments are sawn with the blade out of square, the strip turned over between cuts.

    Shape: `width` of the strip, mm; angles in radians.
    Derivation: turned over, the strip meets the blade so that both ends of a segment lean alike: their normals, in the
    segment's own axes (along it, outwards, up), are (+-cos f cos d, -sin f cos d, -sin d). All joints go through the
    ring's axis a, which is square to every normal: a = (0, sin b, cos b) with tan b = tan d / sin f. So each segment
    stands b off flat, and its outer edge lies width sin b higher or lower than its inner one: about width d / sin f.
    A segment cut from both sides of the saw, without turning over, has its ends leaning opposite ways, and the ring
    stays flat.
    Source: geometry of the cut; no other.
    Errors: InvalidInput at `width`, `miter` or `out_of_square`.

    >>> round(dish(width=20.0, miter=pi / 12, out_of_square=pi / 1800).height, 3)
    0.135
    """
    _check_dish(width=width, miter=miter)
    if not abs(out_of_square) < pi / 4:
        raise InvalidInput("out_of_square", "must be less than 45 degrees either way")
    slope = atan(tan(abs(out_of_square)) / sin(miter))
    return Dish(slope, width * sin(slope))


def square_enough(*, width: float, miter: float, flatten: float) -> float:
    """How far the blade may be out of square, radians, that flattening still takes the dish off a face.

    The inverse of `dish`: width sin b = flatten, tan d = sin(miter) tan b. pi / 4, the most that `dish` takes, where
    the strip is no wider than what flattening takes anyhow.
    Errors: InvalidInput at `width`, `miter` or `flatten`.
    """
    _check_dish(width=width, miter=miter)
    if not 0 <= flatten < float("inf"):
        raise InvalidInput("flatten", "must be 0 mm or more")
    if flatten >= width:
        return pi / 4
    return min(atan(sin(miter) * tan(asin(flatten / width))), pi / 4)


def close_enough(*, segments: int, outer_edge: float, gap: float, miter: float) -> float:
    """How far a miter may be short, radians, that the last joint opens by no more than `gap` mm outside.

    Halving the interval: the opening of `last_joint` grows with the error.
    Errors: InvalidInput as `last_joint`; at `gap` where it is not more than 0.
    """
    if not 0 < gap < float("inf"):
        raise InvalidInput("gap", "must be more than 0 mm")
    low, high = 0.0, min(miter / 2, pi / (2 * max(segments, 1)))
    for _ in range(60):
        middle = (low + high) / 2
        opening = last_joint(segments=segments, outer_edge=outer_edge, width=0.0, error=middle, miter=miter)
        low, high = (middle, high) if opening.outside <= gap else (low, middle)
    return low


def _corner_radii(outer_edge: float, width: float, cut: float) -> tuple[float, float]:
    """Of the outer and the inner corners, from where the segments' ends point to; the inner one is never past it."""
    outer = outer_edge / (2 * sin(cut))
    return outer, max((outer_edge - 2 * width * tan(cut)) / (2 * sin(cut)), 0.0)


def _checked(*, segments: int, outer_edge: float, width: float, error: float, miter: float) -> float:
    """The angle that is cut. Errors: InvalidInput at whichever figure makes no ring."""
    if segments < 3:
        raise InvalidInput("segments", "must be at least 3")
    if not 0 < outer_edge < float("inf"):
        raise InvalidInput("outer_edge", "must be more than 0 mm")
    if not 0 <= width < float("inf"):
        raise InvalidInput("width", "must be 0 mm or more")
    if not 0 < miter <= pi / segments + 1e-9:
        raise InvalidInput("miter", f"must be more than 0 and at most {degrees(pi / segments):.4g} degrees")
    if not isfinite(error) or abs(error) >= miter or segments * abs(error) > pi / 2:
        raise InvalidInput("error", "must be small beside the miter: it is an error, not another ring")
    return miter - error


def _check_dish(*, width: float, miter: float) -> None:
    if not 0 < width < float("inf"):
        raise InvalidInput("width", "must be more than 0 mm")
    if not 0 < miter < pi / 2:
        raise InvalidInput("miter", "must be more than 0 and less than 90 degrees: square cuts make no ring")
