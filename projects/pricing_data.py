"""From the studio's and a commission's terms to the pricing section of a piece sheet: the prices' part of estimates."""

from dataclasses import asdict, replace
from decimal import Decimal
from typing import Any

from estimating.terms import CarriageStep, Pricing
from projects import models
from projects.models.money_terms import OWN_TAXES, AmountFrom, PriceFrom, stage_shares
from projects.models.paper_terms import ClientTax, StudioTax
from projects.models.studio import ClientKind

HABITS = (
    *("price_step", "payment_fee", "tax_by", "segment_loss", "ring_loss", "glue_up_loss", "lathe_loss"),
    *("crate_per_m2", "crate_fixed"),
)
BOX = ("box_padding", "box_kg_m2", "volume_divisor")
AGREED = (
    *("gallery_mode", "rush", "discount", "discount_borne_by", "freight", "crate", "stand"),
    *("sold", "freight_from", "crate_from"),
)
SHARES = (
    *("margin", "gallery_share", "tax", "deposit_share", "failure_share", "rush", "discount", "payment_fee"),
    *("segment_loss", "ring_loss", "glue_up_loss", "lathe_loss"),
)
QUIET = ("sold", "freight_from", "crate_from")
"""Terms that a sheet leaves out where they are what a silent one has."""

FOR_THE_BOX = ("carriage", *BOX, "crate_per_m2", "crate_fixed")
"""What only a box that is worked out asks for."""

_SILENT = Pricing()

UNTAXED: dict[str, Any] = {"tax": Decimal(0), "tax_inclusive": False, **dict.fromkeys(OWN_TAXES)}
"""What is charged to whom no tax is charged: nothing on any line, and prices that hold none."""


def pricing_of(
    studio: models.Studio, *, adhesive: models.Adhesive | None, commission: models.Commission | None
) -> Pricing:
    """How the studio prices, and what is agreed for a commission in its place."""
    usual = studio.pricing

    def agreed(name: str) -> Any:
        own = getattr(commission, name) if commission else None
        return getattr(usual, name) if own is None else own

    more: dict[str, Any] = {name: getattr(usual, name) for name in HABITS}
    more |= {name: float(getattr(usual, name)) for name in BOX}
    more |= {name: agreed(name) for name in OWN_TAXES}
    if commission is None or commission.freight_from == AmountFrom.WORKED_OUT:
        more["carriage"] = _table(studio)
    if commission:
        more |= {name: getattr(commission, name) for name in AGREED}
        more |= {"price_from": _price_from(commission), "stage_shares": stage_shares(commission.stages)}
    pricing = Pricing(
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
    return pricing if is_taxed(studio, commission) else replace(pricing, **UNTAXED)


def is_taxed(studio: models.Studio, commission: models.Commission | None) -> bool:
    """Whether tax is charged at all: not by a studio that is not registered, nor where the client's status says so."""
    if studio.tax_status == StudioTax.NONE:
        return False
    return commission is None or commission.client.tax_status == ClientTax.USUAL


def _table(studio: models.Studio) -> tuple[CarriageStep, ...]:
    """The studio's table of carriage, lightest first."""
    return tuple(CarriageStep(float(row.up_to_kg), row.price) for row in studio.carriage.all())


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
    section |= {name: float(section[name]) for name in OWN_TAXES if section[name] is not None}
    section["stage_shares"] = [float(share) for share in pricing.stage_shares]
    section["carriage"] = [asdict(step) | {"price": str(step.price)} for step in pricing.carriage]
    boxed = AmountFrom.WORKED_OUT in (pricing.freight_from, pricing.crate_from)
    silent = [name for name in QUIET if section[name] == getattr(_SILENT, name)]
    for name in silent if boxed else (*silent, *FOR_THE_BOX):
        del section[name]
    return {
        key: str(value) if isinstance(value, Decimal) else value
        for key, value in section.items()
        if value is not None
    }
