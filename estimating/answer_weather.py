"""What the answer says of the weather: how layers change from the shop's air to the client's, in mm and degrees."""

from collections.abc import Iterator
from math import degrees
from typing import Any

from estimating.estimate import Estimate
from estimating.wood.fits_weather import lids_of, plugs_of
from estimating.wood.movement import Closing
from estimating.wood.weather import LayerMovement, Movement
from estimating.wood.weather_words import stress_word


def answer_weather(estimate: Estimate) -> dict[str, Any]:
    """The movement, where the sheet has a climate; else nothing."""
    movement = estimate.movement
    if movement is None:
        return {}
    answer: dict[str, Any] = {
        "emc_shop": movement.emc_shop,
        "emc_client": movement.emc_client,
        "layers": [_layer(layer) for layer in movement.layers],
        "joints": [
            {
                "below": joint.below,
                "above": joint.above,
                "mismatch": joint.mismatch,
                "mismatch_most": joint.mismatch_most,
                "severity": joint.severity,
            }
            for joint in movement.joints
        ],
    }
    answer |= _fits(estimate, movement)
    if movement.humidity_to_hold is not None:
        answer["humidity_to_hold"] = movement.humidity_to_hold
    if movement.unknown:
        answer["unknown"] = list(movement.unknown)
    return {"movement": answer}


def _fits(estimate: Estimate, movement: Movement) -> dict[str, Any]:
    """Plugs in their bores and loose lids in their rims, where the piece has some."""
    plugs = [
        {
            "part": found.part,
            "layers": list(found.plug.layers),
            "wood": found.plug.wood,
            "outgrows_least": found.outgrows_least,
            "outgrows_most": found.outgrows_most,
            "severity": found.severity,
        }
        for found in plugs_of(estimate.shapes, movement=movement, woods=estimate.workshop.woods)
    ]
    lids = [
        {
            "part": found.fit.part,
            "in": found.fit.within,
            "gap": found.fit.gap,
            "gap_least": found.gap_least,
            "gap_most": found.gap_most,
        }
        for found in lids_of(estimate.shapes, movement=movement)
    ]
    return {**({"plugs": plugs} if plugs else {}), **({"lids": lids} if lids else {})}


def report_weather(estimate: Estimate) -> Iterator[str]:
    """The same as lines of text, the answer first."""
    movement = estimate.movement
    if movement is None:
        yield "WEATHER: the sheet does not say in what air the piece will live (its key climate)"
        return
    yield f"WEATHER: made at {movement.emc_shop:.1f} % moisture, it will live at {movement.emc_client:.1f} %"
    if most := movement.moves_most:
        change = most.width_change or 0.0
        way = "swells" if change > 0 else "shrinks"
        yield f"Layer {most.number} moves most: {most.width:.1f} mm wide, it {way} by up to {abs(change):.2f} mm."
    pairs = ", ".join(f"{joint.below} and {joint.above}" for joint in movement.at_risk)
    yield f"Glue lines at risk: {f'between layers {pairs}' if pairs else 'none that are known'}."
    if movement.unknown:
        yield f"No shrinkage is known of {', '.join(movement.unknown)}."
    if movement.humidity_to_hold is not None:
        yield f"{movement.humidity_to_hold:.0f} % humidity in that room would hold it as it was made."


def _layer(layer: LayerMovement) -> dict[str, Any]:
    answer: dict[str, Any] = {
        "number": layer.number,
        "width": layer.width,
        "height": layer.height,
        "width_change": layer.width_change,
        "height_change": layer.height_change,
        "width_change_least": layer.width_change_least,
        "height_change_least": layer.height_change_least,
    }
    if layer.closing is not None:
        answer["closing"] = _closing(layer.closing)
    if layer.safe_diameter is not None:
        answer["safe_diameter"] = layer.safe_diameter
    return answer


def _closing(closed: Closing) -> dict[str, Any]:
    return {
        "opens": closed.opens,
        "joint_deg": degrees(abs(closed.joint)),
        "all_joints_deg": degrees(abs(closed.all_joints)),
        "opening": closed.opening,
        "stress": stress_word(closed.forced),
    }
