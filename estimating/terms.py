"""How a price is made and paid: what one sheet, studio or commission has agreed."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

PriceFrom = Literal["cost", "offer"]
GalleryMode = Literal["consignment", "purchase", "commission"]
Bearer = Literal["both", "studio", "gallery"]
TaxBy = Literal["quote", "line"]
Sold = Literal["each", "set"]
AmountFrom = Literal["given", "worked_out"]

HEAVIEST_KG = 10_000
"""The heaviest parcel of a table of carriage."""

MOST_STEPS = 100
MOST_PADDING = 1000
"""The most there is round a piece in its box, mm."""

HEAVIEST_SIDES = 100
"""The heaviest a square metre of a box may be, kg."""

DIVISORS = (100, 100_000)
"""What a kilogram of carriage may take up, cm3: from and to."""


@dataclass(frozen=True, slots=True)
class CarriageStep:
    """One step of a table of carriage: what a parcel costs that is charged at so many kilograms at most."""

    up_to_kg: float
    price: Decimal


@dataclass(frozen=True, slots=True)
class Pricing:
    """How the price is made. Shares are fractions; rates are money an hour, a millilitre or a commission.

    A tax of freight, crate or stand that is None is that of the pieces. The box is in mm, kg a m2 and cm3 a kg.
    """

    currency: str = "USD"
    labour_rate: Decimal = Decimal(35)
    margin: Decimal = Decimal("0.15")
    wanted_hourly: Decimal | None = None
    gallery_share: Decimal = Decimal("0.45")
    tax: Decimal = Decimal(0)
    tax_inclusive: bool = False
    deposit_share: Decimal = Decimal("0.5")
    overhead_rate: Decimal = Decimal(0)
    failure_share: Decimal = Decimal(0)
    adhesive_per_ml: Decimal = Decimal(0)
    consumables: Decimal = Decimal(0)
    consumables_rate: Decimal = Decimal(0)
    whole_boards: bool = False
    offer: Decimal | None = None
    price_from: PriceFrom = "cost"
    gallery_mode: GalleryMode = "consignment"
    rush: Decimal = Decimal(0)
    price_step: Decimal = Decimal(0)
    discount: Decimal = Decimal(0)
    discount_borne_by: Bearer = "both"
    payment_fee: Decimal = Decimal(0)
    fee_borne_by: Literal["studio", "gallery"] = "studio"
    freight: Decimal = Decimal(0)
    crate: Decimal = Decimal(0)
    stand: Decimal = Decimal(0)
    tax_by: TaxBy = "quote"
    stage_shares: tuple[Decimal, ...] = ()
    segment_loss: Decimal = Decimal(0)
    ring_loss: Decimal = Decimal(0)
    glue_up_loss: Decimal = Decimal(0)
    lathe_loss: Decimal = Decimal(0)
    sold: Sold = "each"
    freight_tax: Decimal | None = None
    crate_tax: Decimal | None = None
    stand_tax: Decimal | None = None
    freight_from: AmountFrom = "given"
    crate_from: AmountFrom = "given"
    carriage: tuple[CarriageStep, ...] = ()
    box_padding: float = 50.0
    box_kg_m2: float = 0.9
    volume_divisor: float = 5000.0
    crate_per_m2: Decimal = Decimal(0)
    crate_fixed: Decimal = Decimal(0)

    @property
    def at_cost(self) -> tuple[Decimal, Decimal, Decimal]:
        """Freight, crate and stand: what is charged as it costs, outside the gallery's share."""
        return self.freight, self.crate, self.stand

    @property
    def pass_through(self) -> Decimal:
        """All that is charged as it costs."""
        return sum(self.at_cost, Decimal(0))

    @property
    def rates(self) -> tuple[Decimal, Decimal, Decimal, Decimal]:
        """The tax on the pieces, on freight, on the crate and on the stand."""
        freight, crate, stand = (
            self.tax if rate is None else rate for rate in (self.freight_tax, self.crate_tax, self.stand_tax)
        )
        return self.tax, freight, crate, stand

    def tags(self, quantity: int) -> int:
        """How many printed prices there are: one for each piece, or one for a set."""
        return 1 if self.sold == "set" else quantity
