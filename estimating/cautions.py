"""Cautions: what the maker should know before the saw, each with its place and what would mend it."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from estimating.glue.order import layers_at_once, pot_life, working_minutes
from estimating.piece import Sheet
from estimating.shape.build import Shape
from estimating.shape.curves import SAME_HEIGHT
from estimating.shape.layers import STACK_TOLERANCE, stands_over
from estimating.shape.rings import Ring
from estimating.wood.strips import CuttingPlan

Severity = Literal["note", "warning", "danger"]

LAYERS_THAT_WANT_A_BOND_LINE = 15
"""From so many layers up the glue lines add up to a height that shows; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Caution:
    """One caution. `code` names the kind, `where` the place in the sheet or the rings."""

    code: str
    severity: Severity
    where: str
    message: str


@dataclass(frozen=True)
class _Seen:
    sheet: Sheet
    shapes: Sequence[Shape]
    plan: CuttingPlan


def find_cautions(*, sheet: Sheet, shapes: Sequence[Shape], plan: CuttingPlan) -> tuple[Caution, ...]:
    """Every caution of a piece, in the order of the work."""
    seen = _Seen(sheet, shapes, plan)
    return tuple(caution for rule in _RULES for caution in rule(seen))


def _stack(seen: _Seen) -> Iterator[Caution]:
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


def _numbers(rings: Sequence[Ring]) -> str:
    """Ring numbers as a person lists them: 1, 4 to 9."""
    runs: list[list[int]] = []
    for ring in rings:
        if runs and ring.number == runs[-1][-1] + 1:
            runs[-1].append(ring.number)
        else:
            runs.append([ring.number])
    return ", ".join(str(run[0]) if len(run) == 1 else f"{run[0]} to {run[-1]}" for run in runs)


def _by_band(
    seen: _Seen, wrong: Callable[[Ring], bool], say: Callable[[str, Sequence[Ring]], Caution]
) -> Iterator[Caution]:
    """One caution a band for all its rings that something is wrong with."""
    for shape in seen.shapes:
        for index in range(len(shape.bands)):
            rings = [ring for ring in shape.rings if ring.band == index and wrong(ring)]
            if rings:
                yield say(shape.part.band_place(index), rings)


def _short_segments(seen: _Seen) -> Iterator[Caution]:
    safe = seen.sheet.shop.safe_segment_length

    def say(where: str, rings: Sequence[Ring]) -> Caution:
        shortest = min(ring.outer_edge for ring in rings)
        message = (
            f"Segments of ring {_numbers(rings)} are {shortest:.1f} mm long at their longer edge, under the shop's "
            f"safe {safe:g} mm. Cut them on a sled with a hold-down and a stop clear of the blade, hands away from it, "
            "or use fewer segments. The saw's manual and local rules come first."
        )
        return Caution("short_segments", "danger", where, message)

    return _by_band(seen, lambda ring: not ring.is_disc and ring.outer_edge < safe - 1e-9, say)


def _sharp_tips(seen: _Seen) -> Iterator[Caution]:
    least = seen.sheet.shop.min_tip_edge

    def say(where: str, rings: Sequence[Ring]) -> Caution:
        meet = any(ring.inner_radius == 0 for ring in rings)
        tips = "come to a point at the centre" if meet else f"have an inner edge under {least:g} mm"
        message = (
            f"Segments of ring {_numbers(rings)} {tips}: such tips crush and cannot be glued true. "
            "Bore the centre and plug it, use fewer segments, or make the layer a solid disc."
        )
        return Caution("sharp_tips", "warning", where, message)

    return _by_band(seen, lambda ring: not ring.is_disc and ring.inner_edge < least - 1e-9, say)


def _working_time(seen: _Seen) -> Iterator[Caution]:
    shop = seen.sheet.shop
    working = working_minutes(shop)
    most = layers_at_once(shop)
    if most * shop.coat_stack_min > working + 1e-9:
        message = (
            f"At {shop.temperature_c:g} degrees C the mix works for {working:.0f} minutes, too short to coat and set "
            f"{most} layers at {shop.coat_stack_min:g} minutes each. Use a slower hardener or a cooler bench."
        )
        yield Caution("working_time", "warning", "shop.pot_life_min", message)
    elif most < shop.layers_per_glue_up:
        message = (
            f"At {shop.temperature_c:g} degrees C the pot life is {pot_life(shop):.0f} minutes, so {most} layers are "
            f"glued at once rather than {shop.layers_per_glue_up}."
        )
        yield Caution("fewer_layers", "note", "shop.layers_per_glue_up", message)


def _buying(seen: _Seen) -> Iterator[Caution]:
    for short in seen.plan.short if seen.sheet.boards else ():
        rings = ", ".join(str(ring) for ring in short.rings)
        message = f"The boards given do not yield {short.segments} segments of {short.wood} (ring {rings}): buy more."
        yield Caution("boards_short", "warning", "boards", message)


def _lathe_and_glue(seen: _Seen) -> Iterator[Caution]:
    corner = max(ring.corner_radius for shape in seen.shapes for ring in shape.rings)
    message = (
        f"As glued the piece swings {2 * corner:.0f} mm across its corners. Check that against the lathe, start slow, "
        "wear a face shield, stand out of the line of fire, and let the glue cure first. Local rules and the machine's "
        "manual come before this."
    )
    yield Caution("first_turning", "note", "lathe", message)
    message = (
        "Wear nitrile gloves and keep the adhesive off the skin: epoxy sensitises. A large mix in a cup heats itself. "
        "Extract fine dust and wear a mask when sawing and sanding. The label and local rules come before this."
    )
    yield Caution("glue_and_dust", "note", "adhesive", message)


_RULES = (_stack, _short_segments, _sharp_tips, _working_time, _buying, _lathe_and_glue)
