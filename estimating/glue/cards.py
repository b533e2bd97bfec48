"""The cards of a piece's glue-ups, made from its shape, its glue-ups and their joints."""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from math import degrees

import numpy as np

from estimating.glue.assembly import OF_RINGS, GlueUp, bowls
from estimating.glue.card import Before, Card, Course, Joint, RingWork, Warned
from estimating.glue.holding import Hold, band_tension, hold_pile
from estimating.glue.joints import JointAreas
from estimating.glue.label import Times, cleaner_burns, times_at
from estimating.glue.mixing import Adhesive, Mix
from estimating.piece import Label, ShopSettings
from estimating.shape.build import Shape
from estimating.shape.in_hand import order_in_hand, turn_in_hand, within_half_turn
from estimating.shape.rings import Ring


@dataclass(frozen=True)
class Bench:
    """What all cards of a piece are made from. `oily` are the keys of its oily woods."""

    shapes: Sequence[Shape]
    glue_ups: Sequence[GlueUp]
    areas: JointAreas
    adhesive: Adhesive
    shop: ShopSettings
    label: Label
    oily: Collection[str] = field(default_factory=frozenset)

    def shape_of(self, layer: int) -> Shape:
        """The part that a layer, by its number, is of."""
        return next(shape for shape in self.shapes if layer <= shape.layers[-1])

    def ring(self, number: int) -> Ring:
        """A ring by its number."""
        shape = next(shape for shape in self.shapes if number <= shape.rings[-1].number)
        return shape.rings[number - shape.rings[0].number]


def glue_cards(bench: Bench) -> tuple[Card, ...]:
    """The cards of all glue-ups of one piece, in their order."""
    mixes: dict[int, list[Mix]] = {}
    for mix in bench.adhesive.mixes:
        if mix.piece == 1:
            mixes.setdefault(mix.glue_up, []).append(mix)
    times = times_at(bench.shop, bench.label)
    return tuple(_card(bench, one, mixes.get(one.number, []), times) for one in bench.glue_ups)


def _card(bench: Bench, glue_up: GlueUp, mixes: Sequence[Mix], times: Times) -> Card:
    spread = bench.adhesive.spreads[glue_up.number - 1]
    stacked = glue_up.layers if glue_up.kind in ("stack", "join") else ()
    layers = order_in_hand(stacked, from_rim=glue_up.from_rim)
    rings = tuple(_ring_work(bench, glue_up)) if glue_up.kind in OF_RINGS else ()
    courses = tuple(_courses(bench, glue_up, layers))
    joints = tuple(_joints(bench, glue_up, layers))
    hold = _hold(bench, glue_up, joints)
    minutes = _coat_minutes(bench.shop, glue_up, rings)
    return Card(
        glue_up=glue_up,
        part=_part(bench, glue_up),
        before=tuple(_before(bench, glue_up)),
        rings=rings,
        courses=courses,
        joints=joints,
        end_area=spread.end_area,
        face_area=spread.face_area,
        coated_area=spread.coated_area,
        ml=spread.ml,
        mixes=tuple(mixes),
        times=times,
        coat_minutes=minutes,
        hold=hold,
        cautions=tuple(_cautions(bench, hold, mixes, rings, late=minutes > times.working + 1e-9)),
        counts="clockwise" if glue_up.from_rim else "anticlockwise",
        plug=_plug(bench, glue_up),
    )


def _part(bench: Bench, glue_up: GlueUp) -> str:
    if glue_up.layers:
        return bench.shape_of(glue_up.layers[-1]).part.name
    ring = glue_up.rings[0]
    return next(shape.part.name for shape in bench.shapes if ring <= shape.rings[-1].number)


def _ring_work(bench: Bench, glue_up: GlueUp) -> Iterator[RingWork]:
    for number, share in zip(glue_up.rings, glue_up.end_shares, strict=True):
        ring = bench.ring(number)
        tension = band_tension(ring.end_joint_area, pressure=bench.label.pressure)
        joints = round(ring.end_joints * share)
        yield RingWork(number, ring.segments, joints, ring.end_joint_area, tension)


def _is_seat(bench: Bench, glue_up: GlueUp) -> bool:
    """Whether a finished part is set on another one."""
    return glue_up.kind == "join" and glue_up.layers in bench.areas.seats


def _courses(bench: Bench, glue_up: GlueUp, layers: Sequence[int]) -> Iterator[Course]:
    """One by one, each turned on the one before; parts on one another stand as they look best."""
    mark = 0.0
    for place, layer in enumerate(layers):
        shape = bench.shape_of(layer)
        ring, index = shape.ring(layer), shape.index(layer)
        turn = 0.0
        if place and not _is_seat(bench, glue_up):
            standing = float(shape.stack.angle[shape.index(layers[place - 1])])
            turn = turn_in_hand(standing, float(shape.stack.angle[index]), from_rim=glue_up.from_rim)
        mark += turn
        below = bench.shape_of(layers[place - 1]).ring(layers[place - 1]) if place else ring
        yield Course(
            layer=layer,
            ring=ring.number,
            segments=ring.segments,
            disc=ring.is_disc,
            thickness=float(shape.stack.thickness[index]),
            outer=2 * ring.corner_radius,
            inner=2 * ring.inner_apothem,
            turn_deg=within_half_turn(turn),
            mark_deg=round(degrees(mark), 6) % 360,
            along=turn * min(ring.outer_apothem, below.outer_apothem),
            down="coated" if place else "dry",
            up="coated" if place < len(layers) - 1 else "dry",
        )


def _joints(bench: Bench, glue_up: GlueUp, layers: Sequence[int]) -> Iterator[Joint]:
    margin = bench.shop.coat_margin
    for below, above in pairwise(layers):
        if _is_seat(bench, glue_up):
            area = bench.areas.seats[below, above]
            line = _seat_line(bench.shape_of(below), bench.shape_of(above))
            yield Joint(below, above, area, area, line, line)
            continue
        lower = min(below, above) - 1
        faces = [_face(bench, layer, top=layer == lower + 1) for layer in (below, above)]
        yield Joint(
            below,
            above,
            area=float(bench.areas.faces[lower]),
            coated=float(bench.areas.coated[lower]),
            line_below=_line(faces[0], faces[1], margin),
            line_above=_line(faces[1], faces[0], margin),
        )


def _face(bench: Bench, layer: int, *, top: bool) -> tuple[float, float]:
    """Diameters of the circles that hold a face: through its outer corners, and inside its inner flats."""
    ring = bench.shape_of(layer).ring(layer)
    outer, inner = ring.face(top)
    return 2 * inner, 2 * (outer * ring.corner_radius / ring.outer_apothem)


def _line(own: tuple[float, float], other: tuple[float, float], margin: float) -> tuple[float, float]:
    """Circles to coat a face between: as far as the other one reaches and the margin, never beyond its own edge."""
    inner = max(own[0], other[0] - 2 * margin)
    outer = min(own[1], other[1] + 2 * margin)
    return (inner, outer)


def _seat_line(below: Shape, above: Shape) -> tuple[float, float]:
    top, bottom = np.array([below.form.top]), np.array([above.form.bottom])
    inner = max(float(below.form.inner_radius(top)[0]), float(above.form.inner_radius(bottom)[0]))
    outer = min(float(below.form.outer.radius(top)[0]), float(above.form.outer.radius(bottom)[0]))
    return 2 * inner, 2 * outer


def _hold(bench: Bench, glue_up: GlueUp, joints: Sequence[Joint]) -> Hold:
    """Plugs and panels are not reckoned: nothing presses a plug's side, and a panel's size is its laminate's."""
    pressure, shop = bench.label.pressure, bench.shop
    if glue_up.kind == "waste_block":
        ring = bench.shape_of(glue_up.layers[0]).ring(glue_up.layers[0])
        area = [bench.areas.blocks[glue_up.layers[0]]]
        return hold_pile(glue_up.held, area, rim_radius=ring.corner_radius, pressure=pressure, shop=shop)
    if not joints:
        return Hold(glue_up.held, pressure)
    rim = max(max(joint.line_below[1], joint.line_above[1]) for joint in joints) / 2
    areas = [joint.area for joint in joints]
    return hold_pile(glue_up.held, areas, rim_radius=rim, pressure=pressure, shop=shop)


def _coat_minutes(shop: ShopSettings, glue_up: GlueUp, rings: Sequence[RingWork]) -> float:
    """As the shop reckons: by the joint in rings, by the layer in stacks, and one layer's worth for all else."""
    if rings:
        return sum(ring.joints for ring in rings) * shop.coat_joint_min
    return shop.coat_stack_min * (len(glue_up.layers) if glue_up.kind == "stack" else 1)


def _plug(bench: Bench, glue_up: GlueUp) -> tuple[str, float, float] | None:
    if glue_up.kind != "plug":
        return None
    shape = bench.shape_of(glue_up.layers[0])
    plug = next(plug for plug in shape.plugs if plug.layers == glue_up.layers)
    return plug.wood, plug.diameter, plug.length


def _before(bench: Bench, glue_up: GlueUp) -> Iterator[Before]:
    match glue_up.kind:
        case "half_ring":
            yield Before("spacers", glue_up.rings)
        case "ring":
            shares = zip(glue_up.rings, glue_up.end_shares, strict=True)
            if halved := tuple(ring for ring, share in shares if share < 1):
                yield Before("true_halves", halved, bench.shop.half_true)
        case "join":
            yield from _before_join(bench, glue_up)
        case "plug":
            plug = _plug(bench, glue_up)
            yield Before("bore", glue_up.layers, plug[1] if plug else 0.0)
    if glue_up.held == "mandrel":
        yield Before("wax_mandrel", mm=bench.shop.mandrel_diameter)
    if glue_up.held == "pin_jig":
        yield Before("set_pins", glue_up.layers)
    if oily := _oily(bench, glue_up):
        yield Before("wipe_oily", woods=oily)
    if glue_up.kind != "panel":
        yield Before("dry_fit")


def _before_join(bench: Bench, glue_up: GlueUp) -> Iterator[Before]:
    shape = bench.shape_of(glue_up.layers[0])
    if _is_seat(bench, glue_up):
        return
    if shape.form.inner is not None and glue_up.layers[0] in shape.closings:
        yield Before("turn_inside", _closed(shape, glue_up.layers))
    yield Before("true_faces", glue_up.layers, bench.shop.join_true)


def _closed(shape: Shape, layers: Sequence[int]) -> tuple[int, ...]:
    """First and last layer of the bowls that meet here and are still open."""
    meeting = [bowl for bowl in bowls(shape) if layers[0] in bowl or layers[1] in bowl]
    return meeting[0][0], meeting[-1][-1]


def _oily(bench: Bench, glue_up: GlueUp) -> tuple[str, ...]:
    rings = [bench.ring(number) for number in glue_up.rings]
    rings += [bench.shape_of(layer).ring(layer) for layer in glue_up.layers]
    used: Mapping[str, float] = {wood: share for ring in rings for wood, share in ring.wood_shares.items()}
    plug = _plug(bench, glue_up)
    return tuple(dict.fromkeys(wood for wood in (*used, *((plug[0],) if plug else ())) if wood in bench.oily))


_HARMS: Mapping[str, Warned] = {"epoxy": "sensitises", "polyurethane": "isocyanates", "ca": "bonds_skin"}


def _cautions(
    bench: Bench, hold: Hold, mixes: Sequence[Mix], rings: Sequence[RingWork], *, late: bool
) -> Iterator[Warned]:
    label = bench.label
    if label.kind in _HARMS:
        yield _HARMS[label.kind]
    if cleaner_burns(label):
        yield "cleaner_burns"
    if any(mix.heats for mix in mixes):
        yield "mix_heats"
    if late:
        yield "too_slow"
    if bench.shop.temperature_c < label.least_c:
        yield "too_cold"
    if hold.clamps or rings:
        yield "clamps_under_load"
    if hold.starves:
        yield "starves"
