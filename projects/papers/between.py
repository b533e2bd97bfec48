"""What stands between gallery and studio, on trade copies alone: who invoices whom, and how the deposit goes."""

from collections.abc import Iterator, Mapping
from decimal import Decimal
from typing import Any

from projects.owed import gallery_mode, is_consigned, owed
from projects.papers.words import NBSP, counted, length, mass
from projects.templatetags.turnery import money

_INVOICES = {
    "consignment": "The gallery invoices its client; the studio invoices the gallery for its part.",
    "purchase": "The studio invoices the gallery, which sells in its own name.",
    "commission": "The studio invoices the buyer; the gallery invoices the studio for its share.",
}


def between_lines(
    estimate: Mapping[str, Any], pricing: Mapping[str, Any], delivery: Mapping[str, Any]
) -> list[str]:
    """Sentences for the gallery, from the frozen estimate, the pricing it was made with and what is agreed of delivery.

    Quotes from before a word of it was kept say nothing.
    """
    return list(_said(estimate, pricing, delivery)) if delivery else []


def _said(
    estimate: Mapping[str, Any], pricing: Mapping[str, Any], delivery: Mapping[str, Any]
) -> Iterator[str]:
    shared, currency = estimate.get("money") or {}, estimate["price"]["currency"]
    mode = gallery_mode(estimate, pricing)
    yield _INVOICES[mode]
    if mode != "purchase" and (first := _first_payment(shared)):
        passed_on = owed(estimate, pricing).payments[0].amount if is_consigned(estimate, pricing) else None
        yield _deposit(
            money(first, currency),
            via=delivery.get("deposit_via") or "direct",
            passed_on="" if passed_on is None else money(passed_on, currency),
        )
    yield f"Insured for {money(insured_value(estimate, delivery), currency)}, before tax."


def insured_value(estimate: Mapping[str, Any], delivery: Mapping[str, Any]) -> Decimal:
    """What the pieces are insured for: as agreed, else what the studio is paid for them before tax."""
    return Decimal(str(delivery.get("insured_value") or estimate["price"]["net"]))


def _first_payment(shared: Mapping[str, Any]) -> str:
    """The payment with the order, where there is one before the last."""
    payments = shared.get("payments") or []
    return payments[0]["amount"] if len(payments) > 1 else ""


def _deposit(amount: str, *, via: str, passed_on: str) -> str:
    """How the buyer's deposit goes; `passed_on` is the studio's part of it where the gallery sells on consignment."""
    if via == "gallery_whole":
        return f"The buyer’s deposit, {amount}, is paid to the gallery, which passes it on whole."
    if not passed_on:
        way = "to the studio" if via == "direct" else "to the gallery, which passes it on less its share"
        return f"The buyer’s deposit, {amount}, is paid {way}."
    if via == "direct":
        return f"The gallery pays the studio a deposit of {passed_on} with the order."
    return (
        f"The buyer’s deposit, {amount}, is paid to the gallery, which passes on {passed_on}: less its share."
    )


def packed(estimate: Mapping[str, Any], letterhead: Mapping[str, Any]) -> str:
    """The boxes and what one weighs, where carriage was worked out; else nothing is known of them."""
    carriage = (estimate.get("money") or {}).get("carriage")
    if not carriage:
        return ""
    unit, inches = letterhead.get("length_unit") or "mm", letterhead.get("inch_style") or "fraction"
    box = carriage["box"]
    wide, tall = (length(box[side], unit=unit, inches=inches) for side in ("width", "height"))
    boxes = counted(int(carriage["boxes"]), "box", "boxes")
    weight = mass(box["gross_kg"] * 1000, unit=unit)
    return (
        f"{boxes}, {wide} × {wide} × {tall}{NBSP}{unit}, {weight}{' each' if carriage['boxes'] > 1 else ''}"
    )
