"""Cautions of the stack as a whole: its height, its glue lines, its boards."""

from collections.abc import Iterator

from estimating.cautions.seen import Caution, Seen
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


def buying(seen: Seen) -> Iterator[Caution]:
    """The rack does not yield the segments."""
    for short in seen.plan.short if seen.sheet.boards else ():
        rings = ", ".join(str(ring) for ring in short.rings)
        message = f"The boards given do not yield {short.segments} segments of {short.wood} (ring {rings}): buy more."
        yield Caution("boards_short", "warning", "boards", message)
