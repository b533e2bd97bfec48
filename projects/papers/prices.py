"""The price as each paper prints it: lines for the client, and the gallery's account on the trade copy."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from estimating.price.tax import add_tax
from projects.papers.words import kept_together, percent
from projects.templatetags.turnery import money

AT_COST = ("freight", "crate", "stand")


@dataclass(frozen=True)
class Line:
    """One line: what for, and how much, as printed."""

    words: str
    amount: str


@dataclass(frozen=True)
class Prices:
    """What a copy prints. `account` is the gallery's and stands on the trade copy alone.

    `payments` are the stages agreed, in the place of `deposit`; none where there is but a deposit and the balance.
    """

    lines: list[Line]
    total: Line
    deposit: str
    payments: list[Line]
    account: list[Line]
    net: Line


def prices(estimate: Mapping[str, Any], pricing: Mapping[str, Any], *, what: str, tax_name: str) -> Prices:
    """The lines of one quote from its frozen estimate and the pricing it was made with.

    Every amount is the estimate's.
    """
    copy = _Copy(estimate, pricing, tax_name=tax_name)
    price = estimate["price"]
    return Prices(
        lines=[*copy.asked(what), *copy.taxes()],
        total=copy.line("Total", price["total"]),
        deposit=copy.deposit(),
        payments=copy.payments(),
        account=list(copy.account()),
        net=copy.line("Net to the studio", price["net"]),
    )


class _Copy:
    """The lines of a copy. Quotes issued before there were such terms say nothing of them."""

    def __init__(self, estimate: Mapping[str, Any], pricing: Mapping[str, Any], *, tax_name: str) -> None:
        self.price, self.shared = estimate["price"], estimate.get("money") or {}
        self.pricing, self.tax_name = pricing, tax_name
        self.currency = self.price.get("currency") or pricing["currency"]
        self.inclusive = bool(pricing["tax_inclusive"])
        self.bought = self.shared.get("mode") == "purchase"

    def line(self, words: str, amount: Decimal | str) -> Line:
        """A line as it is printed."""
        return Line(words, money(str(amount), self.currency))

    def asked(self, what: str) -> Iterator[Line]:
        """The pieces, at what they are charged to who gets the paper, less a discount; what is charged as it costs."""
        if self.bought:
            yield self.line(f"{what}, to the gallery", self.shared["work"])
        elif self.has("discount"):
            yield self.line(what, self.shared["listed"])
            yield self.line(f"Discount, {self.share('discount')}", -Decimal(self.shared["discount"]))
        else:
            yield self.line(what, self.price["retail"])
        for name in AT_COST:
            if self.has(name):
                yield self.line(f"{name.capitalize()}{self._own_rate(name)}", self._printed(name))

    def taxes(self) -> Iterator[Line]:
        """The tax; where there are several rates, what is taxed at each."""
        of_which = "of which " if self.inclusive else ""
        for one in self.shared.get("taxes") or ():
            words = (
                f"{of_which}{self.tax_name}, {_percent(one['rate'])} of {money(one['base'], self.currency)}"
            )
            yield self.line(words, one["tax"])
        if not self.shared.get("taxes"):
            yield self.line(f"{of_which}{self.tax_name}, {self.share('tax')}", Decimal(self.price["tax"]))

    def payments(self) -> list[Line]:
        """The stages agreed, each with its share."""
        if not self.pricing.get("stage_shares"):
            return []
        stages = self.shared["payments"]
        between = [f"Payment {number}" for number in range(2, len(stages))]
        return [
            self.line(f"{words}, {_percent(stage['share'])}", stage["amount"])
            for words, stage in zip(["With the order", *between, "Before delivery"], stages, strict=True)
        ]

    def account(self) -> Iterator[Line]:
        """How the price is shared between gallery and studio, down to the net."""
        before = "The gallery’s own price before tax" if self.bought else "Retail before tax"
        yield self.line(before, self.price["retail_before_tax"])
        yield self.line(self._gallery_keeps(), -Decimal(self.price["gallery_share"]))
        if self.has("fee"):
            fee = f"Payment fee, {self.share('payment_fee')} of all that is paid"
            yield self.line(fee, -Decimal(self.shared["fee"]))

    def _gallery_keeps(self) -> str:
        share = self.share("gallery_share")
        bearer = self.pricing.get("discount_borne_by", "both") if self.has("discount") else "both"
        if bearer == "studio":
            return f"Gallery’s share, {share} of the price before the discount"
        if bearer == "gallery":
            return f"Gallery’s share, {share} of the price before the discount, less the discount"
        if self.bought:
            return f"Taken off for the gallery, {share}"
        if self.shared.get("mode") == "commission":
            return f"Commission to the gallery, {share} of retail before tax"
        return f"Gallery’s share, {share} of retail before tax"

    def deposit(self) -> str:
        """The deposit and what is left, in a sentence."""
        share = Decimal(str(self.pricing["deposit_share"]))
        if not share:
            return "Payable before delivery; no deposit is asked for."
        taxed = not self.inclusive and Decimal(self.price["tax"])
        of = f"the price{' of the work' if self.has(*AT_COST) else ''}{' before tax' if taxed else ''}"
        part = f"{percent(share)} of {of}" if share < 1 else of
        deposit, balance = (money(self.price[name], self.currency) for name in ("deposit", "balance"))
        return kept_together(
            f"Deposit with the order: {deposit}, {part}. The balance, {balance}, is due before delivery."
        )

    def has(self, *names: str) -> bool:
        """Whether there is such an amount, one of several."""
        return any(Decimal(self.shared.get(name) or 0) for name in names)

    def share(self, name: str) -> str:
        """A share of the terms, in per cent."""
        return _percent(self.pricing[name])

    def _own_rate(self, name: str) -> str:
        """The rate of a line that is not taxed as the pieces are."""
        rates = self.shared.get("rates") or {}
        if not rates or rates[name] == rates["pieces"]:
            return ""
        return f" ({self.tax_name} {_percent(rates[name])})"

    def _printed(self, name: str) -> Decimal:
        """What is charged as it costs, with its tax where the prices have theirs."""
        if printed := self.shared.get("printed"):
            return Decimal(printed[name])
        amount = Decimal(self.shared[name])
        if not self.inclusive:
            return amount
        return add_tax(amount, rate=Decimal(str(self.pricing["tax"])), currency=self.currency)


def _percent(share: float | str) -> str:
    return percent(Decimal(str(share)))
