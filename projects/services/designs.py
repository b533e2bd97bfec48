"""Saving designs: form and bands in one write, and no silent overwriting of someone else's."""

from collections.abc import Mapping, Sequence
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from projects.models import Band, Design, Form, ShopSettings, Studio, Wood
from projects.services.saving import changed, checked, gather

STALE = (
    "Someone else saved this design after you opened it. Their version is safe and was not touched; yours is "
    "still here but not saved. Open theirs in a second tab and compare, then save yours over it, or carry your "
    "changes into theirs."
)
Values = Mapping[str, Any]

ALLOWANCES = ("allowance_outside", "allowance_inside", "allowance_top", "allowance_bottom")


def design_create(*, studio: Studio, form: Values, bands: Sequence[Values] = (), **values: Any) -> Design:
    """Make a design with its form and bands; allowances are the shop's where none are given.

    Errors: ValidationError keyed by field, form and bands by place (`form.outer`, `bands[0].woods`).
    """
    shop = ShopSettings.objects.for_studio(studio).get()
    usual = {name: getattr(shop, name) for name in ALLOWANCES}
    with transaction.atomic():
        return _write(changed(Design(studio=studio, revision=1), usual | values), form=form, bands=bands)


def design_save(
    *,
    design: Design,
    expected_revision: int,
    form: Values,
    bands: Sequence[Values],
    **values: Any,
) -> Design:
    """Save a whole design: its own fields, its form, and its bands, bottom up, in place of the old ones.

    `expected_revision` is the one the editor was opened with. Errors: ValidationError with code `stale` when
    someone else saved in between, else keyed as in `design_create`; in either case nothing is saved.
    """
    with transaction.atomic():
        current = Design.objects.select_for_update().get(pk=design.pk)
        if current.revision != expected_revision:
            raise ValidationError(STALE, code="stale")
        current.revision += 1
        return _write(changed(current, values), form=form, bands=bands)


def _write(design: Design, *, form: Values, bands: Sequence[Values]) -> Design:
    kept: Form | None = Form.objects.filter(design=design.pk).first() if design.pk else None
    shape = changed(kept or Form(), form)
    layers = [changed(Band(position=number), band) for number, band in enumerate(bands, start=1)]
    known = set(Wood.objects.for_studio(design.studio_id).values_list("key", flat=True))
    gather(
        [
            ("", design.full_clean),
            ("form", lambda: shape.full_clean(exclude={"design"})),
            *((f"bands[{band.position - 1}]", _band_check(band, known=known)) for band in layers),
        ]
    )
    design.save()
    shape.design = design
    shape.save()
    design.bands.all().delete()
    for band in layers:
        band.design = design
    Band.objects.bulk_create(layers)
    # Read afresh, so that nobody goes on with numbers that are still text or with the bands of before.
    return Design.objects.select_related("form", "studio").get(pk=design.pk)


def _band_check(band: Band, *, known: set[str]) -> Any:
    def check() -> None:
        band.full_clean(exclude={"design"})
        if strangers := [key for key in dict.fromkeys(band.woods) if key not in known]:
            raise ValidationError({"woods": f"The studio has no wood called {', '.join(strangers)}."})

    return check


def design_copy(*, design: Design, title: str, is_template: bool = False) -> Design:
    """Make a design of its own from another of the studio's, usually a template."""
    values = {name: getattr(design, name) for name in (*ALLOWANCES, "quantity", "adhesive", "finish", "note")}
    form = _fields_of(design.form, leave_out={"id", "design"})
    bands = [_fields_of(band, leave_out={"id", "design", "position"}) for band in design.bands.all()]
    return design_create(
        studio=design.studio, form=form, bands=bands, title=title, is_template=is_template, **values
    )


def _fields_of(row: Form | Band, *, leave_out: set[str]) -> dict[str, Any]:
    return {f.name: getattr(row, f.name) for f in row._meta.concrete_fields if f.name not in leave_out}


def design_delete(*, design: Design) -> None:
    """Throw a design away; refused while a commission goes by it."""
    with transaction.atomic():
        if design.commissions.exists():
            raise ValidationError("A commission goes by this design, so it stays.")
        design.delete()


def design_rename(*, design: Design, title: str) -> Design:
    """Give a design another title."""
    return checked(changed(design, {"title": title}))
