"""What the label promises at the temperature of the bench: pot life, working time, set, press and cure."""

from dataclasses import dataclass
from math import floor

from estimating.piece import Label, ShopSettings


@dataclass(frozen=True, slots=True)
class Times:
    """Minutes at the bench's temperature.

    `pot` the mix lasts in the cup, `working` coating and closing must end within, `open` a coated face may wait to be
    closed; `set` until it leaves the mandrel or jig, at the latest after `set_most`, `press` under weight after that,
    `cure` until it is turned.
    """

    pot: float
    working: float
    open: float
    set: float
    set_most: float
    press: float
    cure: float


def slowed(shop: ShopSettings, label: Label) -> float:
    """How many times as long everything takes at the bench as at the label's temperature; below 1 where it is warmer.

    Source: epoxy doubles for every 10 degrees C colder (18 degrees F; facts of resin makers' guides and a luthier's
    shop tip, 17 to 18 degrees F), PVA's clamping and drying for every 8.3 (15 degrees F below 70; woodworking
    magazine). Some kinds keep to no such rule (`slower_c` 0). The label decides.
    """
    if not label.slower_c:
        return 1.0
    return float(2 ** ((shop.pot_life_at_c - shop.temperature_c) / label.slower_c))


def pot_life(shop: ShopSettings, label: Label) -> float:
    """Pot life at the bench's temperature, minutes."""
    return shop.pot_life_min * slowed(shop, label)


def working_minutes(shop: ShopSettings, label: Label) -> float:
    """Minutes in which coating and closing must end."""
    return shop.working_share * pot_life(shop, label)


def open_minutes(shop: ShopSettings, label: Label) -> float:
    """Minutes that a coated face may lie open at the bench's temperature; as the pot life where no label says it."""
    return (label.open_min or shop.pot_life_min) * slowed(shop, label)


def layers_at_once(shop: ShopSettings, label: Label) -> int:
    """Most layers in one glue-up: the shop's own limit, or what can be coated and set in the working time."""
    in_time = floor(working_minutes(shop, label) / shop.coat_stack_min + 1e-9)
    return max(2, min(shop.layers_per_glue_up, in_time))


def times_at(shop: ShopSettings, label: Label) -> Times:
    """Every time at the bench's temperature. Warmth shortens the pot life and nothing else that is planned."""
    longer = max(1.0, slowed(shop, label))
    return Times(
        pot=pot_life(shop, label),
        working=working_minutes(shop, label),
        open=open_minutes(shop, label),
        set=label.set_min * longer,
        set_most=max(label.set_min, label.set_most_min) * longer,
        press=label.press_min * longer,
        cure=label.cure_min * longer,
    )


_BURN = ("alcohol", "acetone", "spirit", "ethanol", "propanol", "solvent", "thinner")


def cleaner_burns(label: Label) -> bool:
    """Whether what takes the adhesive off tools is one of the usual liquids that burn."""
    return any(word in label.cleaner.lower() for word in _BURN)
