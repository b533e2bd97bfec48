"""Cautions of the weather: glue lines between layers that move apart, rings that strain themselves, unknown woods."""

from collections.abc import Iterator, Sequence

from estimating.cautions.seen import Caution, Rule, Seen, Severity, layers_do, numbers
from estimating.shape.build import Shape
from estimating.wood.fits_weather import PlugMovement, lids_of, plugs_of
from estimating.wood.weather import OPENS, Joint, LayerMovement, Movement
from estimating.wood.weather_words import MUCH

_WORST: tuple[Severity, ...] = ("warning", "danger")


def _severe(movement: Movement) -> Iterator[tuple[Joint, LayerMovement, LayerMovement]]:
    """Each pair of layers that strains a glue line too much, once, with the lower layer first."""
    told: set[tuple[int, int]] = set()
    for joint in movement.joints:
        if joint.severity in _WORST and joint.strained is not None and joint.strained not in told:
            told.add(joint.strained)
            lower, upper = joint.strained
            yield joint, movement.layer(lower), movement.layer(upper)


def _is_solid(layer: LayerMovement) -> bool:
    return layer.made == "solid"


def _shape_of(seen: Seen, layer: int) -> Shape:
    return next(shape for shape in seen.shapes if layer in shape.layers)


def _place(seen: Seen, layer: int) -> str:
    shape = _shape_of(seen, layer)
    return shape.part.band_place(shape.stack.band[shape.index(layer)])


def _worst(joints: Sequence[Joint]) -> Severity:
    return "danger" if any(joint.severity == "danger" for joint in joints) else "warning"


def _from(movement: Movement) -> str:
    return f"From {movement.emc_shop:.1f} to {movement.emc_client:.1f} % moisture"


def solid_beside_rings(seen: Seen) -> Iterator[Caution]:
    """The classic failure: a disc in one piece moves across its grain by far more than the ring it is glued to."""
    movement = seen.movement
    if movement is None:
        return
    found: dict[int, list[Joint]] = {}
    for joint, lower, upper in _severe(movement):
        if _is_solid(lower) != _is_solid(upper):
            found.setdefault((lower if _is_solid(lower) else upper).number, []).append(joint)
    for number, joints in found.items():
        message = _of_disc(movement, movement.layer(number), joints)
        yield Caution("solid_beside_ring", _worst(joints), _place(seen, number), message)


def _of_disc(movement: Movement, disc: LayerMovement, joints: Sequence[Joint]) -> str:
    change, safe = disc.width_change or 0.0, disc.safe_diameter or 0.0
    most = max(joint.held or 0.0 for joint in joints)
    beside = " and ".join(f"layer {_other(joint, disc.number)}" for joint in joints)
    return (
        f"Layer {disc.number} is a solid disc {disc.width:.0f} mm across, glued to {beside}. {_from(movement)} it "
        f"{'swells' if change > 0 else 'shrinks'} by up to {abs(change):.2f} mm across its grain and hardly along it, "
        f"and slides by up to {most:.2f} mm at one side of the joint: such joints crack. Between these two rooms a "
        f"solid base of this wood is at little risk up to {int(safe)} mm across ({OPENS:g} mm a side). Wider, build it "
        "from segments, or let a solid panel float in a groove without glue."
    )


def _other(joint: Joint, number: int) -> int:
    assert joint.strained is not None
    return joint.strained[0] if joint.strained[1] == number else joint.strained[1]


def joints_that_slide(seen: Seen) -> Iterator[Caution]:
    """Other glue lines whose two layers part by much: staves on rings, crossed discs, very unlike or wide rings."""
    movement = seen.movement
    if movement is None:
        return
    found: dict[str, list[tuple[Joint, LayerMovement, LayerMovement]]] = {}
    for joint, lower, upper in _severe(movement):
        if _is_solid(lower) == _is_solid(upper):
            found.setdefault(_place(seen, upper.number), []).append((joint, lower, upper))
    for place, told in found.items():
        joints = [joint for joint, _, _ in told]
        worst, lower, upper = max(told, key=lambda one: one[0].held or 0.0)
        pairs = ", ".join(f"{a.number} and {b.number}" for _, a, b in told)
        message = (
            f"{_from(movement)} layers {pairs} move apart by up to {worst.held or 0.0:.2f} mm at one side if "
            f"nothing holds them, which strains the glue line until it or the wood gives. {_way_out(lower, upper)}"
        )
        yield Caution("joint_slides", _worst(joints), place, message)


def _way_out(lower: LayerMovement, upper: LayerMovement) -> str:
    if _is_solid(lower):
        return "Glue discs with their grain the same way, of woods that move alike, or make them narrower."
    if "staves" in (lower.made, upper.made):
        return "Staves move round the piece, rings do not: fit a loose or floating joint there, or a ring of staves."
    return "Take woods that move alike, sort the boards so that growth rings lie alike, or make the rings narrower."


def strained_rings(seen: Seen) -> Iterator[Caution]:
    """Wide closed rings: their segments change their width but not their length, so the joints want to open."""
    movement = seen.movement
    if movement is None:
        return
    found: dict[str, list[LayerMovement]] = {}
    for layer in movement.layers:
        if layer.closing is not None and layer.closing.forced >= MUCH:
            found.setdefault(_place(seen, layer.number), []).append(layer)
    for place, layers in found.items():
        widest = max(layers, key=lambda layer: layer.closing.forced if layer.closing else 0.0)
        closed = widest.closing
        if closed is None:
            continue
        message = (
            f"{layers_do([layer.number for layer in layers], 'is', 'are')} wide for the change of moisture. "
            f"{_from(movement)} segments change their width but not their length, so in layer {widest.number} each "
            f"joint wants to open by {closed.opening:.2f} mm at the {closed.opens}. Make the ring narrower, bore "
            "its middle out, or glue it of wood that has come to the moisture of the client's room."
        )
        yield Caution("ring_strained", "note", place, message)


def unknown_movement(seen: Seen) -> Iterator[Caution]:
    """Woods of which no shrinkage is published: nothing is said of them rather than that they stand still."""
    movement = seen.movement
    if movement is None or not movement.unknown:
        return
    names = ", ".join(seen.woods[wood].name for wood in movement.unknown)
    layers = numbers(layer.number for layer in movement.layers if layer.unknown)
    message = (
        f"The shrinkage of {names} is not known here, so nothing is said of how layer {layers} moves or of its glue "
        "lines. Look it up and give it to the wood, or glue a trial and leave it in a dry and in a damp room."
    )
    yield Caution("movement_unknown", "note", "climate", message)


def plugs_that_move(seen: Seen) -> Iterator[Caution]:
    """Plugs that would outgrow their bores and burst the ring, or shrink from it and stand in a gap."""
    movement = seen.movement
    if movement is None:
        return
    for found in plugs_of(seen.shapes, movement=movement, woods=seen.woods):
        least, most = found.outgrows_least, found.outgrows_most
        if least is None or most is None or found.severity not in _WORST:
            continue
        pushes = most >= -least
        way = "presses outwards on its bore" if pushes else "shrinks away from its bore"
        message = (
            f"{_from(movement)} the {found.plug.diameter:.0f} mm plug in layer {numbers(found.plug.layers)} {way} by "
            f"up to {max(most, -least):.2f} mm at each side if nothing holds it. Make bore and plug narrower, take a "
            "wood that moves less, or glue it at the moisture of the client's room."
        )
        yield Caution("plug_moves", _severity_of_plug(found), _place(seen, found.plug.layers[0]), message)


def _severity_of_plug(found: PlugMovement) -> Severity:
    return "danger" if found.severity == "danger" else "warning"


def lids_that_bind(seen: Seen) -> Iterator[Caution]:
    """Lids that go in as made and may be caught where they will live."""
    movement = seen.movement
    if movement is None:
        return
    for found in lids_of(seen.shapes, movement=movement):
        if not found.binds or found.gap_least is None:
            continue
        shape = next(shape for shape in seen.shapes if shape.part.name == found.fit.part)
        more = -found.gap_least
        message = (
            f"{found.fit.part!r} goes into {found.fit.within!r} with {found.fit.gap:.2f} mm each side as made. "
            f"{_from(movement)} lid and rim may close by {found.fit.gap + more:.2f} mm, and it binds: a lid that is "
            f"caught tears its rim. Leave {more:.2f} mm more at each side, or fit it at the moisture of the room."
        )
        yield Caution("lid_binds", "warning", f"{shape.part.place}sits.clearance", message)


RULES: tuple[Rule, ...] = (
    *(solid_beside_rings, joints_that_slide, strained_rings),
    *(plugs_that_move, lids_that_bind, unknown_movement),
)
