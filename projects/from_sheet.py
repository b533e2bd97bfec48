"""A frozen piece sheet back into a design's records, none of them saved: the other way of `projects.estimates`."""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any

from projects import models
from projects.estimates import PartRecords

SIDES = ("outside", "inside", "top", "bottom")


def design_from_sheet(
    sheet: Mapping[str, Any], *, studio: models.Studio, title: str
) -> tuple[models.Design, list[PartRecords]]:
    """The design and its parts, bottom up; adhesive and finish are those on the shelf that have its names.

    `sheet` is one that was frozen with a quote or a signed drawing: mm, its finish by name where it has one.
    """
    adhesive = (sheet.get("adhesive") or {}).get("name", "")
    finish = (sheet.get("finish") or {}).get("name", "")
    design = models.Design(
        studio=studio,
        title=title,
        quantity=sheet.get("quantity", 1),
        laminates=dict(sheet.get("laminates") or {}),
        adhesive=models.Adhesive.objects.for_studio(studio).filter(name=adhesive).first(),
        finish=models.Finish.objects.for_studio(studio).filter(name=finish).first(),
    )
    several = sheet.get("parts") or [sheet]
    names = [part.get("name", "body") for part in several]
    return design, [_part(part, names, number) for number, part in enumerate(several, start=1)]


def _part(data: Mapping[str, Any], names: Sequence[str], position: int) -> PartRecords:
    part = models.Part(position=position, name=names[position - 1])
    allowance = data.get("allowance") or {}
    for side in SIDES:
        # A sheet that is silent leaves nothing on.
        setattr(part, f"allowance_{side}", _length(allowance.get(side, 0)))
    holding, sits = data.get("holding") or {}, data.get("sits") or {}
    part.held = holding.get("by", "")
    part.held_depth, part.held_parting = _length(holding.get("depth")), _length(holding.get("parting"))
    part.close_at = list(data.get("close_at") or ())
    part.build_from = data.get("build_from", "foot")
    part.sits = next((how for how in ("on", "in") if how in sits), "")
    if part.sits and sits[part.sits] in names:
        part.sits_at = names.index(sits[part.sits]) + 1
    part.flange, part.clearance = _length(sits.get("flange")), _length(sits.get("clearance"))
    bands = [_band(band, number) for number, band in enumerate(data.get("bands") or (), start=1)]
    return PartRecords(part, _form(data["form"]), bands)


def _form(data: Mapping[str, Any]) -> models.Form:
    inside = data.get("inside") or {}
    return models.Form(
        outer=[list(point) for point in data["outer"]],
        curve=data.get("curve", "straight"),
        inside=inside.get("kind", "solid"),
        wall=_length(inside.get("wall")),
        floor=_length(inside.get("floor")),
        inner=[list(point) for point in inside.get("inner") or ()],
    )


def _band(data: Mapping[str, Any], position: int) -> models.Band:
    bore, offset = data.get("bore"), data.get("offset", 0)
    return models.Band(
        position=position,
        name=data.get("name", ""),
        layers=data["layers"],
        thickness=_length(data["thickness"]),
        segments=data.get("segments"),
        woods=list(data.get("woods") or ()),
        offsets=list(offset) if isinstance(offset, list) else [offset],
        gap=_length(data.get("gap") or 0),
        made=data.get("made", "cut"),
        ring_height=_length(data.get("ring_height")),
        bored="" if bore is None else "needed" if bore == "auto" else "set",
        bore=None if bore in (None, "auto") else _length(bore),
        plug=data.get("plug", ""),
        match=data.get("match", ""),
        chart=data.get("chart"),
    )


def _length(value: Any) -> Decimal | None:
    """A number as the records hold it; what is not said stays so."""
    return None if value is None else Decimal(str(value))
