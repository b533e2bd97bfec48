"""From cost to price: margin, the gallery's share, tax, deposit, and what is left an hour."""

from dataclasses import dataclass
from decimal import Decimal

from estimating.piece import Pricing
from estimating.price.costs import Cost, exact
from estimating.price.money import round_money


@dataclass(frozen=True, slots=True)
class Offer:
    """Somebody else's price: the retail offered, what of it reaches the studio, and what that leaves an hour."""

    retail: Decimal
    net: Decimal
    per_hour: Decimal


@dataclass(frozen=True, slots=True)
class Price:
    """The price of all pieces. `net` reaches the studio; `retail` is printed, with tax if tax is inclusive."""

    net: Decimal
    gallery_share: Decimal
    retail_before_tax: Decimal
    tax: Decimal
    retail: Decimal
    deposit: Decimal
    per_hour: Decimal
    offer: Offer | None = None

    @property
    def total(self) -> Decimal:
        """What is paid in all: the retail price before tax, and the tax."""
        return self.retail_before_tax + self.tax

    @property
    def balance(self) -> Decimal:
        """What is left to pay after the deposit."""
        return self.total - self.deposit


def make_price(cost: Cost, *, mean_hours: float, pricing: Pricing) -> Price:
    """The price that the cost and the studio's terms lead to.

    Margin is a share of the net price: net = cost / (1 - margin). Where a wanted hourly earning is given, net is
    all costs but labour and that earning for every hour instead. A gallery's share s is of the retail price before
    tax: retail before tax = net / (1 - s). Rounded at net, retail before tax, tax, deposit and per hour, nowhere else.
    """

    def rounded(amount: Decimal) -> Decimal:
        return round_money(amount, currency=pricing.currency)

    if pricing.wanted_hourly is None:
        net = rounded(cost.total / (1 - pricing.margin))
    else:
        net = rounded(cost.all_but_labour + pricing.wanted_hourly * exact(mean_hours))
    before_tax = rounded(net / (1 - pricing.gallery_share))
    tax = rounded(before_tax * pricing.tax)
    retail = before_tax + tax if pricing.tax_inclusive else before_tax
    return Price(
        net=net,
        gallery_share=before_tax - net,
        retail_before_tax=before_tax,
        tax=tax,
        retail=retail,
        deposit=rounded(retail * pricing.deposit_share),
        per_hour=left_an_hour(net, cost=cost, mean_hours=mean_hours, currency=pricing.currency),
        offer=_offer(cost, mean_hours=mean_hours, pricing=pricing),
    )


def left_an_hour(net: Decimal, *, cost: Cost, mean_hours: float, currency: str) -> Decimal:
    """What a net price leaves for an hour of work once everything but the work is paid; 0 for no hours."""
    hours = exact(mean_hours)
    return round_money((net - cost.all_but_labour) / hours if hours else Decimal(0), currency=currency)


def _offer(cost: Cost, *, mean_hours: float, pricing: Pricing) -> Offer | None:
    """An offered retail price worked backwards: tax out if it is inclusive, the gallery's share off."""
    if pricing.offer is None:
        return None
    before_tax = pricing.offer / (1 + pricing.tax) if pricing.tax_inclusive else pricing.offer
    net = round_money(before_tax * (1 - pricing.gallery_share), currency=pricing.currency)
    per_hour = left_an_hour(net, cost=cost, mean_hours=mean_hours, currency=pricing.currency)
    return Offer(retail=pricing.offer, net=net, per_hour=per_hour)
