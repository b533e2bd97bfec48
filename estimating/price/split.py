"""Where the money goes: what is paid in all, part by part down to what is left for the work; it adds up to the coin."""

from dataclasses import dataclass
from decimal import Decimal

from estimating.price.costs import Cost
from estimating.price.pricing import Price


@dataclass(frozen=True, slots=True)
class Part:
    """One part: its key and its amount, which may be negative where somebody pays in."""

    key: str
    amount: Decimal


def split(price: Price, cost: Cost) -> tuple[Part, ...]:
    """The parts of what is paid, in the order they leave it; the last, `work`, is what is left for the hours.

    What is paid is the price and its tax, and what is passed through. Where a gallery buys, it is that of its own tag
    before its own tax: the studio does not know that.
    """
    return (
        Part("tax", price.tax),
        Part("at_cost", sum(price.pass_through, Decimal(0))),
        Part("gallery", price.gallery_share),
        Part("fee", price.fee),
        Part("wood", cost.wood),
        Part("adhesive", cost.adhesive),
        Part("consumables", cost.consumables),
        Part("overhead", cost.overhead),
        Part("failures", cost.failures),
        Part("work", price.net - cost.all_but_labour),
    )
