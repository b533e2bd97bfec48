"""What a new studio finds on its shelf: figures to start from until its own labels are copied in."""

from decimal import Decimal
from typing import Any

LABEL_FIRST = "Figures to start from, not those of any make: copy your own label's here, and what you pay."

EPOXY_CAUTION = (
    "Unmixed resin and hardener can cause skin allergy: gloves, long sleeves, fresh air; never clean skin "
    "with solvent. A large or deep mix heats itself and may smoke: mix little, spread it out. Dust of epoxy "
    "that has not fully cured is harmful. The label and the safety data sheet decide."
)
PVA_CAUTION = (
    "Below its lowest temperature the film turns chalky and weak. The label decides on temperature, pressure "
    "and time."
)
OIL_CAUTION = (
    "Rags, pads and shavings wet with drying oil heat themselves and can catch fire hours later: dry them "
    "flat outdoors, or keep them under water in a closed metal can, and dispose of them as the label and "
    "local rules say. Ventilate."
)


def starting_adhesives() -> list[dict[str, Any]]:
    """A two-part epoxy, the usual one, and a one-part white or yellow glue.

    Source: the epoxy's film, pot life, set, press and cure are those of tables/shop_defaults.csv (common
    practice, no source), its density 1.11 g/ml a published coverage guide's 9.23 lb to the US gallon. PVA's
    density 1.08, and its working and clamping times, are from memory of data sheets in general.
    """
    epoxy = {
        "name": "Epoxy, two parts 1:1",
        "kind": "epoxy",
        "ratio_a": 1,
        "ratio_b": 1,
        "density": Decimal("1.11"),
        "film": Decimal("0.1"),
        "pot_life_min": 30,
        "pot_life_at_c": 21,
        "set_min": 45,
        "press_min": 120,
        "cure_min": 720,
        "cautions": EPOXY_CAUTION,
        "note": LABEL_FIRST,
        "usual": True,
    }
    pva = {
        "name": "PVA, one part",
        "kind": "pva",
        "ratio_a": 1,
        "ratio_b": 0,
        "density": Decimal("1.08"),
        "film": Decimal("0.1"),
        "pot_life_min": 15,
        "pot_life_at_c": 20,
        "set_min": 40,
        "press_min": 60,
        "cure_min": 1440,
        "cautions": PVA_CAUTION,
        "note": LABEL_FIRST,
    }
    return [epoxy, pva]


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
