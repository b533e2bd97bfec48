"""Holding a studio's and a commission's terms to what fits together in a price, before they are saved."""

from django.core.exceptions import ValidationError

from estimating.price.shares import clashes
from projects.models import Commission, Studio
from projects.models.money_terms import COMMISSION_TERMS
from projects.pricing_data import pricing_of

SHARED_OUT = {*COMMISSION_TERMS, "gallery_share", "tax", "offered_retail"}
"""A commission's fields that may clash; its other fields are saved whatever has become of these."""

_CALLED = {
    "payment_fee": "The payment fee",
    "discount": "The discount",
    "stage_shares": "The payments",
    "freight_from": "Freight",
    "price_from": "The price",
}
_FIELDS = {"stage_shares": "stages"}
_COMMISSION_FIELDS = {"payment_fee": "gallery_share"}
"""The fee is the studio's: on a commission the share is what can be changed."""


def check_terms(*, studio: Studio, commission: Commission | None = None) -> None:
    """Refuse terms that leave no price, in the words of the arithmetic. Errors: ValidationError by field."""
    fields = _FIELDS | (_COMMISSION_FIELDS if commission else {})
    wrong: dict[str, list[str]] = {}
    for clash in clashes(pricing_of(studio, adhesive=None, commission=commission)):
        key = clash.place.removeprefix("pricing.")
        wrong.setdefault(fields.get(key, key), []).append(f"{_CALLED[key]} {clash.reason}.")
    if wrong:
        raise ValidationError(wrong)
