"""Saving designs: all parts with their forms and bands in one write, and no silent overwriting of someone else's."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.core.exceptions import ValidationError
from django.db import models, transaction

from projects.estimates import PartRecords, parts_of
from projects.models import Band, Design, Form, Part, ShopSettings, Studio, Wood
from projects.models.charts import chart_woods
from projects.models.parts import ALLOWANCES
from projects.services.saving import changed, checked, gather

STALE = (
    "Someone else saved this design after you opened it. Their version is safe and was not touched; yours is "
    "still here but not saved. Open theirs in a second tab and compare, then save yours over it, or carry your "
    "changes into theirs."
)
MOST_PARTS = 50
Values = Mapping[str, Any]


def design_create(
    *, studio: Studio, parts: Sequence[Values], grown_from: Design | None = None, **values: Any
) -> Design:
    """Make a design with its parts, each with its `form` and `bands`; allowances are the shop's where none are given.

    `grown_from` is the design it is made from: said here, and never changed.
    Errors: ValidationError keyed by field, parts by place (`parts[0].form.outer`, `parts[0].bands[1].woods`).
    """
    with transaction.atomic():
        new = Design(studio=studio, revision=1, grown_from=grown_from)
        return _write(changed(new, values), parts=parts)


def design_save(*, design: Design, expected_revision: int, parts: Sequence[Values], **values: Any) -> Design:
    """Save a whole design: its own fields, and its parts, bottom up, in place of the old ones.

    `expected_revision` is the one the editor was opened with. Errors: ValidationError with code `stale` when
    someone else saved in between, else keyed as in `design_create`; in either case nothing is saved.
    """
    with transaction.atomic():
        current = Design.objects.select_for_update().get(pk=design.pk)
        if current.revision != expected_revision:
            raise ValidationError(STALE, code="stale")
        current.revision += 1
        return _write(changed(current, values), parts=parts)


@dataclass(frozen=True, slots=True)
class _Written:
    """One part about to be saved."""

    part: Part
    form: Form
    bands: list[Band]


def _write(design: Design, *, parts: Sequence[Values]) -> Design:
    shop = ShopSettings.objects.for_studio(design.studio_id).get()
    usual = {name: getattr(shop, name) for name in ALLOWANCES}
    written = [_written(usual | dict(part), position=number) for number, part in enumerate(parts, start=1)]
    gather([("", design.full_clean), ("parts", _parts_check(written)), *_checks(design, written)])
    design.save()
    # Forms and bands go with their parts.
    design.parts.all().delete()
    for one in written:
        one.part.design = design
        one.part.save()
        one.form.part = one.part
        one.form.save()
        for band in one.bands:
            band.part = one.part
        Band.objects.bulk_create(one.bands)
    # Read afresh, so that nobody goes on with numbers that are still text or with the parts of before.
    return Design.objects.select_related("studio").get(pk=design.pk)


def _written(values: Values, *, position: int) -> _Written:
    own = {name: value for name, value in values.items() if name not in ("form", "bands")}
    return _Written(
        part=changed(Part(position=position), own),
        form=changed(Form(), values["form"]),
        bands=[
            changed(Band(position=number), band)
            for number, band in enumerate(values.get("bands", ()), start=1)
        ],
    )


def _parts_check(written: Sequence[_Written]) -> Callable[[], None]:
    def check() -> None:
        if not 0 < len(written) <= MOST_PARTS:
            raise ValidationError(f"A design has one to {MOST_PARTS} parts.")

    return check


def _checks(design: Design, written: Sequence[_Written]) -> Iterator[tuple[str, Callable[[], object]]]:
    """Every check of a design's parts, with the place it speaks of."""
    woods = set(Wood.objects.for_studio(design.studio_id).values_list("key", flat=True))
    laminates = design.laminates if isinstance(design.laminates, dict) else {}
    yield "", _laminates_check(laminates, woods=woods)
    names = [one.part.name for one in written]
    for index, one in enumerate(written):
        place = f"parts[{index}]"
        yield place, _part_check(one.part, others=names[:index], count=len(written))
        yield f"{place}.form", _full_clean(one.form, leave_out="part")
        for number, band in enumerate(one.bands):
            yield f"{place}.bands[{number}]", _band_check(band, known=woods | set(laminates), woods=woods)


def _full_clean(row: models.Model, *, leave_out: str) -> Callable[[], None]:
    return lambda: row.full_clean(exclude={leave_out})


def _part_check(part: Part, *, others: Sequence[str], count: int) -> Callable[[], None]:
    def check() -> None:
        part.full_clean(exclude={"design"})
        if part.name in others:
            raise ValidationError({"name": "Another part has this name already."})
        if part.sits and not (part.sits_at and part.sits_at <= count):
            raise ValidationError({"sits_at": "Choose one of the design's parts."})

    return check


def _band_check(band: Band, *, known: set[str], woods: set[str]) -> Callable[[], None]:
    def check() -> None:
        band.full_clean(exclude={"part"})
        _known("chart", chart_woods(band.chart) if band.chart else [], known)
        _known("woods", [] if band.chart else band.woods, known)
        _known("plug", [band.plug] if band.plug else [], woods)

    return check


def _laminates_check(laminates: Mapping[str, Any], *, woods: set[str]) -> Callable[[], None]:
    def check() -> None:
        if taken := sorted(set(laminates) & woods):
            raise ValidationError(
                {"laminates": f"{taken[0]} is a wood's key already: call it something else."}
            )
        try:
            used = [strip["wood"] for laminate in laminates.values() for strip in laminate["strips"]]
        except (TypeError, KeyError):
            return  # no laminates at all, which their own field says
        _known("laminates", used, woods)

    return check


def _known(field: str, keys: Sequence[str], known: set[str]) -> None:
    if strangers := [key for key in dict.fromkeys(keys) if key not in known]:
        raise ValidationError({field: f"The studio has no wood called {', '.join(strangers)}."})


def design_copy(
    *,
    design: Design,
    title: str,
    is_template: bool = False,
    parts: Sequence[PartRecords] | None = None,
    grown_from: Design | None = None,
) -> Design:
    """Make a design of its own from another of the studio's, usually a template; `parts` stand in place of its own.

    It comes from that design; from `grown_from` where that is not saved.
    """
    origin = design if design.pk else grown_from
    values = {name: getattr(design, name) for name in ("quantity", "laminates", "adhesive", "finish", "note")}
    written = [
        {
            **_fields_of(one.part, leave_out={"id", "design", "position"}),
            "form": _fields_of(one.form, leave_out={"id", "part"}),
            "bands": [_fields_of(band, leave_out={"id", "part", "position"}) for band in one.bands],
        }
        for one in (parts_of(design) if parts is None else parts)
    ]
    values |= {"title": title, "is_template": is_template}
    return design_create(studio=design.studio, parts=written, grown_from=origin, **values)


def _fields_of(row: Part | Form | Band, *, leave_out: set[str]) -> dict[str, Any]:
    return {f.name: getattr(row, f.name) for f in row._meta.concrete_fields if f.name not in leave_out}


def design_delete(*, design: Design) -> None:
    """Throw a design away; refused while a commission goes by it."""
    with transaction.atomic():
        if design.commissions.exists():
            raise ValidationError("A commission goes by this design, so it stays.")
        design.delete()


def design_mark(*, design: Design, is_template: bool) -> Design:
    """Keep a design as a template, or no longer; the drawing is as it was, for whoever has it open too."""
    return checked(changed(design, {"is_template": is_template}))
