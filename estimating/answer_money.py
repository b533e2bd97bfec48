"""What the answer says of how a price is shared and paid, beside the price itself: money as text."""

from typing import Any

from estimating.estimate import Estimate
from estimating.price.carriage import Carriage
from estimating.price.pricing import left_at, rounded
from estimating.terms import Pricing

AT_COST = ("freight", "crate", "stand")


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
            **_said(estimate),
        }
    }


def _said(estimate: Estimate) -> dict[str, Any]:
    """What stands there only where the terms say something of it: a set, several rates of tax, carriage."""
    price, pricing = estimate.price, estimate.sheet.pricing
    said: dict[str, Any] = {}
    if pricing.sold == "set":
        said["sold"] = pricing.sold
    if len(price.at_rates) > 1:
        said["printed"] = dict(zip(AT_COST, map(str, price.printed_at_cost), strict=True))
        said["rates"] = dict(zip(("pieces", *AT_COST), map(float, pricing.rates), strict=True))
        said["taxes"] = [
            {"rate": float(one.rate), "base": str(one.base), "tax": str(one.tax)} for one in price.at_rates
        ]
    if estimate.carriage is not None:
        said["carriage"] = _carriage(estimate.carriage, pricing)
    return said


def _carriage(carriage: Carriage, pricing: Pricing) -> dict[str, Any]:
    """The box (mm, mm2, mm3), its masses (kg), the step of the table it falls in, and the crate."""
    box = carriage.box
    answer: dict[str, Any] = {
        "boxes": carriage.boxes,
        "box": {
            "width": box.width,
            "height": box.height,
            "area": box.area,
            "volume": box.volume,
            "own_kg": box.own_kg,
            "gross_kg": box.gross_kg,
            "by_volume_kg": box.by_volume_kg,
            "chargeable_kg": box.chargeable_kg,
        },
    }
    if carriage.step is not None:
        answer["step"] = {
            "up_to_kg": carriage.step.up_to_kg,
            "price": str(rounded(carriage.step.price, pricing)),
        }
    if carriage.crate_each is not None:
        answer["crate_each"] = str(carriage.crate_each)
    return answer
