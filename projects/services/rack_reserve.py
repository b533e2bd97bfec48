"""Setting boards aside for a commission, and letting them go: all that is asked, or nothing."""

from collections.abc import Mapping, Sequence

from django.core.exceptions import ValidationError
from django.db import transaction

from projects.models import Board, Commission, Member, Reservation
from projects.models.commissions import OPEN_STAGES
from projects.models.rack import Happening
from projects.services.rack_rows import held, noted, where
from projects.services.saving import checked


def reserve(
    *, boards: Mapping[Board, int], commission: Commission, member: Member | None = None
) -> list[Reservation]:
    """Set boards aside for a commission, so many of each: all of them, or none where one is not to be had.

    Errors: ValidationError that names each board that is short and how many of it are free.
    """
    with transaction.atomic():
        whose: Commission = Commission.objects.select_for_update().get(pk=commission.pk)
        if whose.stage not in OPEN_STAGES:
            raise ValidationError(f"{whose} is {whose.get_stage_display()}: nothing is to be sawn for it.")
        rows = held(boards)
        wanted = {board.pk: count for board, count in boards.items()}
        _refuse_short(rows, wanted, studio_id=whose.studio_id)
        return [_set_aside(row, wanted[row.pk], whose, member) for row in rows]


def release(
    *, commission: Commission, boards: Mapping[Board, int] | None = None, member: Member | None = None
) -> None:
    """Let go of boards reserved for a commission: so many of each, or all that it has.

    Errors: ValidationError for more than it has.
    """
    with transaction.atomic():
        reservations = Reservation.objects.filter(commission=commission)
        if boards is None:
            rows = held(Board.objects.filter(reservations__in=reservations))
            # Read now that nobody else can change them.
            wanted = dict(reservations.filter(board__in=rows).values_list("board_id", "count"))
        else:
            rows = held(boards)
            wanted = {board.pk: count for board, count in boards.items()}
        for row in rows:
            if row.pk in wanted:
                let_go(row, wanted[row.pk], commission)
                noted(row, Happening.RELEASED, member=member, count=wanted[row.pk], commission=commission)


def let_go(row: Board, count: int, commission: Commission) -> None:
    """Take so many from what the commission has of these boards, whose row is held."""
    own = Reservation.objects.filter(board=row, commission=commission).first()
    has = own.count if own else 0
    if own is None or not 1 <= count <= has:
        raise ValidationError(f"{where(row)}: {has or 'none'} reserved for {commission}, {count} to let go.")
    own.count -= count
    if own.count:
        checked(own)
    else:
        own.delete()
    row.reserved -= count
    checked(row)


def _refuse_short(rows: Sequence[Board], wanted: Mapping[int, int], *, studio_id: int) -> None:
    """Refuse boards that are not to be had, each by its name and with what is free of it."""
    short = []
    for row in rows:
        if row.wood.studio_id != studio_id:
            raise ValidationError("Choose boards of this studio.")
        if wanted[row.pk] < 1:
            raise ValidationError("Reserve at least one board.")
        if wanted[row.pk] > row.free:
            short.append(f"{where(row)}: {row.free or 'none'} free, {wanted[row.pk]} asked for.")
    if short:
        raise ValidationError([*short, "Nothing was reserved."])


def _set_aside(row: Board, count: int, commission: Commission, member: Member | None) -> Reservation:
    row.reserved += count
    checked(row)
    own = Reservation.objects.filter(board=row, commission=commission).first()
    reservation = own or Reservation(board=row, commission=commission, count=0)
    reservation.count += count
    checked(reservation)
    noted(row, Happening.RESERVED, member=member, count=count, commission=commission)
    return reservation
