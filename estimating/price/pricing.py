"""From cost to price and back: margin, price step, the gallery's share, fee, tax, deposit, what is left an hour."""

from dataclasses import dataclass
from decimal import Decimal

from estimating.piece import Pricing
from estimating.price.costs import Cost, exact
from estimating.price.money import round_money, round_up_to
from estimating.price.payments import Payment, in_stages
from estimating.price.shares import fee_at_cost, fee_rate, part_of_studio, retail_for
from estimating.price.tax import TaxAt, Taxed, add_tax, tax_in, tax_lines


@dataclass(frozen=True, slots=True)
class Offer:
    """Somebody else's price: the retail offered, what of it reaches the studio, and what that leaves an hour."""

    retail: Decimal
    net: Decimal
    per_hour: Decimal


@dataclass(frozen=True, slots=True)
class Price:
    """The price of all pieces. `net` reaches the studio; `retail` is printed, with tax if tax is inclusive.

    `listed` is the printed retail price before its discount. `work` is what the payer's paper asks for the pieces, as
    printed: the retail price, or where the gallery buys what it pays; `base`, `tax` and `total` are of that and of the
    pass-through together. `fee` is the studio's for being paid. `at_rates` says what of `base` and `tax` is of which
    rate; `printed_at_cost` is what passes through as it is printed.
    """

    net: Decimal
    gallery_share: Decimal
    retail_before_tax: Decimal
    tax: Decimal
    retail: Decimal
    deposit: Decimal
    per_hour: Decimal
    listed: Decimal
    work: Decimal
    base: Decimal
    fee: Decimal
    pass_through: tuple[Decimal, ...]
    payments: tuple[Payment, ...]
    at_rates: tuple[TaxAt, ...]
    printed_at_cost: tuple[Decimal, ...]
    offer: Offer | None = None

    @property
    def total(self) -> Decimal:
        """What is paid in all, tax and pass-through with it."""
        return self.base + self.tax

    @property
    def balance(self) -> Decimal:
        """What is left to pay after the deposit."""
        return self.total - self.deposit

    @property
    def discount(self) -> Decimal:
        """What is taken off the printed price."""
        return self.listed - self.retail


def make_price(cost: Cost, *, mean_hours: float, pricing: Pricing, quantity: int = 1) -> Price:
    """The price that the cost and the studio's terms lead to, or what a price given leads back to.

    Margin is a share of the net price: net = cost / (1 - margin). Where a wanted hourly earning is given, net is
    all costs but labour and that earning for every hour instead; a surcharge for haste is a share of net. A gallery's
    share s is of the retail price before tax: retail before tax = net / (1 - s). Rounded at net, retail before tax,
    tax, fee, deposit and per hour, nowhere else. A price step is one piece's, as its tag says it, or the set's.

    Every price, found or given, is then shared out backwards in one way, `_shared_out`, so that what is said of it adds
    up: a price found without step, fee or discount comes back to the net it was found from, to the coin.
    """
    if pricing.price_from == "offer" and pricing.offer is not None:
        listed = rounded(pricing.offer, pricing)
        return _shared_out(listed, listed, cost, mean_hours=mean_hours, pricing=pricing)
    net = wanted_net(cost, mean_hours=mean_hours, pricing=pricing)
    before_tax = rounded(retail_for(net, pricing=pricing), pricing)
    listed = _printed(before_tax, pricing)
    if pricing.price_step:
        tags = pricing.tags(quantity)
        listed = rounded(round_up_to(listed / tags, step=pricing.price_step) * tags, pricing)
    asked = rounded(listed * (1 - pricing.discount), pricing)
    return _shared_out(asked, listed, cost, mean_hours=mean_hours, pricing=pricing)


def wanted_net(cost: Cost, *, mean_hours: float, pricing: Pricing) -> Decimal:
    """What the studio wants to be paid, before any step, fee or discount."""
    if pricing.wanted_hourly is None:
        net = cost.total / (1 - pricing.margin)
    else:
        net = cost.all_but_labour + pricing.wanted_hourly * exact(mean_hours)
    return rounded(net * (1 + pricing.rush), pricing)


def rounded(amount: Decimal, pricing: Pricing) -> Decimal:
    """An amount in the currency's coins."""
    return round_money(amount, currency=pricing.currency)


def left_an_hour(net: Decimal, *, cost: Cost, mean_hours: float, currency: str) -> Decimal:
    """What a net price leaves for an hour of work once everything but the work is paid; 0 for no hours."""
    hours = exact(mean_hours)
    return round_money((net - cost.all_but_labour) / hours if hours else Decimal(0), currency=currency)


def left_at(hours: float, *, price: Price, cost: Cost, mean_hours: float, pricing: Pricing) -> Decimal:
    """What is left an hour when the work takes so many hours: what a bench hour costs is paid for each of them."""
    if not hours:
        return rounded(Decimal(0), pricing)
    a_bench_hour = pricing.overhead_rate + pricing.consumables_rate
    more = (exact(hours) - exact(mean_hours)) * a_bench_hour
    return rounded((price.net - cost.all_but_labour - more) / exact(hours), pricing)


def _printed(before_tax: Decimal, pricing: Pricing, *, rate: Decimal | None = None) -> Decimal:
    """An amount as it is printed: with its tax where that is inclusive, the pieces' unless another rate is given."""
    if not pricing.tax_inclusive:
        return before_tax
    return add_tax(before_tax, rate=pricing.tax if rate is None else rate, currency=pricing.currency)


def _before_tax(printed: Decimal, pricing: Pricing) -> Decimal:
    if not pricing.tax_inclusive:
        return printed
    return printed - tax_in(printed, rate=pricing.tax, currency=pricing.currency)


def _taxed(work: Decimal, printed: tuple[Decimal, ...], pricing: Pricing) -> Taxed:
    """The payer's lines as printed: the pieces, then what is passed through as it costs, each at its rate."""
    lines = list(zip((work, *printed), pricing.rates, strict=True))
    return tax_lines(lines, inclusive=pricing.tax_inclusive, by=pricing.tax_by, currency=pricing.currency)


def _shared_out(
    retail: Decimal, listed: Decimal, cost: Cost, *, mean_hours: float, pricing: Pricing
) -> Price:
    """A printed retail price worked backwards: who gets what of it, and when it is paid."""
    through = tuple(rounded(amount, pricing) for amount in pricing.at_cost)
    printed = tuple(
        _printed(amount, pricing, rate=rate) for amount, rate in zip(through, pricing.rates[1:], strict=True)
    )
    before_tax, taxed = _before_tax(retail, pricing), _taxed(retail, printed, pricing)
    if pricing.gallery_mode != "purchase":
        # Tax rounded once for the quote may differ by a coin from its lines' taxes: the pieces take it.
        before_tax = taxed.base - sum(through)
    listed_before = before_tax if listed == retail else _before_tax(listed, pricing)
    studios = rounded(part_of_studio(before_tax, listed=listed_before, pricing=pricing), pricing)
    work = retail
    if pricing.gallery_mode == "purchase":
        work = _printed(studios, pricing)
        taxed = _taxed(work, printed, pricing)
    fee = (
        rounded(taxed.total * pricing.payment_fee, pricing)
        if fee_rate(pricing)
        else rounded(Decimal(0), pricing)
    )
    net = studios - fee
    deposit = rounded(work * pricing.deposit_share, pricing)
    return Price(
        net=net,
        gallery_share=before_tax - studios,
        retail_before_tax=before_tax,
        tax=taxed.tax,
        retail=retail,
        deposit=deposit,
        per_hour=left_an_hour(net, cost=cost, mean_hours=mean_hours, currency=pricing.currency),
        listed=listed,
        work=work,
        base=taxed.base,
        fee=fee,
        pass_through=through,
        payments=_payments(taxed.total, deposit, pricing),
        at_rates=taxed.at_rates,
        printed_at_cost=printed,
        offer=_offer(cost, mean_hours=mean_hours, pricing=pricing),
    )


def _payments(total: Decimal, deposit: Decimal, pricing: Pricing) -> tuple[Payment, ...]:
    """The stages agreed, or the deposit and the balance."""
    if pricing.stage_shares:
        return in_stages(total, shares=pricing.stage_shares, currency=pricing.currency)
    both = (Payment(pricing.deposit_share, deposit), Payment(1 - pricing.deposit_share, total - deposit))
    return tuple(payment for payment in both if payment.amount)


def _offer(cost: Cost, *, mean_hours: float, pricing: Pricing) -> Offer | None:
    """An offered retail price worked backwards: tax out if it is inclusive, the gallery's share off, the fee paid."""
    if pricing.offer is None:
        return None
    before_tax = pricing.offer / (1 + pricing.tax) if pricing.tax_inclusive else pricing.offer
    share = before_tax * pricing.gallery_share
    paid = before_tax - share if pricing.gallery_mode == "purchase" else before_tax
    fee = rounded(fee_rate(pricing) * paid + fee_at_cost(pricing), pricing)
    net = rounded(before_tax - share, pricing) - fee
    per_hour = left_an_hour(net, cost=cost, mean_hours=mean_hours, currency=pricing.currency)
    return Offer(retail=pricing.offer, net=net, per_hour=per_hour)
