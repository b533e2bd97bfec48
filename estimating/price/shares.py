"""Who gets what of a price: the gallery's share, the payment fee and a discount, forwards and backwards."""

from collections.abc import Iterator
from decimal import Decimal

from estimating.errors import InvalidInput
from estimating.terms import Pricing

MOST_STAGES = 11
"""Payments before the last."""


def fee_rate(pricing: Pricing) -> Decimal:
    """What the studio pays on every unit of price before tax for being paid: the fee is taken of the tax as well."""
    return _fee(pricing) * (1 + pricing.tax)


def fee_at_cost(pricing: Pricing) -> Decimal:
    """What it costs the studio to be paid what passes through, each line of it with its own tax; not yet rounded."""
    with_tax = (amount * (1 + rate) for amount, rate in zip(pricing.at_cost, pricing.rates[1:], strict=True))
    return _fee(pricing) * sum(with_tax, Decimal(0))


def _fee(pricing: Pricing) -> Decimal:
    return pricing.payment_fee if pricing.fee_borne_by == "studio" else Decimal(0)


def retail_for(net: Decimal, *, pricing: Pricing) -> Decimal:
    """The retail price before tax that leaves the studio `net`, not yet rounded.

    With the gallery's share s, the fee f of what is paid, the pieces' tax t in it, and what passes through, P_i at tax
    t_i: R - s R - f ((1 + t) R + sum (1 + t_i) P_i) + sum P_i = net + sum P_i. Where the gallery buys, the fee is of
    what it pays, R (1 - s) in the place of R.
    """
    fee, share = fee_rate(pricing), pricing.gallery_share
    charged = net + fee_at_cost(pricing)
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


def clashes(pricing: Pricing) -> Iterator[InvalidInput]:
    """Every pair of terms that fit together in no price, at the key to change; each is right by itself.

    The reasons follow on the name of their key. Sheet, studio and commission are all held to these.
    """
    yield from _of_shares(pricing)
    if pricing.price_from == "offer" and pricing.offer is None:
        yield InvalidInput("pricing.price_from", "needs the price that is offered, in offer")
    if len(pricing.stage_shares) > MOST_STAGES:
        yield InvalidInput("pricing.stage_shares", f"must be at most {MOST_STAGES + 1} payments")
    if pricing.stage_shares and sum(pricing.stage_shares) >= 1:
        yield InvalidInput(
            "pricing.stage_shares", "must add up to less than the whole: the last payment is what is left"
        )
    if pricing.freight_from == "worked_out" and not pricing.carriage:
        yield InvalidInput(
            "pricing.freight_from", "needs a table of carriage to be worked out from, which is empty"
        )


def _of_shares(pricing: Pricing) -> Iterator[InvalidInput]:
    """What a unit of the full price must pay: the gallery, the fee, and whoever bears the discount."""
    share, fee, discount = pricing.gallery_share, fee_rate(pricing), pricing.discount
    bought = pricing.gallery_mode == "purchase"
    if (fee if bought else fee + share) >= 1:
        yield InvalidInput(
            "pricing.payment_fee", "leaves nothing: with the gallery's share it takes the whole price"
        )
        return
    if pricing.discount_borne_by == "gallery" and discount > share:
        yield InvalidInput("pricing.discount", "must be no more than the gallery's share, which bears it")
        return
    asked = 1 - discount
    studios = part_of_studio(asked, listed=Decimal(1), pricing=pricing)
    if studios - fee * (studios if bought else asked) <= 0:
        yield InvalidInput(
            "pricing.discount",
            "leaves nothing: with the gallery's share and the fee it takes the whole price",
        )
