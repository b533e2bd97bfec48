"""The section of the piece sheet that says what is on the adhesive's label."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from estimating.errors import InvalidInput
from estimating.glue.kinds import KINDS, usual_of
from estimating.piece import Label, ShopSettings
from estimating.reading import Limits, Section, check_number, check_text

LONGEST_CAUTIONS = 2000

_MINUTES: Limits = {"low": 0.0, "high": 100_000.0}

LABEL_NUMBERS: Mapping[str, Limits] = {
    "density": {"low": 0.5, "high": 3.0},
    "open_min": _MINUTES,
    "set_min": _MINUTES,
    "set_most_min": _MINUTES,
    "press_min": _MINUTES,
    "cure_min": _MINUTES,
    "slower_c": {"low": 0.0, "high": 1000.0},
    "least_c": {"low": -20.0, "high": 100.0},
    "exotherm_ml": {"low": 0.0, "high": 100_000.0},
}
"""Figures of a label that are plain numbers, with their limits."""

LEAST_SLOWER_C = 5.0
"""No adhesive's times double within fewer degrees C; smaller figures are slips, and times without end."""

PARTS: Limits = {"low": 0.01, "high": 1000.0}
PRESSURE: Limits = {"low": 0.0, "high": 10.0}


def read_label(top: Section, label: Label, settings: ShopSettings) -> tuple[Label, ShopSettings]:
    """The sheet's label, and the shop's settings with its kind's film, ratio and pot life where the kind is another.

    A kind that is not the shop's own brings the usual figures of tables/adhesives.csv; what the sheet says of them
    goes before.
    """
    section = top.section("adhesive")
    if section is None:
        return label, settings
    kind = section.choice("kind", KINDS, label.kind)
    if kind != label.kind:
        usual = usual_of(kind)
        label = usual.label
        settings = replace(
            settings,
            film=usual.film,
            mix_ratio=usual.ratio,
            pot_life_min=usual.pot_life_min,
            pot_life_at_c=usual.pot_life_at_c,
        )
    numbers: dict[str, Any] = {
        key: section.number(key, getattr(label, key), **limits) for key, limits in LABEL_NUMBERS.items()
    }
    if section.has("set_min") and not section.has("set_most_min"):
        numbers["set_most_min"] = 0.0  # a range that was given for other figures says nothing of these
    if 0 < numbers["set_most_min"] < numbers["set_min"]:
        section.refuse("set_most_min", "must not be less than set_min; 0 where no range is given")
    if 0 < numbers["slower_c"] < LEAST_SLOWER_C:
        section.refuse("slower_c", f"must be at least {LEAST_SLOWER_C:g}, or 0 where no such rule is known")
    read = replace(
        label,
        name=section.text("name", label.name, may_be_empty=True),
        mass_ratio=_read_mass_ratio(section, label.mass_ratio),
        pressure=_read_pressure(section, label.pressure),
        cleaner=section.text("cleaner", label.cleaner, may_be_empty=True),
        cautions=_read_cautions(section, label.cautions),
        **numbers,
    )
    section.close()
    return read, settings


def _read_cautions(section: Section, default: str) -> str:
    if not section.has("cautions"):
        return default
    value, place = section.raw("cautions"), section.at("cautions")
    return check_text(value, place, section.errors, may_be_empty=True, longest=LONGEST_CAUTIONS)


def _read_mass_ratio(section: Section, default: tuple[float, float] | None) -> tuple[float, float] | None:
    """Parts by mass, or null where the label has none."""
    if not section.has("mass_ratio"):
        return default
    if section.raw("mass_ratio") is None:
        return None
    return _read_pair(section, "mass_ratio", PARTS) or default


def _read_pressure(section: Section, default: tuple[float, float]) -> tuple[float, float]:
    """From and to, MPa."""
    if not section.has("pressure"):
        return default
    pair = _read_pair(section, "pressure", PRESSURE)
    if pair is None:
        return default
    if pair[0] > pair[1]:
        reason = f"must be [least, most] in MPa, not {pair[0]:g} before {pair[1]:g}"
        section.errors.append(InvalidInput(section.at("pressure"), reason))
    return pair


def _read_pair(section: Section, key: str, limits: Limits) -> tuple[float, float] | None:
    items = section.items(key, least=2, most=2)
    numbers = [check_number(item, place, section.errors, **limits) for place, item in items]
    return (numbers[0], numbers[1]) if len(numbers) == 2 else None
