"""What the answer says of how a price is shared and paid, beside the price itself: money as text."""

from typing import Any

from estimating.estimate import Estimate
from estimating.price.pricing import left_at, rounded


def answer_money(estimate: Estimate) -> dict[str, Any]:
    """The `money` section: who gets what, what is passed through, when it is paid, what is left of an hour."""
    price, pricing, cost = estimate.price, estimate.sheet.pricing, estimate.cost
    freight, crate, stand = price.pass_through
    left = {
        name: str(
            left_at(
                minutes / 60, price=price, cost=cost, mean_hours=estimate.labour.mean_hours, pricing=pricing
            )
        )
        for name, minutes in (("median", estimate.labour.median), ("slow", estimate.labour.high))
    }
    return {
        "money": {
            "mode": pricing.gallery_mode,
            "price_from": pricing.price_from,
            "listed": str(price.listed),
            "discount": str(price.discount),
            "fee": str(price.fee),
            "work": str(price.work),
            "freight": str(freight),
            "crate": str(crate),
            "stand": str(stand),
            "tax_base": str(price.base),
            "payments": [
                {"share": float(payment.share), "amount": str(payment.amount)} for payment in price.payments
            ],
            "failures": {stage: str(amount) for stage, amount in cost.by_stage.items()},
            "left_an_hour": {"mean": str(rounded(price.per_hour, pricing)), **left},
        }
    }
