"""The section of the piece sheet that says how the price is made and paid."""

from decimal import Decimal

from estimating.errors import InvalidInput
from estimating.price.money import minor_digits
from estimating.price.shares import check_shares
from estimating.reading import Section, check_number
from estimating.terms import Pricing

LOSSES = ("segment_loss", "ring_loss", "glue_up_loss", "lathe_loss")
MOST_STAGES = 11


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
        tax=section.share("tax", pricing.tax, high=Decimal(10)),
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
        **{loss: section.share(loss, getattr(pricing, loss), below=True) for loss in LOSSES},
    )
    section.close()
    return _checked(section, read)


def _checked(section: Section, read: Pricing) -> Pricing:
    """Refuse terms that fit together in no price, once each of them is right by itself."""
    if read.price_from == "offer" and read.offer is None:
        section.refuse("price_from", "needs the price that is offered, in offer")
    try:
        check_shares(read)
    except InvalidInput as refusal:
        section.errors.append(refusal)
    return read


def _read_stages(section: Section, default: tuple[Decimal, ...]) -> tuple[Decimal, ...]:
    if not section.has("stage_shares"):
        return default
    before = len(section.errors)
    shares = [
        Decimal(repr(check_number(item, place, section.errors, above=0, below=1)))
        for place, item in section.items("stage_shares", most=MOST_STAGES)
    ]
    if len(section.errors) == before and sum(shares) >= 1:
        section.refuse("stage_shares", "must add up to less than 1: the last payment is what is left")
    return tuple(shares)


def _read_currency(section: Section, default: str) -> str:
    before = len(section.errors)
    currency = section.text("currency", default)
    if len(section.errors) == before and minor_digits(currency) is None:
        section.refuse(
            "currency", "must be the three-letter code of a currency in ISO 4217, such as USD or EUR"
        )
        return default
    return currency
