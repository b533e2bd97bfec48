"""Cautions of the lathe: swing, length, weight, the tool's reach, and the first speed."""

from collections.abc import Iterator
from math import floor

from estimating.cautions.seen import Caution, Rule, Seen, numbers, part_said
from estimating.shape.build import Shape
from estimating.shape.curves import SAME_HEIGHT
from estimating.shape.reach import Hollow, hollows
from estimating.wood.mass import blank_volumes

SLOW_END = 6000 * 25.4
"""Diameter (mm) times turns a minute at the slow end of the turners' rule, 6000 to 9000 in inches; common practice."""

FASTEST_FIRST = 1500
"""Turns a minute above which no glued-up blank is started, however slim; common practice, no source."""

WASTE_BLOCK = 25.0
"""mm of scrap glued under a piece for the chuck; common practice, no source."""

CHUCK = 75.0
"""mm that a chuck stands out from the spindle; common practice, no source."""

_ROUNDING = 1e-9


def swing(seen: Seen) -> Iterator[Caution]:
    """Rings whose corners, as glued, do not clear the bed."""
    limit = seen.shop.lathe_swing
    wide = [
        ring for shape in seen.shapes for ring in shape.rings if 2 * ring.corner_radius > limit + _ROUNDING
    ]
    if limit > 0 and wide:
        widest = max(2 * ring.corner_radius for ring in wide)
        message = (
            f"As glued, ring {numbers(ring.number for ring in wide)} swings {widest:.0f} mm across its corners, more "
            f"than the lathe's {limit:g} mm. Saw the corners off before it is mounted, take more segments, or make the "
            "piece smaller."
        )
        yield Caution("over_swing", "warning", "shop.lathe_swing", message)


def length(seen: Seen) -> Iterator[Caution]:
    """Parts that do not fit between the centres with what holds them."""
    limit = seen.shop.lathe_length
    for shape in seen.shapes if limit > 0 else ():
        holding = shape.part.holding
        block = WASTE_BLOCK if holding is not None and holding.by == "waste_block" else 0.0
        needed = shape.stack.height + block + CHUCK
        if needed > limit + _ROUNDING:
            with_block = f", a waste block of {block:g} mm" if block else ""
            message = (
                f"The stack{part_said(seen, shape)}, layers {shape.layers[0]} to {shape.layers[-1]}, is "
                f"{shape.stack.height:.0f} mm tall; with{with_block} a chuck of about {CHUCK:g} mm it needs "
                f"{needed:.0f} mm, and the lathe has {limit:g} mm. Turn it in shorter parts that are joined, or make "
                "it lower."
            ).replace("with,", "with")
            yield Caution("over_length", "warning", "shop.lathe_length", message)


def load(seen: Seen) -> Iterator[Caution]:
    """Parts too heavy, as glued, for the lathe's bearings."""
    limit = seen.shop.lathe_load_kg
    for shape in seen.shapes if limit > 0 else ():
        weight = blank_kg(seen, shape)
        if weight > limit + _ROUNDING:
            message = (
                f"The blank{part_said(seen, shape)}, layers {shape.layers[0]} to {shape.layers[-1]}, weighs about "
                f"{weight:.1f} kg as glued, more than the {limit:g} kg that the lathe carries. Hollow or saw the rings "
                "nearer to the form, use a lighter wood, or turn it in parts."
            )
            yield Caution("over_load", "warning", "shop.lathe_load_kg", message)


def blank_kg(seen: Seen, shape: Shape) -> float:
    """Weight of a part's layers as glued, kg at 12 % moisture; plugs fill their bores."""
    return sum(volume * seen.woods[wood].density for wood, volume in blank_volumes(shape).items()) * 1e-9


def reach(seen: Seen) -> Iterator[Caution]:
    """Hollows too deep for a tool that works through their opening."""
    limit = seen.shop.hollowing_reach
    for shape in seen.shapes if limit > 0 else ():
        for hollow in hollows(shape):
            if hollow.depth > limit * hollow.opening + _ROUNDING:
                yield Caution(
                    "out_of_reach",
                    "warning",
                    f"{shape.part.place}form.inside",
                    _out_of_reach(seen, shape, hollow),
                )


def _out_of_reach(seen: Seen, shape: Shape, hollow: Hollow) -> str:
    mend = "Make the opening wider or the hollow less deep."
    if hollow.close_at is not None:
        mend = (
            f"Build it as bowls that are turned inside and then joined: close it at {hollow.close_at:.1f} mm, above "
            f"layer {hollow.close_above}."
        )
    what = f"The hollow{part_said(seen, shape)} is {hollow.depth:.0f} mm deep"
    if hollow.opening < SAME_HEIGHT:
        return f"{what} and has no opening that a tool could go in by. {mend}"
    return (
        f"{what} behind an opening {hollow.opening:.0f} mm "
        f"wide, at layer {hollow.entry}: {hollow.depth / hollow.opening:.1f} widths, where the shop's tools reach "
        f"{seen.shop.hollowing_reach:g}. A tool so far over its rest chatters and catches. {mend}"
    )


def first_turning(seen: Seen) -> Iterator[Caution]:
    """What holds for the first turning of every glued-up piece, and at what speed it begins."""
    widest = max((ring for shape in seen.shapes for ring in shape.rings), key=lambda ring: ring.corner_radius)
    across = 2 * widest.corner_radius
    message = (
        f"As glued the piece swings {across:.0f} mm across its corners, at ring {widest.number}. Check that against "
        f"the lathe, start no faster than {first_speed(across)} turns a minute (common practice), slower while it is "
        "out of balance. Wear a face shield, stand out of the line of fire, and let the glue cure first, as long as "
        "its label says. Local rules and the machine's manual come before this."
    )
    yield Caution("first_turning", "note", "lathe", message)


def first_speed(across: float) -> int:
    """Turns a minute to begin at, by the diameter (mm) across the corners, in whole tens and never more than that.

    Source: diameter in inches times turns a minute = 6000 to 9000, as turners' guides print it; its slow end.

    >>> first_speed(304.8)
    500
    """
    return min(FASTEST_FIRST, max(10, floor(SLOW_END / across / 10 + _ROUNDING) * 10))


RULES: tuple[Rule, ...] = (swing, length, load, reach, first_turning)
