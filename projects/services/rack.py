"""Changing the rack: boards put there, changed and taken off; reserved, released and cut in the modules beside."""

from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from projects.models import Board, Member, Studio, Wood
from projects.models.fields import plain_text
from projects.models.rack import Happening
from projects.services.rack_cut import LOGGED, Offcut, cut_logged, last_entry
from projects.services.rack_reserve import release, reserve
from projects.services.rack_rows import SIZES, held, made_whole, noted, put, reserved_words
from projects.services.saving import changed, checked

__all__ = [
    "LOGGED",
    "Offcut",
    "board_create",
    "board_delete",
    "board_planned",
    "board_update",
    "boards_create",
    "cut_logged",
    "last_entry",
    "release",
    "reserve",
]


def board_create(*, studio: Studio, wood: Wood, member: Member | None = None, **values: Any) -> Board:
    """Put boards on the rack. A nominal thickness stands in for one that is not measured.

    Bought by a unit of sale, their price follows from `price_per_unit`.
    Errors: ValidationError keyed by field.
    """
    board = board_planned(studio=studio, wood=wood, **values)
    with transaction.atomic():
        return put(board, member=member, what=Happening.PUT)


def boards_create(
    *, studio: Studio, rows: Iterable[Mapping[str, Any]], member: Member | None = None
) -> list[Board]:
    """Put many boards on the rack, all of them or none."""
    with transaction.atomic():
        return [board_create(studio=studio, member=member, **row) for row in rows]


def board_planned(*, studio: Studio, wood: Wood, **values: Any) -> Board:
    """Boards as `board_create` would put them on the rack, checked and not saved; asks the database nothing.

    Errors: ValidationError keyed by field.
    """
    _own_wood(studio, wood)
    board = changed(Board(wood=wood), values)
    made_whole(board, given=values.keys(), studio=studio)
    return board


def board_update(
    *, board: Board, member: Member | None = None, count_seen: int | None = None, **values: Any
) -> Board:
    """Change boards on the rack, and return them as they are now.

    `count_seen` is how many lay there when the change was written down: a count that was left at that is not a
    change, and one that was changed since is not overwritten.
    Errors: ValidationError keyed by field.
    """
    with transaction.atomic():
        (row,) = held([board])
        studio = row.wood.studio
        if "wood" in values:
            _own_wood(studio, values["wood"])
        if count_seen is not None and "count" in values:
            _keep_count(row, values, seen=count_seen)
        before = _described(row)
        changed(row, values)
        made_whole(row, given=values.keys(), studio=studio)
        if row.count < row.reserved:
            raise ValidationError({"count": f"{reserved_words(row)} Release some first."})
        checked(row)
        if words := _difference(before, _described(row)):
            noted(row, Happening.CHANGED, member=member, count=row.count, note=words)
    return row


def board_delete(*, board: Board, member: Member | None = None) -> None:
    """Take boards off the rack; refused while some are reserved. Their history stays."""
    with transaction.atomic():
        (row,) = held([board])
        if row.reserved:
            raise ValidationError(f"{reserved_words(row)} Release them first.")
        taken, row.count = row.count, 0
        if taken:
            checked(row)
            noted(row, Happening.TAKEN_OFF, member=member, count=taken)


def _own_wood(studio: Studio, wood: Wood | None) -> None:
    if wood is None or wood.studio_id != studio.pk:
        raise ValidationError({"wood": "Choose a wood of this studio."})


def _keep_count(row: Board, values: dict[str, Any], *, seen: int) -> None:
    if values["count"] == seen:
        del values["count"]
    elif row.count != seen:
        words = f"While this was written, their number went from {seen} to {row.count}. Look again."
        raise ValidationError({"count": words})


def _described(row: Board) -> dict[str, str]:
    """What a change of boards can change, each in words."""
    words = {side: f"{plain_text(getattr(row, side))} mm" for side in SIZES}
    words |= {"wood": str(row.wood), "count": str(row.count), "surface": row.surface}
    words |= {"sold as": row.nominal, "price": plain_text(Decimal(row.price)), "place": row.place}
    words |= {"defects": _defect_words(row.defects), "note": row.note}
    return words


def _defect_words(defects: Iterable[list[float]]) -> str:
    spans = (
        ", ".join(f"{first:g} to {last:g} mm" for first, last in zip(defect[::2], defect[1::2], strict=True))
        for defect in defects
    )
    return " and ".join(spans)


def _difference(before: Mapping[str, str], after: Mapping[str, str]) -> str:
    told = [
        f"{name} {was or 'none'} → {after[name] or 'none'}"
        for name, was in before.items()
        if was != after[name]
    ]
    return "; ".join(told)
