"""The answer's keys on adhesive: areas, millilitres, mixes by cup and by scales, what to buy, times at the bench."""

from dataclasses import asdict
from typing import Any

from estimating.estimate import Estimate
from estimating.glue.label import times_at
from estimating.glue.mixing import Mix


def answer_adhesive(estimate: Estimate) -> dict[str, Any]:
    """mm2 of one piece; ml and g of all; minutes at the bench's temperature. Grams by part are null where unknown."""
    adhesive, sheet = estimate.adhesive, estimate.sheet
    return {
        "kind": sheet.label.kind,
        "end_area": adhesive.end_area,
        "face_area": adhesive.face_area,
        "coated_area": adhesive.coated_area,
        "volume_ml": adhesive.volume_ml,
        "to_buy": asdict(adhesive.to_buy),
        "times": asdict(times_at(sheet.shop, sheet.label)),
        "spreads": [asdict(spread) for spread in adhesive.spreads],
        "mixes": [_mix(mix) for mix in adhesive.mixes],
    }


def _mix(mix: Mix) -> dict[str, Any]:
    return {
        "glue_up": mix.glue_up,
        "piece": mix.piece,
        "needed_ml": mix.needed_ml,
        "part_a_ml": mix.part_a_ml,
        "part_b_ml": mix.part_b_ml,
        "part_a_g": mix.part_a_g,
        "part_b_g": mix.part_b_g,
        "heats": mix.heats,
    }
