"""The section of the piece sheet that says how the price is made and paid."""

from decimal import Decimal
from typing import Any

from estimating.price.money import minor_digits
from estimating.price.shares import MOST_STAGES, clashes
from estimating.reading import Section, check_number
from estimating.terms import (
    DIVISORS,
    HEAVIEST_KG,
    HEAVIEST_SIDES,
    MOST_PADDING,
    MOST_STEPS,
    CarriageStep,
    Pricing,
)

LOSSES = ("segment_loss", "ring_loss", "glue_up_loss", "lathe_loss")
OWN_TAXES = ("freight_tax", "crate_tax", "stand_tax")
HIGHEST_TAX = Decimal(10)


def read_pricing(top: Section, pricing: Pricing) -> Pricing:
    """How the price is made. Shares stay below 1 where the price would otherwise have no end."""
    if not top.has("pricing"):
        return pricing
    section = Section(top.raw("pricing"), top.at("pricing"), top.errors, top.unit)
    read = Pricing(
        currency=_read_currency(section, pricing.currency),
        labour_rate=section.money("labour_rate", pricing.labour_rate),
        margin=section.share("margin", pricing.margin, below=True),
        wanted_hourly=section.optional_money("wanted_hourly", pricing.wanted_hourly),
        gallery_share=section.share("gallery_share", pricing.gallery_share, below=True),
        tax=section.share("tax", pricing.tax, high=HIGHEST_TAX),
        tax_inclusive=section.boolean("tax_inclusive", pricing.tax_inclusive),
        deposit_share=section.share("deposit_share", pricing.deposit_share),
        overhead_rate=section.money("overhead_rate", pricing.overhead_rate),
        failure_share=section.share("failure_share", pricing.failure_share, below=True),
        adhesive_per_ml=section.money("adhesive_per_ml", pricing.adhesive_per_ml),
        consumables=section.money("consumables", pricing.consumables),
        consumables_rate=section.money("consumables_rate", pricing.consumables_rate),
        whole_boards=section.boolean("whole_boards", pricing.whole_boards),
        offer=section.optional_money("offer", pricing.offer),
        price_from=section.choice("price_from", ("cost", "offer"), pricing.price_from),
        gallery_mode=section.choice(
            "gallery_mode", ("consignment", "purchase", "commission"), pricing.gallery_mode
        ),
        rush=section.share("rush", pricing.rush),
        price_step=section.money("price_step", pricing.price_step),
        discount=section.share("discount", pricing.discount, below=True),
        discount_borne_by=section.choice(
            "discount_borne_by", ("both", "studio", "gallery"), pricing.discount_borne_by
        ),
        payment_fee=section.share("payment_fee", pricing.payment_fee, below=True),
        fee_borne_by=section.choice("fee_borne_by", ("studio", "gallery"), pricing.fee_borne_by),
        freight=section.money("freight", pricing.freight),
        crate=section.money("crate", pricing.crate),
        stand=section.money("stand", pricing.stand),
        tax_by=section.choice("tax_by", ("quote", "line"), pricing.tax_by),
        stage_shares=_read_stages(section, pricing.stage_shares),
        sold=section.choice("sold", ("each", "set"), pricing.sold),
        **_read_many(section, pricing),
        **_read_box(section, pricing),
    )
    section.close()
    # What is wrong by itself reads as a stand-in, which clashes with nothing that anybody said.
    wrong = {error.place.split("[")[0] for error in section.errors}
    section.errors.extend(clash for clash in clashes(read) if clash.place not in wrong)
    return read


def _read_many(section: Section, pricing: Pricing) -> dict[str, Any]:
    """What each stage loses, and taxes of their own."""
    losses = {loss: section.share(loss, getattr(pricing, loss), below=True) for loss in LOSSES}
    return losses | {tax: _read_rate(section, tax, getattr(pricing, tax)) for tax in OWN_TAXES}


def _read_box(section: Section, pricing: Pricing) -> dict[str, Any]:
    """What freight and crate are worked out from, where they are."""
    froms: dict[str, Any] = {
        key: section.choice(key, ("given", "worked_out"), getattr(pricing, key))
        for key in ("freight_from", "crate_from")
    }
    return froms | {
        "carriage": _read_carriage(section, pricing.carriage),
        "box_padding": section.length("box_padding", pricing.box_padding, high=MOST_PADDING),
        "box_kg_m2": section.number("box_kg_m2", pricing.box_kg_m2, low=0, high=HEAVIEST_SIDES),
        "volume_divisor": section.number(
            "volume_divisor", pricing.volume_divisor, low=DIVISORS[0], high=DIVISORS[1]
        ),
        "crate_per_m2": section.money("crate_per_m2", pricing.crate_per_m2),
        "crate_fixed": section.money("crate_fixed", pricing.crate_fixed),
    }


def _read_stages(section: Section, default: tuple[Decimal, ...]) -> tuple[Decimal, ...]:
    if not section.has("stage_shares"):
        return default
    return tuple(
        Decimal(repr(check_number(item, place, section.errors, above=0, below=1)))
        for place, item in section.items("stage_shares", most=MOST_STAGES)
    )


def _read_rate(section: Section, key: str, default: Decimal | None) -> Decimal | None:
    """A tax of its own; null is that of the pieces."""
    if section.has(key) and section.raw(key) is None:
        return None
    return section.share(key, Decimal(0), high=HIGHEST_TAX) if section.has(key) else default


def _read_carriage(section: Section, default: tuple[CarriageStep, ...]) -> tuple[CarriageStep, ...]:
    """The table of carriage, lightest first."""
    if not section.has("carriage"):
        return default
    steps: list[CarriageStep] = []
    for place, item in section.items("carriage", most=MOST_STEPS):
        row = Section(item, place, section.errors, section.unit)
        step = CarriageStep(row.number("up_to_kg", above=0, high=HEAVIEST_KG), _price(row))
        row.close()
        if steps and step.up_to_kg <= steps[-1].up_to_kg:
            row.refuse("up_to_kg", "must be more than that of the step before it")
        steps.append(step)
    return tuple(steps)


def _price(row: Section) -> Decimal:
    if not row.has("price"):
        row.refuse_missing("price")
    return row.money("price", Decimal(0))


def _read_currency(section: Section, default: str) -> str:
    before = len(section.errors)
    currency = section.text("currency", default)
    if len(section.errors) == before and minor_digits(currency) is None:
        section.refuse(
            "currency", "must be the three-letter code of a currency in ISO 4217, such as USD or EUR"
        )
        return default
    return currency
