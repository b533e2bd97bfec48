"""What a commission's client is to pay the studio, from the frozen figures of a quote."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from estimating.price.payments import Payment as Part
from estimating.price.payments import in_stages
from estimating.price.tax import TaxAt, Taxed, tax_lines
from estimating.terms import Pricing

AT_COST = ("freight", "crate", "stand")


@dataclass(frozen=True, slots=True)
class Owed:
    """What the commission's client is to pay the studio: base and tax make the amount, and so do the payments.

    `at_rates` says what of base and tax is of which rate; `payments` are (share, amount) in their order.
    """

    currency: str
    base: Decimal
    tax: Decimal
    amount: Decimal
    at_rates: tuple[TaxAt, ...]
    payments: tuple[Part, ...]


def owed(estimate: Mapping[str, Any], pricing: Mapping[str, Any]) -> Owed:
    """What is to be paid by a frozen estimate and the pricing section it was made with.

    A private client, a gallery that buys and one that passes a commission on pay what their paper says in all. A
    gallery that sells on consignment pays the studio's part, retail before tax less its share, and what passes through
    as it costs; tax comes on that at the rates of the quote, rounded as the quote's is.
    """
    price, shared = estimate["price"], estimate.get("money") or {}
    currency = price.get("currency") or _term(pricing, "currency")
    paid = (
        _of_consignment(price, shared, pricing, currency=currency)
        if is_consigned(estimate, pricing)
        else None
    )
    taxed = paid or _as_printed(price, shared, pricing)
    printed = _printed_payments(price, shared, deposit_share=_number(_term(pricing, "deposit_share")))
    return Owed(
        currency=currency,
        base=taxed.base,
        tax=taxed.tax,
        amount=taxed.total,
        at_rates=taxed.at_rates,
        payments=printed if paid is None else _scaled(taxed.total, printed, currency=currency),
    )


def is_consigned(estimate: Mapping[str, Any], pricing: Mapping[str, Any]) -> bool:
    """Whether a gallery sells it and keeps its share, so that what the gallery's client pays is not what it pays."""
    return gallery_mode(estimate, pricing) == "consignment" and _number(_term(pricing, "gallery_share")) > 0


def gallery_mode(estimate: Mapping[str, Any], pricing: Mapping[str, Any]) -> str:
    """How the gallery deals: as the frozen estimate says, else its pricing section, else as the sheet's default is."""
    return str((estimate.get("money") or {}).get("mode") or _term(pricing, "gallery_mode"))


def _of_consignment(
    price: Mapping[str, Any], shared: Mapping[str, Any], pricing: Mapping[str, Any], *, currency: str
) -> Taxed:
    studios = _number(price["retail_before_tax"]) - _number(price["gallery_share"])
    rates = shared.get("rates") or {}
    usual = _number(_term(pricing, "tax"))
    lines = [(studios, _number(rates.get("pieces", usual)))]
    lines += [(_number(shared.get(name) or 0), _number(rates.get(name, usual))) for name in AT_COST]
    return tax_lines(lines, inclusive=False, by=_term(pricing, "tax_by"), currency=currency)


def _as_printed(price: Mapping[str, Any], shared: Mapping[str, Any], pricing: Mapping[str, Any]) -> Taxed:
    """The quote's own figures. One from before several rates could be has one."""
    if taxes := shared.get("taxes"):
        return Taxed(
            tuple(TaxAt(_number(row["rate"]), _number(row["base"]), _number(row["tax"])) for row in taxes)
        )
    tax = _number(price["tax"])
    base = _number(shared["tax_base"]) if "tax_base" in shared else _number(price["total"]) - tax
    return Taxed((TaxAt(_number(_term(pricing, "tax")), base, tax),))


def _printed_payments(
    price: Mapping[str, Any], shared: Mapping[str, Any], *, deposit_share: Decimal
) -> tuple[Part, ...]:
    """As the quote says them; one from before stages could be has a deposit and a balance."""
    if "payments" in shared:
        return tuple(Part(_number(row["share"]), _number(row["amount"])) for row in shared["payments"])
    rows = [(deposit_share, _number(price["deposit"])), (1 - deposit_share, _number(price["balance"]))]
    return tuple(Part(share, amount) for share, amount in rows if amount)


def _scaled(total: Decimal, printed: Sequence[Part], *, currency: str) -> tuple[Part, ...]:
    """Payments of another total by the same shares; the last is what is left."""
    shares = [part.share for part in printed[:-1]]
    return tuple(part for part in in_stages(total, shares=shares, currency=currency) if part.amount)


def _term(pricing: Mapping[str, Any], name: str) -> Any:
    """A term of a frozen pricing section; what it leaves out was as the sheet's default is."""
    value = pricing.get(name)
    return getattr(Pricing(), name) if value is None else value


def _number(value: Any) -> Decimal:
    """An amount or a share as it is written: 0.1 as 0.1 and not as its nearest binary fraction."""
    return value if isinstance(value, Decimal) else Decimal(str(value))
