"""Feature segments glued up from strips: what their faces show, what wood they hold, and how they are cut.

The trade's way (common practice, no source): strips are glued side by side into a panel as thick as the segments are
wide radially; the panel's faces are trued; slices as tall as the ring are sawn from it at an angle to the strips; each
slice is crosscut to one segment, its middle on the panel's middle. For a zigzag every second slice is turned end for
end with its inner face out; for diamonds two slices of half the height are first glued edge to edge, one turned over.
Slices are small and sawn at a slant: a sled, a stop and a clamp keep hands clear of the blade, as far as the saw's
maker says; `hold` is the rest that stays in the clamp.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields
from itertools import accumulate
from math import ceil, cos, degrees, floor, pi, sin, tan

from estimating.errors import InvalidInput
from estimating.piece import Laminate
from estimating.shape.clipping import ON_LINE, Plan, Point, Polygon, moments, reflected, split


def panel_needed(laminate: Laminate, *, length: float, height: float) -> float:
    """Least panel width for segments so long (outer edge) and tall: what they measure square to the strips, mm."""
    return length * sin(laminate.angle) + height / laminate.parts * cos(laminate.angle)


def check(laminate: Laminate, *, length: float, height: float, place: str = "") -> None:
    """Refuse a laminate that cannot be made, or whose panel is too narrow for the segment.

    Errors: InvalidInput at `place`strips or `place`angle, with what would be right.
    """
    if not laminate.strips or any(width <= 0 for _, width in laminate.strips):
        raise InvalidInput(f"{place}strips", "must be one or more strips, each wider than 0 mm")
    slanted = 0 < laminate.angle < pi / 2
    if not slanted and (laminate.kind != "stripes" or not 0 <= laminate.angle <= pi / 2):
        ends = "from 0 to 90" if laminate.kind == "stripes" else "more than 0 and less than 90"
        raise InvalidInput(f"{place}angle", f"must be {ends} degrees for {laminate.kind}")
    needed = panel_needed(laminate, length=length, height=height)
    if laminate.panel_width < needed - ON_LINE:
        raise InvalidInput(
            f"{place}strips",
            f"are {laminate.panel_width:.5g} mm wide together; a segment {length:.5g} mm long and {height:.5g} mm "
            f"tall at {degrees(laminate.angle):.5g} degrees needs {ceil(needed * 10 - 1e-6) / 10:.5g} mm: "
            "add strips or make them wider",
        )


def segment_faces(
    laminate: Laminate, *, length: float, height: float, mirrored: bool = False, place: str = ""
) -> tuple[tuple[str, Polygon], ...]:
    """What a segment's outer face shows: each strip's wood and polygon, corners anticlockwise.

    Shape: x along the segment from -length/2 to length/2, y from 0 to `height`, mm. Areas sum to length x height.
    The panel's middle is the segment's (the half's, in diamonds). A strip runs square through the segment, so that
    the same corners, clipped at the ends, are its section at any depth.
    Errors: as `check`.
    """
    check(laminate, length=length, height=height, place=place)
    pieces, _ = _laid(laminate, length, height)
    if mirrored:
        return tuple((wood, reflected(polygon, x=True)) for wood, polygon in pieces)
    return pieces


def shares(laminate: Laminate, *, length: float, height: float, place: str = "") -> dict[str, float]:
    """Each wood's share of a segment's outer face, in the order the woods appear; they sum to 1. Errors: as `check`."""
    faces = segment_faces(laminate, length=length, height=height, place=place)
    return _summed(laminate, ((wood, moments(polygon)[0] / (length * height)) for wood, polygon in faces))


def volumes(
    laminate: Laminate, *, length: float, inner_length: float, height: float, width: float, place: str = ""
) -> dict[str, float]:
    """Each wood in one segment, mm3; a mirrored one holds the same. Errors: as `check`.

    The segment is a trapezium in plan, `length` outside, `inner_length` inside, `width` through: over a point of the
    outer face it is as deep as the trapezium there, so a strip's volume is the integral of that depth over its
    polygon, exact because the depth runs straight between the trapezium's corners.
    """
    plan = Plan(length, inner_length, width)
    faces = segment_faces(laminate, length=length, height=height, place=place)
    return _summed(laminate, ((wood, plan.volume_over(polygon)) for wood, polygon in faces))


def glue_area(
    laminate: Laminate, *, length: float, inner_length: float, height: float, width: float, place: str = ""
) -> float:
    """Joints between strips inside one segment, and the middle joint of a diamond, mm2. Errors: as `check`."""
    check(laminate, length=length, height=height, place=place)
    plan = Plan(length, inner_length, width)
    _, joints = _laid(laminate, length, height)
    middle = (laminate.parts - 1) * plan.area
    return middle + sum(plan.area_along(start, end) for start, end in joints)


@dataclass(frozen=True)
class Panel:
    """`count` panels alike, each `length` mm long and giving `pieces`: slices, or segments where stripes lie flat."""

    count: int
    pieces: int
    length: float


@dataclass(frozen=True)
class StripCut:
    """`count` strips alike for the panels. `width` shows on the segment, `thickness` is radial; mm."""

    wood: str
    width: float
    thickness: float
    length: float
    count: int


@dataclass(frozen=True)
class Slicing:
    """How slices are sawn from the panels. mm, radians.

    `saw_angle` from a cut square to the strips; `stop` is the slice's height as sawn, square to the cut; `advance`
    is from one cut to the next along the panel's edge, kerf in; `length` the slice's, along the cut.
    """

    count: int
    saw_angle: float
    stop: float
    advance: float
    length: float


@dataclass(frozen=True)
class LaminateUse:
    """Where one wood's strips go, mm3: strips = segments + waste, exactly.

    `flattening` off the panels' faces; `trimming` panel ends and what is wider than lying stripes need; `kerf` of the
    slicing saw; `sanding` off the sawn edges; `crosscut` what is left of slices round the segments, its kerf in.
    """

    strips: float
    segments: float
    flattening: float
    trimming: float
    kerf: float
    sanding: float
    crosscut: float

    @property
    def waste(self) -> float:
        return self.flattening + self.trimming + self.kerf + self.sanding + self.crosscut


@dataclass(frozen=True)
class CutList:
    """All that is cut for `segments` segments of one ring, in order: strips, panels, slices, crosscuts.

    `slicing` is None where stripes lie flat: segments are crosscut from the panel itself. `miter` and `length` (the
    outer edge) set the crosscut; `glue_area` is all that is spread, panels' whole length and diamonds' joints, mm2.
    """

    segments: int
    panels: tuple[Panel, ...]
    strips: tuple[StripCut, ...]
    slicing: Slicing | None
    miter: float
    length: float
    glue_area: float
    woods: Mapping[str, LaminateUse]

    @property
    def total(self) -> LaminateUse:
        """All woods together."""
        uses = self.woods.values()
        return LaminateUse(*(sum(getattr(use, field.name) for use in uses) for field in fields(LaminateUse)))


def cut_list(
    laminate: Laminate, *, segments: int, length: float, inner_length: float, height: float, width: float,
    kerf: float, hold: float, longest: float, flatten: float = 0.0, sanding: float = 0.0, place: str = "",
) -> CutList:  # fmt: skip
    """What to cut for so many segments, `length` outside, `inner_length` inside, `height` as glued, `width` radial; mm.

    `kerf` of the saw; `hold` the rest of each panel never cut; `longest` the longest panel that can be made; `flatten`
    off each face of a panel; `sanding` off a slice's two sawn edges together (none where stripes lie flat).
    A panel of k slices is P cot(angle) + (k (slice + sanding) + (k + 1) kerf) / sin(angle) + hold long: its first cut
    makes the slanted end. Of k lying segments it is a strip's length: k mean edges, k + 1 kerfs at the miter, the slant
    of the last end and hold, each segment turned over on the one before. Pieces are shared out evenly over the fewest
    panels. Common practice, no source.
    Errors: as `check`; InvalidInput at `place`strips where not one piece comes out of the longest panel.
    """
    check(laminate, length=length, height=height, place=place)
    job = _Job(laminate, segments, Plan(length, inner_length, width), height, kerf, hold, flatten, sanding)
    panels = _panels(job, longest, place)
    return CutList(
        segments=segments, panels=panels, strips=_strips(job, panels), slicing=_slicing(job),
        miter=job.plan.miter, length=length, glue_area=_glued(job, panels), woods=_uses(job, panels),
    )  # fmt: skip


@dataclass(frozen=True)
class _Job:
    """What `cut_list` is asked for, and what follows from it at once."""

    laminate: Laminate
    segments: int
    plan: Plan
    height: float
    kerf: float
    hold: float
    flatten: float
    sanding: float

    @property
    def lying(self) -> bool:
        return self.laminate.angle == 0

    @property
    def pieces(self) -> int:
        return self.segments * self.laminate.parts

    @property
    def kerf_along(self) -> float:
        """What one cut takes of a panel's length."""
        return self.kerf / (cos(self.plan.miter) if self.lying else sin(self.laminate.angle))

    @property
    def slice_height(self) -> float:
        """Of a slice with its sawn edges sanded."""
        return self.height / self.laminate.parts

    @property
    def each(self) -> float:
        """What one piece takes of a panel's length, with a cut."""
        if self.lying:
            return (self.plan.length + self.plan.inner) / 2 + self.kerf_along
        return (self.slice_height + self.sanding + self.kerf) / sin(self.laminate.angle)

    @property
    def ends(self) -> float:
        """What a panel loses to slanted ends and the hold, without kerfs."""
        if self.lying:
            return self.plan.width * tan(self.plan.miter) + self.hold
        return self.laminate.panel_width / tan(self.laminate.angle) + self.hold

    @property
    def thickness(self) -> float:
        """Of a panel before its faces are trued."""
        return self.plan.width + 2 * self.flatten


def _panels(job: _Job, longest: float, place: str) -> tuple[Panel, ...]:
    lost = job.ends + job.kerf_along
    if lost + job.each > longest + ON_LINE:
        raise InvalidInput(
            f"{place}strips",
            f"need a panel {lost + job.each:.5g} mm long for one piece, but the longest is {longest:.5g} mm: "
            "make the stripes steeper, the panel narrower or what is held shorter",
        )
    count = ceil(job.pieces / floor((longest - lost) / job.each + 1e-9))
    fewer, longer = divmod(job.pieces, count)
    groups = ((longer, fewer + 1), (count - longer, fewer))
    return tuple(Panel(alike, pieces, lost + pieces * job.each) for alike, pieces in groups if alike)


def _strips(job: _Job, panels: tuple[Panel, ...]) -> tuple[StripCut, ...]:
    alike: dict[tuple[float, str, float], int] = {}
    for panel in panels:
        for wood, width in job.laminate.strips:
            key = (panel.length, wood, width)
            alike[key] = alike.get(key, 0) + panel.count
    return tuple(
        StripCut(wood, width, job.thickness, length, count) for (length, wood, width), count in alike.items()
    )


def _slicing(job: _Job) -> Slicing | None:
    if job.lying:
        return None
    angle = job.laminate.angle
    length = job.laminate.panel_width / sin(angle)
    return Slicing(job.pieces, pi / 2 - angle, job.slice_height + job.sanding, job.each, length)


def _glued(job: _Job, panels: tuple[Panel, ...]) -> float:
    run = sum(panel.count * panel.length for panel in panels)
    halves = 0.0
    if job.laminate.parts > 1:
        halves = job.segments * job.plan.width * job.laminate.panel_width / sin(job.laminate.angle)
    return (len(job.laminate.strips) - 1) * run * job.thickness + halves


def _uses(job: _Job, panels: tuple[Panel, ...]) -> dict[str, LaminateUse]:
    plan, laminate = job.plan, job.laminate
    held = volumes(laminate, length=plan.length, inner_length=plan.inner, height=job.height, width=plan.width)
    shown = shares(laminate, length=plan.length, height=job.height)
    widths = _summed(laminate, laminate.strips)
    run = sum(panel.count * panel.length for panel in panels)
    ends = job.ends * sum(panel.count for panel in panels)
    kerfs = job.kerf_along * sum(panel.count * (panel.pieces + 1) for panel in panels)
    uses = {}
    for wood, across in widths.items():
        face, segments = across * plan.width, job.segments * held[wood]  # the panel's section, trued
        if job.lying:
            used = shown[wood] * job.height * plan.width
            trimming, kerf, sanding, crosscut = (face - used) * run, 0.0, 0.0, used * (ends + kerfs)
        else:
            trimming, kerf = face * ends, face * kerfs
            sanding = face * job.pieces * job.sanding / sin(laminate.angle)
            crosscut = face * job.pieces * job.slice_height / sin(laminate.angle) - segments
        strips, flattening = across * run * job.thickness, across * run * 2 * job.flatten
        uses[wood] = LaminateUse(strips, segments, flattening, trimming, kerf, sanding, crosscut)
    return uses


def _summed(laminate: Laminate, parts: Iterable[tuple[str, float]]) -> dict[str, float]:
    """Summed by wood, in the order the strips name the woods; 0 for a wood that nothing was said of."""
    found = {wood: 0.0 for wood, _ in laminate.strips}
    for wood, amount in parts:
        found[wood] += amount
    return found


def _laid(
    laminate: Laminate, length: float, height: float
) -> tuple[tuple[tuple[str, Polygon], ...], tuple[tuple[Point, Point], ...]]:
    """Strips and the joints between them on a segment's face, not mirrored."""
    part = height / laminate.parts
    across, up = sin(laminate.angle), cos(laminate.angle)
    rest: Polygon = ((-length / 2, 0.0), (length / 2, 0.0), (length / 2, part), (-length / 2, part))
    pieces: list[tuple[str, Polygon]] = []
    joints: list[tuple[Point, Point]] = []
    joint_at = accumulate(width for _, width in laminate.strips[:-1])
    for (wood, _), at in zip(laminate.strips, joint_at, strict=False):
        rest, polygon, joint = split(rest, across, up, at - laminate.panel_width / 2 + part / 2 * up)
        pieces.append((wood, polygon))
        joints.extend(joint)
    pieces.append((laminate.strips[-1][0], rest))
    pieces = [(wood, polygon) for wood, polygon in pieces if polygon]
    if laminate.parts > 1:
        pieces += [(wood, reflected(polygon, height=height)) for wood, polygon in pieces]
        joints += [((x, height - y), (u, height - v)) for (x, y), (u, v) in joints]
    return tuple(pieces), tuple(joints)
