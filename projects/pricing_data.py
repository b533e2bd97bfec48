"""From the studio's and a commission's terms to the pricing section of a piece sheet: the prices' part of estimates."""

from dataclasses import asdict
from decimal import Decimal
from typing import Any

from estimating.terms import Pricing
from projects import models
from projects.models.money_terms import PriceFrom, stage_shares
from projects.models.studio import ClientKind

HABITS = ("price_step", "payment_fee", "tax_by", "segment_loss", "ring_loss", "glue_up_loss", "lathe_loss")
AGREED = ("gallery_mode", "rush", "discount", "discount_borne_by", "freight", "crate", "stand")
SHARES = (
    *("margin", "gallery_share", "tax", "deposit_share", "failure_share", "rush", "discount", "payment_fee"),
    *("segment_loss", "ring_loss", "glue_up_loss", "lathe_loss"),
)


def pricing_of(
    studio: models.Studio, *, adhesive: models.Adhesive | None, commission: models.Commission | None
) -> Pricing:
    """How the studio prices, and what is agreed for a commission in its place."""
    usual = studio.pricing

    def agreed(name: str) -> Any:
        own = getattr(commission, name) if commission else None
        return getattr(usual, name) if own is None else own

    more: dict[str, Any] = {name: getattr(usual, name) for name in HABITS}
    if commission:
        more |= {name: getattr(commission, name) for name in AGREED}
        more |= {"price_from": _price_from(commission), "stage_shares": stage_shares(commission.stages)}
    return Pricing(
        currency=studio.currency,
        labour_rate=agreed("labour_rate"),
        margin=agreed("margin"),
        wanted_hourly=agreed("wanted_hourly"),
        gallery_share=gallery_share(commission) if commission else usual.gallery_share,
        tax=agreed("tax"),
        tax_inclusive=agreed("tax_inclusive"),
        deposit_share=agreed("deposit_share"),
        overhead_rate=usual.overhead_rate,
        failure_share=usual.failure_share,
        adhesive_per_ml=adhesive.price_per_ml if adhesive else Decimal(0),
        consumables=usual.consumables,
        consumables_rate=usual.consumables_rate,
        whole_boards=usual.whole_boards,
        offer=commission.offered_retail if commission else None,
        fee_borne_by=_fee_bearer(usual, commission),
        **more,
    )


def _price_from(commission: models.Commission) -> str:
    """The price offered, as long as there is one."""
    return PriceFrom.COST if commission.offered_retail is None else commission.price_from


def _fee_bearer(usual: models.PricingDefaults, commission: models.Commission | None) -> Any:
    """Without a gallery there is nobody else to take the money."""
    if commission and commission.client.kind != ClientKind.GALLERY and not gallery_share(commission):
        return "studio"
    return usual.fee_borne_by


def gallery_share(commission: models.Commission) -> Decimal:
    """The gallery's share in force: the commission's, else the client's, else the usual one for a gallery."""
    client = commission.client
    for agreed in (commission.gallery_share, client.gallery_share):
        if agreed is not None:
            return agreed
    return commission.studio.pricing.gallery_share if client.kind == ClientKind.GALLERY else Decimal(0)


def pricing_data(pricing: Pricing) -> dict[str, Any]:
    """Prices as the sheet has them: money as text, shares as numbers; nothing where nothing is said."""
    section = asdict(pricing)
    section |= {name: float(section[name]) for name in SHARES}
    section["stage_shares"] = [float(share) for share in pricing.stage_shares]
    return {
        key: str(value) if isinstance(value, Decimal) else value
        for key, value in section.items()
        if value is not None
    }
