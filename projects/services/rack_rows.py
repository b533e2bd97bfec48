"""The boards' rows while the rack is changed: held against others, checked whole, and each change noted.

Whoever changes how many boards lie there or are reserved holds their rows first, in the order of their keys, and reads
them again: what a page has read may be old. The database's own checks are the last guard.
"""

from collections.abc import Callable, Iterable
from decimal import Decimal
from typing import Any, cast

from django.core.exceptions import ValidationError

from estimating.price.money import minor_digits
from estimating.wood import buying
from projects.models import Board, BoardEvent, Commission, Member, Studio
from projects.models.fields import plain_text
from projects.models.rack import BoughtBy, Happening, Surface
from projects.services.saving import checked

SIZES = ("length", "width", "thickness")

_FAR = 10**9  # beyond this a number has no thousandths to round to


def held(boards: Iterable[Board]) -> list[Board]:
    """The boards' rows, locked and read anew, in the order of their keys so that no two wait for each other."""
    keys = {board.pk for board in boards}
    rows = Board.objects.select_for_update(of=("self",)).filter(pk__in=keys)
    found = list(rows.select_related("wood__studio").order_by("pk"))
    if len(found) < len(keys):
        raise ValidationError("One of these boards does not exist any more.")
    return found


def put(
    board: Board,
    *,
    member: Member | None,
    what: Happening,
    commission: Commission | None = None,
    note: str = "",
) -> Board:
    """Boards that are new on the rack, checked, saved and noted."""
    checked(board)
    noted(board, what, member=member, count=board.count, commission=commission, note=note)
    return board


def noted(
    board: Board,
    what: Happening,
    *,
    member: Member | None,
    count: int,
    commission: Commission | None = None,
    note: str = "",
) -> None:
    """A line of history, written once the boards are as it says."""
    event = BoardEvent(board=board, what=what, count=count, left=board.count, note=note)
    event.member, event.commission = member, commission
    checked(event)


def where(board: Board) -> str:
    """A board by its wood, size and place, as a refusal names it."""
    return f"{board.what} ({board.place})" if board.place else board.what


def reserved_words(board: Board) -> str:
    """For whom boards are reserved."""
    whose = [f"{one.count} for {one.commission}" for one in board.reservations.select_related("commission")]
    return f"Reserved: {', '.join(whose)}."


def places_of(studio: Studio) -> int:
    """Decimals of the studio's money."""
    places = minor_digits(studio.currency)
    return 2 if places is None else places


def made_whole(board: Board, *, given: Iterable[str], studio: Studio) -> None:
    """Put in what follows from what was said, and check it all without asking the database.

    `given` are the fields that were said. Errors: ValidationError keyed by field, with everything that is wrong.
    """
    wrong: dict[str, Any] = {}
    _put_in_thickness(board)
    board.defects = in_order(board.defects)
    checks: tuple[Callable[[], object], ...] = (
        lambda: _refuse_none(board),
        lambda: _refuse_too_thick(board) if {"nominal", "thickness"} & set(given) else None,
        lambda: _put_in_price(board, given=given, studio=studio),
        lambda: board.full_clean(exclude={"wood"}, validate_unique=False, validate_constraints=False),
    )
    for check in checks:
        try:
            check()
        except ValidationError as refusal:
            wrong = refusal.update_error_dict(wrong)
    if wrong:
        raise ValidationError(wrong)


def _refuse_none(board: Board) -> None:
    if board.count == 0:
        raise ValidationError({"count": "Must be at least 1. Boards that are gone are taken off the rack."})


def _refuse_too_thick(board: Board) -> None:
    """A board is sold by the thickness it has in full: one as thick as the next nominal thickness would be that.

    Thinner ones are planed. The last has no next, and may be a quarter over; common practice, no source.
    """
    known = buying.nominal_thicknesses()
    try:
        thickness = Decimal(str(board.thickness))
    except ArithmeticError:
        return  # its own field says so
    if board.nominal not in known:
        return
    rough = known[board.nominal].rough
    limit = min((other.rough for other in known.values() if other.rough > rough), default=1.25 * rough)
    if thickness.is_finite() and float(thickness) >= limit:
        words = (
            f"Sold as {board.nominal} a board is about {rough:.1f} mm thick as sawn, and this one is "
            f"{plain_text(thickness)} mm. Mend one of them, or leave this empty."
        )
        raise ValidationError({"nominal": words})


def _put_in_thickness(board: Board) -> None:
    nominal = buying.nominal_thicknesses().get(board.nominal)
    if board.thickness is None and nominal is not None:
        mm = nominal.rough if board.surface == Surface.ROUGH else nominal.surfaced
        board.thickness = Decimal(str(round(mm, 3)))


def _put_in_price(board: Board, *, given: Iterable[str], studio: Studio) -> None:
    """The price of a board from that of a unit, once all that it follows from is as it must be."""
    try:
        board.clean_fields(exclude={"wood"})
    except ValidationError:
        return  # the whole check says so
    if board.bought_by == BoughtBy.PIECE or board.price_per_unit is None:
        return
    follows = buying.price_of_one(
        bought_by=cast(buying.BoughtBy, board.bought_by),
        price_per_unit=board.price_per_unit,
        **{side: getattr(board, side) for side in SIZES},
        nominal=board.nominal,
        places=places_of(studio),
    )
    said = "price" in given and board.price != follows
    board.price = follows
    if said:
        words = f"A board costs {follows} at this price a unit. Leave its price out, or buy by the board."
        raise ValidationError({"price": words})


def in_order(defects: Any) -> Any:
    """Defects from the near end on, to the thousandth of a mm; what are no defects stay, for the check to name."""
    if not isinstance(defects, list) or not all(_is_defect(defect) for defect in defects):
        return defects
    return sorted([round(float(end), 3) for end in defect] for defect in defects)


def _is_defect(defect: Any) -> bool:
    return isinstance(defect, list | tuple) and all(_is_number(end) for end in defect)


def _is_number(end: Any) -> bool:
    return isinstance(end, int | float | Decimal) and not isinstance(end, bool) and -_FAR < end < _FAR


def placed(refusal: ValidationError, *, at: str) -> dict[str, list[str]]:
    """A refusal's messages by field, each field below `at`."""
    if not hasattr(refusal, "error_dict"):
        return {at: list(refusal.messages)}
    return {f"{at}.{field}": list(texts) for field, texts in refusal.message_dict.items()}
