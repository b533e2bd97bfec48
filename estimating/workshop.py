"""What one shop brings to every estimate: its settings, prices, woods and standing rates."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache

from estimating.piece import Finish, Label, Pricing, ShopSettings, UsualBoard
from estimating.wood.species import Species, published_species
from estimating.work.labour import StandingRate, standing_rates


@dataclass(frozen=True, slots=True)
class Workshop:
    """The shop behind a sheet: its settings, usual board, finish, pricing and label stand where a sheet is silent.

    `repeat_rate` is Wright's: what the average time of a piece is multiplied by when twice as many are made at once.
    """

    woods: Mapping[str, Species]
    rates: Mapping[str, StandingRate]
    settings: ShopSettings = field(default_factory=ShopSettings)
    usual_board: UsualBoard = field(default_factory=UsualBoard)
    finish: Finish = field(default_factory=Finish)
    pricing: Pricing = field(default_factory=Pricing)
    label: Label = field(default_factory=Label)
    repeat_rate: float = 1.0


@cache
def standing_workshop() -> Workshop:
    """The shop of the command: published woods, standing rates, usual settings."""
    return Workshop(woods=published_species(), rates=standing_rates())
