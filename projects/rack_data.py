"""Boards on the rack as a piece sheet has them."""

from collections.abc import Iterable
from typing import Any

from projects import models


def rack_of(studio: models.Studio, woods: Iterable[str]) -> Iterable[models.Board]:
    """What lies there of these woods."""
    boards = models.Board.objects.for_studio(studio).on_rack().select_related("wood")
    return boards.filter(wood__key__in=list(woods)).order_by("pk")


def boards_data(
    boards: Iterable[models.Board], woods: Iterable[str], commission: models.Commission | None
) -> list[dict[str, Any]]:
    """Boards of these woods that may be sawn: those that are free, and those reserved for this very commission."""
    own: dict[int, int] = {}
    if commission is not None and commission.pk:
        reserved = models.Reservation.objects.filter(commission=commission)
        own = dict(reserved.values_list("board_id", "count"))
    known = set(woods)
    return [
        _board(board, count=count)
        for board in boards
        if board.wood.key in known and (count := board.free + own.get(board.pk, 0))
    ]


def _board(board: models.Board, *, count: int) -> dict[str, Any]:
    data = {
        "wood": board.wood.key,
        "length": float(board.length),
        "width": float(board.width),
        "thickness": float(board.thickness),
        "count": count,
        "price": str(board.price),
        "surface": board.surface,
        "ref": str(board.pk or ""),
    }
    if board.defects:
        data["defects"] = board.defects
    return data
