"""Patterns of laminated segments at full size: the outer face with its strips, and how its slices are sawn."""

from collections.abc import Hashable, Sequence

from estimating.picture.dimensions import Pen
from estimating.picture.plates import DrawnPart, Plate, around, named, said_angle
from estimating.picture.strips import faces_of
from estimating.picture.svg import element, outline, wood_colour
from estimating.picture.templates_section import PALE
from estimating.piece import Laminate
from estimating.shape.rings import Ring


def laminate_plates(part: DrawnPart, rings: Sequence[Ring], *, pen: Pen) -> list[Plate]:
    """The face of each distinct laminated segment of some rings, its long edge below."""
    groups: dict[tuple[str, Hashable], list[Ring]] = {}
    for ring in rings:
        for key in ring.laminated:
            groups.setdefault((key, _measures(part, ring, key)), []).append(ring)
    return [_face(part, key, alike, pen) for (key, _), alike in groups.items()]


def _measures(part: DrawnPart, ring: Ring, key: str) -> Hashable:
    """What two laminated segments share that one drawing stands for."""
    cuts = part.cuts.get((ring.number, key))
    stop = round(cuts.slicing.stop, 2) if cuts and cuts.slicing else None
    return (
        round(ring.outer_edge, 2),
        round(ring.height, 2),
        stop,
        _is_mirrored(part, ring, key),
        _is_both(ring, key),
    )


def _is_both(ring: Ring, key: str) -> bool:
    """Whether it stands at even and at odd places of the ring."""
    return len({place % 2 for place, wood in enumerate(ring.pattern) if wood == key}) > 1


def _is_mirrored(part: DrawnPart, ring: Ring, key: str) -> bool:
    """Whether the first such segment of the ring is one that is turned the other way round."""
    return part.subject.laminates[key].is_mirrored(ring.pattern.index(key))


def _face(part: DrawnPart, key: str, rings: list[Ring], pen: Pen) -> Plate:
    """What the first such segment of the ring shows from outside; the page's y runs down, the ring's height up."""
    ring, laminate = rings[0], part.subject.laminates[key]
    half, high = ring.outer_edge / 2, ring.height
    strips = [
        element(
            "path",
            d=outline([half + x for x, _ in polygon], [-y for _, y in polygon]),
            fill=wood_colour(part.subject.colours.get(wood)),
            fill_opacity=PALE,
            stroke="currentColor",
            stroke_width=pen.line,
            class_="dw-strip",
        )
        for wood, polygon in faces_of(laminate, ring, ring.pattern.index(key))
    ]
    numbers = [other.number for other in rings]
    title = part.titled(f"{key[:1].upper()}{key[1:]}, face of {named('ring', numbers)}")
    box = around((0.0, -high, 2 * half, high), margin=0.5)
    return Plate(title, _notes(part, key, rings, pen), element("g", *strips, data_face=ring.number), box)


def _notes(part: DrawnPart, key: str, rings: list[Ring], pen: Pen) -> tuple[str, ...]:
    ring, laminate = rings[0], part.subject.laminates[key]
    notes = [
        f"Outer face as glued, {pen.length(ring.outer_edge)} by {pen.length(ring.height)} {pen.unit}",
        f"Strips across the panel: {_strips(laminate, pen)}",
    ]
    if cuts := part.cuts.get((ring.number, key)):
        slicing = cuts.slicing
        notes.append(
            f"Slices: saw {said_angle(slicing.saw_angle)} off square, {pen.length(slicing.stop)} {pen.unit} wide"
            if slicing
            else "Segments crosscut from the panel itself"
        )
    if laminate.kind != "stripes" and _is_both(ring, key):
        notes.append("Every second segment the other way round")
    return tuple(notes)


def _strips(laminate: Laminate, pen: Pen) -> str:
    return ", ".join(f"{pen.length(width)} {wood}" for wood, width in laminate.strips)
