"""Cautions of segments against each other: joints in line, odd counts, open layers that hardly touch."""

from collections.abc import Iterator, Sequence
from itertools import pairwise
from math import pi

import numpy as np

from estimating.cautions.seen import Caution, Rule, Seen, by_band, layers_do, numbers, ring_numbers
from estimating.shape.build import Shape
from estimating.shape.contact import OpenJoint, open_joints
from estimating.shape.rings import Ring

IN_LINE = 0.1
"""Joints nearer than this share of a segment stand in line; common practice, no source."""

LEAST_SHARE = 0.25
"""Open segments should be glued over so much of their length at the least; common practice, no source."""

_ROUNDING = 1e-9


def joints_in_line(seen: Seen) -> Iterator[Caution]:
    """Closed layers of one count whose joints stand over those of the layer below."""
    for shape in seen.shapes:
        bands = np.array(shape.stack.band)[1:]
        in_line = _in_line(shape)
        for band in np.unique(bands[in_line]).tolist():
            layers = [shape.number(index + 1) for index in np.flatnonzero(in_line & (bands == band)).tolist()]
            message = (
                f"{layers_do(layers, 'has its', 'have their')} joints in line with those of the layer below: a stack "
                "is strong where a segment bridges two, and joints in line open together. Turn the layer by half a "
                "segment, unless the pattern wants it so."
            )
            yield Caution("joints_in_line", "note", shape.part.band_place(band), message)


def _in_line(shape: Shape) -> np.ndarray:
    """Of each layer but the lowest, whether its joints stand over those of the layer below, (n - 1,)."""
    rings = [shape.rings[ring] for ring in shape.ring_of]
    count = np.array([0 if ring.is_disc or ring.gap > 0 else ring.segments for ring in rings])
    alike = (count[1:] == count[:-1]) & (count[1:] > 0)
    pitch = 2 * pi / np.maximum(count[1:], 1)
    turned = np.diff(shape.stack.angle) / pitch
    in_line: np.ndarray = alike & (np.abs(turned - np.round(turned)) < IN_LINE - _ROUNDING)
    return in_line


def odd_rings(seen: Seen) -> Iterator[Caution]:
    """Closed rings of an odd count: they have no halves to be trued and closed."""

    def say(where: str, rings: Sequence[Ring]) -> Caution:
        message = (
            f"Ring {ring_numbers(rings)} has {rings[0].segments} segments, an odd count: it cannot be glued as two "
            "halves that are trued to meet, so every miter must be right. Prove the saw on a test ring, or take an "
            "even count."
        )
        return Caution("odd_half_rings", "note", where, message)

    return by_band(seen, lambda ring: ring.end_joints > 0 and ring.segments % 2 == 1, say)


def odd_patterns(seen: Seen) -> Iterator[Caution]:
    """Woods that alternate all round but for one place, where an odd count brings two alike together."""
    for shape in seen.shapes:
        found: dict[int, list[int]] = {}
        for band, index, pattern in _patterns(shape):
            if _meets_once(pattern):
                found.setdefault(band, []).append(shape.number(index))
        for band, layers in found.items():
            message = (
                f"{layers_do(layers, 'alternates', 'alternate')} two woods round an odd count of "
                f"{shape.bands[band].segments} segments, so two alike meet at one joint. Take an even count, or a row "
                "that hides the meeting, such as a third wood there."
            )
            yield Caution("odd_pattern", "warning", shape.part.band_place(band), message)


def _patterns(shape: Shape) -> Iterator[tuple[int, int, tuple[str, ...]]]:
    """Band, index and woods all round, of each layer that has a row of its own; once a band where all are alike."""
    first = 0
    for index, band in enumerate(shape.bands):
        for layer in range(band.layers if band.chart else 1):
            yield index, first + layer, band.pattern(layer)
        first += band.layers


def _meets_once(pattern: tuple[str, ...]) -> bool:
    """Whether two woods alternate from the first to the last, which round an odd count are then alike."""
    alternates = len(set(pattern)) == 2 and all(one != other for one, other in pairwise(pattern))
    return alternates and len(pattern) % 2 == 1


def odd_laminates(seen: Seen) -> Iterator[Caution]:
    """Zigzags and diamonds mirror every second segment: round an odd count the first and the last are alike."""
    laminates = seen.sheet.laminates

    def wrong(ring: Ring) -> bool:
        ends = (laminates.get(ring.pattern[0]), laminates.get(ring.pattern[-1]))
        mirrored = all(laminate is not None and laminate.kind != "stripes" for laminate in ends)
        return ring.segments % 2 == 1 and mirrored

    def say(where: str, rings: Sequence[Ring]) -> Caution:
        message = (
            f"Ring {ring_numbers(rings)} has {rings[0].segments} segments, an odd count, so its zigzag or diamond "
            "breaks once, where two segments of one hand meet. Take an even count, or a plain segment between them."
        )
        return Caution("odd_laminate", "warning", where, message)

    return by_band(seen, wrong, say) if laminates else iter(())


def open_layers(seen: Seen) -> Iterator[Caution]:
    """Open segments that stand on too little of the segments below them."""
    least = seen.shop.open_contact
    for shape in seen.shapes:
        found: dict[tuple[int, str], list[OpenJoint]] = {}
        for joint in open_joints(shape):
            code = "open_contact" if joint.contact < least - _ROUNDING else "small_overlap"
            if code == "open_contact" or joint.share < LEAST_SHARE - _ROUNDING:
                found.setdefault((shape.stack.band[shape.index(joint.layer)], code), []).append(joint)
        for (band, code), joints in found.items():
            message = _little_contact(joints, least) if code == "open_contact" else _little_share(joints)
            yield Caution(code, "warning", shape.part.band_place(band), message)


def _little_contact(joints: Sequence[OpenJoint], least: float) -> str:
    worst = min(joints, key=lambda joint: joint.contact)
    layers = [joint.layer for joint in joints]
    touch = (
        f"at the least {worst.contact:.1f} mm each side, in layer {worst.layer}"
        if worst.contact > 0
        else f"and some of layer {worst.layer} on none at all"
    )
    return (
        f"Segments of layer {numbers(layers)} stand on too little of those below: {touch}, where the shop wants "
        f"{least:g} mm. So small a joint breaks under the tool. Make the gap smaller, turn the layers by half a "
        "segment, or take fewer segments."
    )


def _little_share(joints: Sequence[OpenJoint]) -> str:
    worst = min(joints, key=lambda joint: joint.share)
    layers = [joint.layer for joint in joints]
    return (
        f"Segments of layer {numbers(layers)} are glued over only {worst.share:.0%} of their length at the least, in "
        f"layer {worst.layer}: the piece hangs on little glue. Make the gap smaller, or turn on gently and late."
    )


RULES: tuple[Rule, ...] = (joints_in_line, odd_rings, odd_patterns, odd_laminates, open_layers)
