"""Cautions of the stack as a whole: its height, its glue, its boards."""

from collections.abc import Iterator

from estimating.cautions.seen import Caution, Seen
from estimating.glue.label import layers_at_once, pot_life, working_minutes
from estimating.shape.curves import SAME_HEIGHT
from estimating.shape.layers import STACK_TOLERANCE, stands_over

LAYERS_THAT_WANT_A_BOND_LINE = 15
"""From so many layers up the glue lines add up to a height that shows; common practice, no source."""


def stack(seen: Seen) -> Iterator[Caution]:
    """The stack stands over the form, or its glue lines are not reckoned with."""
    for shape in seen.shapes:
        over = stands_over(shape.form, shape.stack, allowance=shape.part.allowance)
        if over > STACK_TOLERANCE + SAME_HEIGHT:
            message = f"The stack stands {over:.1f} mm above the form and its top allowance; that much is turned away."
            yield Caution("stack_difference", "note", f"{shape.part.place}bands", message)
    layers = max(len(shape.stack) for shape in seen.shapes)
    if seen.sheet.shop.bond_line == 0 and layers >= LAYERS_THAT_WANT_A_BOND_LINE:
        message = (
            f"{layers} layers have {layers - 1} glue lines, reckoned here as 0 mm thick. Measure a glued stack of ten "
            "and set the bond line, or the piece comes out taller than drawn."
        )
        yield Caution("no_bond_line", "note", "shop.bond_line", message)


def working_time(seen: Seen) -> Iterator[Caution]:
    """The mix sets before the layers are on one another."""
    shop, label = seen.sheet.shop, seen.sheet.label
    working = working_minutes(shop, label)
    most = layers_at_once(shop, label)
    if most * shop.coat_stack_min > working + 1e-9:
        message = (
            f"At {shop.temperature_c:g} degrees C the mix works for {working:.0f} minutes, too short to coat and set "
            f"{most} layers at {shop.coat_stack_min:g} minutes each. Use a slower hardener or a cooler bench."
        )
        yield Caution("working_time", "warning", "shop.pot_life_min", message)
    elif most < shop.layers_per_glue_up:
        message = (
            f"At {shop.temperature_c:g} degrees C the pot life is {pot_life(shop, label):.0f} minutes, so {most} "
            f"layers are glued at once rather than {shop.layers_per_glue_up}."
        )
        yield Caution("fewer_layers", "note", "shop.layers_per_glue_up", message)


def buying(seen: Seen) -> Iterator[Caution]:
    """The rack does not yield the segments."""
    for short in seen.plan.short if seen.sheet.boards else ():
        rings = ", ".join(str(ring) for ring in short.rings)
        message = f"The boards given do not yield {short.segments} segments of {short.wood} (ring {rings}): buy more."
        yield Caution("boards_short", "warning", "boards", message)


def glue_and_dust(seen: Seen) -> Iterator[Caution]:
    """Adhesive and dust harm whoever works with them, whatever the piece."""
    message = (
        "Wear nitrile gloves and keep the adhesive off the skin: epoxy sensitises. A large mix in a cup heats itself. "
        "Extract fine dust and wear a mask when sawing and sanding. The label and local rules come before this."
    )
    yield Caution("glue_and_dust", "note", "adhesive", message)
