"""What is said of a stack as it was measured: whether it may stay, and what makes the rest meet the rim again."""

from typing import TYPE_CHECKING

from django.core.exceptions import ValidationError

from projects.calendar import estimated
from projects.models import AsBuilt, BenchStep, Studio
from projects.templatetags.turnery import size_unit

if TYPE_CHECKING:
    from estimating.glue.as_built import Height, RunOut


def judge(measured: AsBuilt, step: BenchStep) -> str:
    """Put its verdict on a stack's measures, and say it; empty where the step stacks nothing that the design has."""
    # Imported here since the arithmetic brings numpy, which most taps never need.
    from estimating.errors import InvalidInput
    from estimating.glue.as_built import judge_height, judge_run_out, layers_in

    try:
        estimate = estimated(step.commission)
    except ValidationError:
        return ""
    number, said = step.glue_up or 0, []
    glue_up = estimate.glue_ups[number - 1] if 0 < number <= len(estimate.glue_ups) else None
    if glue_up is None or tuple(step.layers) != glue_up.layers or glue_up.kind not in ("stack", "join"):
        return ""
    layers = layers_in(glue_up, estimate.glue_ups)
    shape = next(shape for shape in estimate.shapes if layers[-1] in shape.layers)
    shop, studio = estimate.sheet.shop, step.commission.studio
    try:
        if measured.run_out is not None:
            found = judge_run_out(shape, layers, run_out=float(measured.run_out), shop=shop)
            measured.verdict = found.verdict
            said.append(_run_out(found, studio))
        if measured.height is not None:
            height = judge_height(shape, layers, height=float(measured.height), shop=shop)
            said.append(_height(height, studio))
    except InvalidInput:
        return ""  # of parts on one another, or of what the record itself refuses
    return " ".join(said)


def _run_out(found: "RunOut", studio: Studio) -> str:
    short = size_unit(max(found.off - found.bare, 0.0), studio)
    return {
        "good": f"Run-out: good, {size_unit(2 * found.left, studio)} on the dial may be turned away.",
        "true": "Run-out: true it now. Turn it round and face it before the next goes on; it leaves no reserve.",
        "shim": f"Run-out: shim it. Mount it {short} off its axis, away from the high side.",
        "remake": f"Run-out: make it again. Layer {found.layer} would miss the form by {short}.",
    }[found.verdict]


def _height(found: "Height", studio: Studio) -> str:
    off = size_unit(abs(found.drift), studio)
    if abs(found.drift) < 0.005:
        return "Height: as drawn."
    words = [
        f"Height: {off} too {'tall' if found.drift > 0 else 'low'}, {size_unit(found.allowed, studio)} allowed."
    ]
    if found.misses:
        words.append(f"At this rate the pattern misses the rim by {size_unit(abs(found.at_rim), studio)}.")
        words.append(_refit(found, studio))
    return " ".join(words)


def _refit(found: "Height", studio: Studio) -> str:
    move = f"{size_unit(abs(found.move), studio)} {'up' if found.move > 0 else 'down'}"
    if not found.refit:
        return f"Move the form {move}."
    least, most = min(found.refit), max(found.refit)
    thick = size_unit(least, studio)
    if most - least > 0.005:
        thick += f" to {size_unit(most, studio)}"
    return f"Make the layers to come {thick} thick, or move the form {move}."
