"""What a finished piece was glued with: the adhesive, the days it was mixed on, and the lots it was mixed from."""

from collections.abc import Iterable
from typing import Any

from django.utils import timezone

from projects.models import AdhesiveLot, Commission
from projects.services.bench_lots import adhesive_of


def glued_with(commission: Commission, *, piece: int) -> list[dict[str, Any]]:
    """Plain rows, one an adhesive: `name`, `kind`, `mixed_on`, and `lots` where any were kept for this piece.

    Lots of what was spoilt and made again are among them: of a bad lot it is better to find one piece too many.
    """
    kept = AdhesiveLot.objects.for_studio(commission.studio_id).filter(
        step__commission=commission, step__piece__in=(0, piece)
    )
    lots = list(kept.select_related("step", "adhesive").order_by("at", "pk"))
    mixed = commission.steps.filter(mixed_at__isnull=False).order_by("mixed_at")
    days = sorted({timezone.localdate(at).isoformat() for at in mixed.values_list("mixed_at", flat=True)})
    glue = adhesive_of(commission)
    rows: list[dict[str, Any]] = [{"name": glue.name, "kind": glue.kind, "mixed_on": days}] if glue else []
    for name in dict.fromkeys(lot.name for lot in lots):
        row = next((one for one in rows if one["name"] == name), None)
        if row is None:
            row = {"name": name, "kind": _kind(name, lots), "mixed_on": []}
            rows.append(row)
        row["lots"] = _together(lot for lot in lots if lot.name == name)
    return rows


def _kind(name: str, lots: Iterable[AdhesiveLot]) -> str:
    """The kind of an adhesive that the design names no more; empty for one that is off the shelf."""
    return next((lot.adhesive.kind for lot in lots if lot.name == name and lot.adhesive), "")


def _together(lots: Iterable[AdhesiveLot]) -> list[dict[str, Any]]:
    """A row for each lot of a part, with the glue-ups it went into."""
    found: dict[tuple[str, str], dict[str, Any]] = {}
    for lot in lots:
        row = found.setdefault(
            (lot.part, lot.lot), {"part": lot.part, "lot": lot.lot, "use_by": None, "glue_ups": []}
        )
        row["use_by"] = lot.use_by.isoformat() if lot.use_by else row["use_by"]
        if lot.step.glue_up not in row["glue_ups"]:
            row["glue_ups"].append(lot.step.glue_up)
    return list(found.values())
