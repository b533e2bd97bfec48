"""What a quote or a paper freezes of studio, client and commission: copies that no later change reaches."""

from collections.abc import Iterable
from typing import Any

from django.db.models import Model

from projects.models import Client, Commission, PaperDefaults, Studio, Wood
from projects.models.paper_terms import CommissionPapers

LETTERHEAD = (
    *("name", "tagline", "address", "email", "phone", "web", "tax_number", "currency", "length_unit"),
    *("inch_style", "letterhead_note", "legal_name", "company_number", "tax_status", "tax_note"),
    *("sends_invoices", "bank_details"),
)
ADDRESSEE = (
    *("kind", "name", "contact", "address", "email", "phone", "legal_name", "tax_number", "tax_status"),
)
SPECIES = ("key", "name", "botanical", "origin", "protected_note")
USUAL = tuple(
    field.name for field in PaperDefaults._meta.concrete_fields if field.name not in ("id", "studio")
)
DELIVERY = tuple(field.name for field in CommissionPapers._meta.get_fields())


def frozen_letterhead(studio: Studio) -> dict[str, Any]:
    """The studio as a party, and under `usual` what it usually agrees of delivery, damage, joints and rights."""
    usual = PaperDefaults.objects.for_studio(studio).first()
    return _copied(studio, LETTERHEAD) | {
        "tax_name": studio.pricing.tax_name,
        "usual": _copied(usual, USUAL) if usual else {},
    }


def frozen_addressee(commission: Commission) -> dict[str, Any]:
    """The client as a party, and under `delivery` what is agreed of delivery and rights, and the days to pay."""
    client: Client = commission.client
    studios, own = commission.studio.payment_days, client.payment_days
    agreed = _copied(commission, DELIVERY) | {"payment_days": studios if own is None else own}
    return _copied(client, ADDRESSEE) | {"delivery": agreed}


def frozen_species(studio: Studio, keys: Iterable[str]) -> list[dict[str, Any]]:
    """The woods of a piece as papers name them, by their names."""
    return list(Wood.objects.for_studio(studio).filter(key__in=list(keys)).values(*SPECIES).order_by("name"))


def _copied(row: Model, names: tuple[str, ...]) -> dict[str, Any]:
    """Fields as JSON has them: dates and amounts as text."""
    values = {name: getattr(row, name) for name in names}
    return {
        name: value if value is None or isinstance(value, str | int | bool) else str(value)
        for name, value in values.items()
    }
