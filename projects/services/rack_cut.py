"""Logging a cut: boards leave the rack, and their offcuts come back with their share of the price."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from estimating.wood import buying
from projects.models import Board, Commission, Member, Reservation
from projects.models.fields import plain_text
from projects.models.rack import Happening
from projects.services.rack_reserve import let_go
from projects.services.rack_rows import (
    SIZES,
    held,
    made_whole,
    noted,
    placed,
    places_of,
    put,
    reserved_words,
    where,
)
from projects.services.saving import checked

LOGGED = "logged"
"""The code of a refusal to log the same cut twice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Offcut:
    """Like offcuts that go back on the rack, mm; a thickness of None is the board's own."""

    length: Decimal
    width: Decimal
    thickness: Decimal | None = None
    count: int = 1
    defects: Sequence[Sequence[float]] = ()


def cut_logged(
    *,
    board: Board,
    count: int = 1,
    offcuts: Iterable[Offcut] = (),
    commission: Commission | None = None,
    member: Member | None = None,
    note: str = "",
    seen: int | None = None,
) -> list[Board]:
    """Log that boards were cut: they leave the rack, and their offcuts come back. Returns the offcuts.

    `seen` is the last entry of the board's history (`last_entry`) when the cut was written down: the same cut sent
    again is logged once, and the second time refused with the code `LOGGED`.

    Boards that the commission has reserved are taken first, then free ones. An offcut lies where its board lay, is
    rough or surfaced like it, and has its share of the price by volume.
    Errors: ValidationError; at `count` where fewer are to be had, at `offcuts[1].width` for what cannot come of them.
    """
    with transaction.atomic():
        (row,) = held([board])
        if commission is not None and commission.studio_id != row.wood.studio_id:
            raise ValidationError({"commission": "Choose a commission of this studio."})
        if seen is not None:
            _refuse_twice(row, seen, count=count, commission=commission, member=member, note=note)
        own = Reservation.objects.filter(board=row, commission=commission).first() if commission else None
        has = own.count if own else 0
        _refuse_too_many(row, count, to_be_had=row.free + has)
        back = [_offcut_of(row, number, offcut) for number, offcut in enumerate(offcuts)]
        _refuse_too_much(row, count, back)
        if commission is not None and has:
            let_go(row, min(has, count), commission)
        row.count -= count
        checked(row)
        noted(row, Happening.CUT, member=member, count=count, commission=commission, note=note)
        origin = f"Of board {row.pk}."
        return [
            put(one, what=Happening.OFFCUT, member=member, commission=commission, note=origin) for one in back
        ]


def last_entry(board: Board) -> int:
    """The number of the last entry in a board's history, 0 where it has none."""
    return board.events.order_by("-pk").values_list("pk", flat=True).first() or 0


def _refuse_twice(row: Board, seen: int, **cut: Any) -> None:
    if row.events.filter(pk__gt=seen, what=Happening.CUT, **cut).exists():
        raise ValidationError("This cut is logged already. To log another like it, begin anew.", code=LOGGED)


def _refuse_too_many(row: Board, count: int, *, to_be_had: int) -> None:
    if not 1 <= count <= to_be_had:
        others = f" {reserved_words(row)}" if row.reserved else ""
        words = f"{where(row)}: {to_be_had or 'none'} to be had, {count} to be cut.{others}"
        raise ValidationError({"count": words})


def _offcut_of(row: Board, number: int, offcut: Offcut) -> Board:
    """Offcuts as they go on the rack, checked, errors at their place."""
    thickness = row.thickness if offcut.thickness is None else offcut.thickness
    board = Board(
        wood=row.wood,
        length=offcut.length,
        width=offcut.width,
        thickness=thickness,
        count=offcut.count,
        surface=row.surface,
        nominal=row.nominal if thickness == row.thickness else "",
        defects=[list(defect) for defect in offcut.defects],
        place=row.place,
        from_board=row,
    )
    try:
        made_whole(board, given=(), studio=row.wood.studio)
        _refuse_too_large(row, board)
    except ValidationError as refusal:
        raise ValidationError(placed(refusal, at=f"offcuts[{number}]")) from None
    places = places_of(row.wood.studio)
    board.price = buying.price_of_share(row.price, volume=_volume(board), of=_volume(row), places=places)
    return board


def _refuse_too_large(row: Board, board: Board) -> None:
    wrong = {
        side: f"Must be at most {plain_text(getattr(row, side))} mm, as the board was."
        for side in SIZES
        if getattr(board, side) > getattr(row, side)
    }
    if wrong:
        raise ValidationError(wrong)


def _refuse_too_much(row: Board, count: int, back: Sequence[Board]) -> None:
    if sum(board.count * _volume(board) for board in back) > count * _volume(row):
        raise ValidationError({"offcuts": "These offcuts hold more wood than the boards that were cut."})


def _volume(board: Board) -> Decimal:
    return board.length * board.width * board.thickness
