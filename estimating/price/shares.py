"""Who gets what of a price: the gallery's share, the payment fee and a discount, forwards and backwards."""

from decimal import Decimal

from estimating.errors import InvalidInput
from estimating.terms import Pricing


def fee_rate(pricing: Pricing) -> Decimal:
    """What the studio pays on every unit of price before tax for being paid: the fee is taken of the tax as well."""
    return pricing.payment_fee * (1 + pricing.tax) if pricing.fee_borne_by == "studio" else Decimal(0)


def retail_for(net: Decimal, *, pricing: Pricing, pass_through: Decimal) -> Decimal:
    """The retail price before tax that leaves the studio `net`, not yet rounded.

    With the gallery's share s and the fee f of what is paid, tax t and pass-through P in it:
    R - s R - f (1 + t) (R + P) + P = net + P. Where the gallery buys, the fee is of what it pays, R (1 - s) + P.
    """
    fee, share = fee_rate(pricing), pricing.gallery_share
    charged = net + fee * pass_through
    if pricing.gallery_mode == "purchase":
        return charged / (1 - fee) / (1 - share)
    return charged / (1 - share - fee)


def part_of_studio(before_tax: Decimal, *, listed: Decimal, pricing: Pricing) -> Decimal:
    """What of a retail price before tax is the studio's before its fee, not yet rounded.

    `listed` is the price before a discount, before tax. Who bears the discount: both by their shares, (1 - s) R; the
    studio, R - s L, so that the gallery has its share of the full price; or the gallery, (1 - s) L.
    """
    share = pricing.gallery_share
    match pricing.discount_borne_by:
        case "studio":
            return before_tax - share * listed
        case "gallery":
            return (1 - share) * listed
    return (1 - share) * before_tax


def check_shares(pricing: Pricing) -> None:
    """Refuse shares that leave nothing of a price. Errors: InvalidInput at the key to change."""
    share, fee, discount = pricing.gallery_share, fee_rate(pricing), pricing.discount
    if (fee if pricing.gallery_mode == "purchase" else fee + share) >= 1:
        raise InvalidInput(
            "pricing.payment_fee", "leaves nothing: with the gallery's share it must stay below 1"
        )
    if pricing.discount_borne_by == "gallery" and discount > share:
        raise InvalidInput("pricing.discount", "must be no more than the gallery's share, which bears it")
    if pricing.discount_borne_by == "studio" and discount + share >= 1:
        raise InvalidInput(
            "pricing.discount", "leaves nothing: with the gallery's share it must stay below 1"
        )
