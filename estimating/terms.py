"""How a price is made and paid: what one sheet, studio or commission has agreed."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

PriceFrom = Literal["cost", "offer"]
GalleryMode = Literal["consignment", "purchase", "commission"]
Bearer = Literal["both", "studio", "gallery"]
TaxBy = Literal["quote", "line"]


@dataclass(frozen=True, slots=True)
class Pricing:
    """How the price is made. Shares are fractions; rates are money an hour, a millilitre or a commission."""

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

    @property
    def pass_through(self) -> Decimal:
        """What is charged as it costs, outside the gallery's share."""
        return self.freight + self.crate + self.stand
