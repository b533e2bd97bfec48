"""Changing what stands in the shop: woods, adhesives, finishes, standing rates and carriage."""

from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from projects.models import Adhesive, Band, CarriageRate, Design, Finish, StandingRate, Studio, Wood
from projects.services.saving import changed, checked


def wood_create(*, studio: Studio, **values: Any) -> Wood:
    """Add a wood of the studio's own."""
    return checked(changed(Wood(studio=studio), values))


def wood_update(*, wood: Wood, **values: Any) -> Wood:
    """Change a wood; its key only while no design names it, since designs know woods by key."""
    with transaction.atomic():
        before = Wood.objects.get(pk=wood.pk).key
        if values.get("key", before) != before and _designs_with(wood, key=before):
            raise ValidationError({"key": f"Designs name this wood {before}; its key stays."})
        return checked(changed(wood, values))


def wood_delete(*, wood: Wood) -> None:
    """Take a wood off the list; refused while boards or designs are of it."""
    with transaction.atomic():
        if wood.boards.exists():
            # Boards that are used up keep their history, and with it their wood.
            raise ValidationError("Boards of this wood lie on the rack, or have lain there. Hide it instead.")
        if titles := _designs_with(wood, key=wood.key):
            raise ValidationError(f"This wood is part of {', '.join(titles[:3])}. Hide it instead.")
        wood.delete()


def _designs_with(wood: Wood, *, key: str) -> list[str]:
    # Looked through here and not by the database: SQLite cannot ask whether a JSON list contains a word.
    bands = Band.objects.for_studio(wood.studio_id).select_related("part__design")
    fields = bands.only("woods", "chart", "plug", "part__design__title")
    named = {band.part.design.title for band in fields if key in band.all_woods}
    laminated = Design.objects.for_studio(wood.studio_id).exclude(laminates={}).only("title", "laminates")
    return sorted(named | {design.title for design in laminated if key in design.laminated_woods})


def adhesive_create(*, studio: Studio, **values: Any) -> Adhesive:
    """Add an adhesive; when it is the usual one, the former steps back."""
    return _saved_as_usual(changed(Adhesive(studio=studio), values))


def adhesive_update(*, adhesive: Adhesive, **values: Any) -> Adhesive:
    """Change an adhesive; when it becomes the usual one, the former steps back."""
    return _saved_as_usual(changed(adhesive, values))


def adhesive_delete(*, adhesive: Adhesive) -> None:
    """Take an adhesive off the shelf; designs that named it use the usual one."""
    _keep_the_usual(adhesive)
    adhesive.delete()


def finish_create(*, studio: Studio, **values: Any) -> Finish:
    """Add a finish; when it is the usual one, the former steps back."""
    return _saved_as_usual(changed(Finish(studio=studio), values))


def finish_update(*, finish: Finish, **values: Any) -> Finish:
    """Change a finish; when it becomes the usual one, the former steps back."""
    return _saved_as_usual(changed(finish, values))


def finish_delete(*, finish: Finish) -> None:
    """Take a finish off the shelf; designs that named it use the usual one."""
    _keep_the_usual(finish)
    finish.delete()


def _saved_as_usual(row: Any) -> Any:
    with transaction.atomic():
        others = type(row).objects.for_studio(row.studio_id).exclude(pk=row.pk)
        if row.usual:
            others.update(usual=False)
        elif not others.filter(usual=True).exists():
            raise ValidationError({"usual": "One has to be the usual one: mark another first."})
        return checked(row)


def _keep_the_usual(row: Adhesive | Finish) -> None:
    if row.usual:
        raise ValidationError("This is the usual one. Mark another as the usual one first.")


def rate_create(*, studio: Studio, **values: Any) -> StandingRate:
    """Add a standing rate."""
    return checked(changed(StandingRate(studio=studio), values))


def rate_update(*, rate: StandingRate, **values: Any) -> StandingRate:
    """Change what an operation takes; its name stays, since estimates and the hours log go by it."""
    if values.get("operation", rate.operation) != rate.operation:
        raise ValidationError({"operation": "Estimates go by this name; it stays."})
    return checked(changed(rate, values))


def carriage_create(*, studio: Studio, **values: Any) -> CarriageRate:
    """Add a step to the table of carriage."""
    return checked(changed(CarriageRate(studio=studio), values))


def carriage_update(*, carriage: CarriageRate, **values: Any) -> CarriageRate:
    """Change a step of the table of carriage."""
    return checked(changed(carriage, values))


def carriage_delete(*, carriage: CarriageRate) -> None:
    """Take a step out of the table; commissions whose freight is worked out go by the next."""
    carriage.delete()
