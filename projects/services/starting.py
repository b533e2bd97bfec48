"""What a new studio finds on its shelf: figures to start from until its own labels are copied in."""

from dataclasses import asdict
from decimal import Decimal
from typing import Any

from estimating.glue.kinds import usual_adhesives

LABEL_FIRST = "Figures to start from, not those of any make: copy your own label's here, and what you pay."

OIL_CAUTION = (
    "Rags, pads and shavings wet with drying oil heat themselves and can catch fire hours later: dry them "
    "flat outdoors, or keep them under water in a closed metal can, and dispose of them as the label and "
    "local rules say. Ventilate."
)


STARTING_ADHESIVES = ("epoxy_slow", "pva", "polyurethane", "ca")
"""Rows of tables/adhesives.csv, the usual one first."""


def starting_adhesives() -> list[dict[str, Any]]:
    """A two-part epoxy, the usual one, a white or yellow glue, a polyurethane and a cyanoacrylate."""
    usual, *others = STARTING_ADHESIVES
    return [{**adhesive_values(usual), "usual": True}, *map(adhesive_values, others)]


def adhesive_values(key: str) -> dict[str, Any]:
    """An adhesive's fields as tables/adhesives.csv has them, where each figure's source stands."""
    adhesive = usual_adhesives()[key]
    label = asdict(adhesive.label)
    masses, pressures = label.pop("mass_ratio") or (None, None), label.pop("pressure")
    figures = {
        "ratio_a": adhesive.ratio[0],
        "ratio_b": adhesive.ratio[1],
        "mass_a": masses[0],
        "mass_b": masses[1],
        "pressure_low": pressures[0],
        "pressure_high": pressures[1],
        "film": adhesive.film,
        "pot_life_min": adhesive.pot_life_min,
        "pot_life_at_c": adhesive.pot_life_at_c,
        **label,
    }
    plain = {name: _plain(value) for name, value in figures.items()}
    return {**plain, "note": LABEL_FIRST}


def _plain(value: Any) -> Any:
    """A figure as the table writes it: 0.1 and not its nearest binary fraction, 45 and not 45.0."""
    if not isinstance(value, float):
        return value
    return int(value) if value.is_integer() else Decimal(repr(value))


def starting_finishes() -> list[dict[str, Any]]:
    """A wiping varnish, the usual one, and a hard-wax oil.

    Source: coats, quantity, drying and hardening of tables/shop_defaults.csv (common practice, no source).
    """
    alike = {
        "ml_per_dm2": Decimal("0.7"),
        "hours_between_coats": 18,
        "days_to_hard": 10,
        "caution": OIL_CAUTION,
        "note": LABEL_FIRST,
    }
    return [
        {"name": "Wiping varnish", "coats": 5, "usual": True, **alike},
        {"name": "Hard-wax oil", "coats": 3, **alike},
    ]
