"""Boards of before the rack kept a history are what they were: surfaced, bought by the board, all free."""

from decimal import Decimal

import pytest

from tests.conftest import Migrate

pytestmark = pytest.mark.django_db(transaction=True)

BEFORE, AFTER = "0009_parts", "0010_rack"


def test_boards_keep_what_they_are_forwards_and_back(migrate: Migrate) -> None:
    old = migrate(BEFORE)
    studio = old.get_model("projects", "Studio").objects.create(name="Fern Gully")
    wood = old.get_model("projects", "Wood").objects.create(
        studio=studio, key="maple", name="maple", density=700
    )
    size = {"length": Decimal("1200.5"), "width": Decimal(150), "thickness": Decimal(25)}
    kept = {**size, "count": 3, "price": Decimal("38.5"), "place": "B1", "note": "dry"}
    pk = old.get_model("projects", "Board").objects.create(wood=wood, **kept).pk

    board = migrate(AFTER).get_model("projects", "Board").objects.get()
    assert {name: getattr(board, name) for name in kept} == kept
    assert (board.pk, board.reserved, board.surface, board.nominal) == (pk, 0, "surfaced", "")
    assert (board.bought_by, board.price_per_unit, board.defects) == ("piece", None, [])

    again = migrate(BEFORE).get_model("projects", "Board").objects.get()
    assert {name: getattr(again, name) for name in kept} == kept
