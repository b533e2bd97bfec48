"""Logging a cut: boards leave the rack, their offcuts come back with their share, and nothing more than was there."""

from decimal import Decimal
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.core.exceptions import ValidationError

from projects.models import Board, Commission, Studio, Wood
from projects.services import rack
from tests.factories import CommissionFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def maple(studio: Studio) -> Wood:
    """A wood of the studio's."""
    return studio.woods.get(key="maple")


@pytest.fixture
def board(studio: Studio, maple: Wood) -> Board:
    """Four rough boards, worth 54 each."""
    size = {"length": Decimal(1800), "width": Decimal(150), "thickness": Decimal(25)}
    more = {"count": 4, "price": Decimal(54), "place": "B1", "surface": "rough"}
    return rack.board_create(studio=studio, wood=maple, **size, **more)


@pytest.fixture
def job(studio: Studio) -> Commission:
    """A commission."""
    return CommissionFactory(studio=studio, title="Harbour bowl")


def _adds_up(board: Board) -> None:
    board.refresh_from_db()
    assert board.reserved == sum(board.reservations.values_list("count", flat=True))
    assert 0 <= board.reserved <= board.count


def test_a_cut_takes_boards_off_and_puts_their_offcuts_on(board: Board, job: Commission, bob: User) -> None:
    """54 for 1800 × 150 × 25: 600 × 150 × 25 is a third of it, and 900 × 75 × 25 a quarter."""
    rack.reserve(boards={board: 2}, commission=job)
    third, quarter = rack.cut_logged(
        board=board,
        count=1,
        offcuts=[
            rack.Offcut(length=Decimal(600), width=Decimal(150), defects=[[10, 20]]),
            rack.Offcut(length=Decimal(900), width=Decimal(75), thickness=Decimal(25)),
        ],
        commission=job,
        member=bob.member,
        note="foot and rim",
    )
    _adds_up(board)
    assert (board.count, board.reserved) == (3, 1)
    assert (third.price, quarter.price) == (18, Decimal("13.50"))
    for offcut in (third, quarter):
        assert (offcut.from_board, offcut.place, offcut.surface) == (board, "B1", "rough")
        assert offcut.wood == board.wood
        line = offcut.events.get()
        assert (line.what, line.member, line.commission) == ("offcut", bob.member, job)
    assert third.defects == [[10, 20]]
    assert board.events.get(what="cut").note == "foot and rim"


def test_a_cut_takes_what_is_reserved_for_its_commission_and_then_free_boards(
    studio: Studio, board: Board, job: Commission
) -> None:
    other = CommissionFactory(studio=studio, title="Vase")
    rack.reserve(boards={board: 1}, commission=job)
    rack.reserve(boards={board: 2}, commission=other)
    with pytest.raises(
        ValidationError, match=r"2 to be had, 3 to be cut\. Reserved: 1 for Harbour bowl, 2 for Vase"
    ):
        rack.cut_logged(board=board, count=3, commission=job)
    with pytest.raises(ValidationError, match="1 to be had, 2 to be cut"):
        rack.cut_logged(board=board, count=2)
    rack.cut_logged(board=board, count=2, commission=job)
    _adds_up(board)
    assert (board.count, board.reserved) == (2, 2)
    assert board.reservations.get().commission == other


@pytest.mark.parametrize(
    ("offcuts", "place"),
    [
        ([{"length": 1801, "width": 10}], "offcuts[0].length"),
        ([{"length": 10, "width": 10}, {"length": 10, "width": 151}], "offcuts[1].width"),
        ([{"length": 10, "width": 10, "thickness": Decimal(26)}], "offcuts[0].thickness"),
        ([{"length": 0, "width": 10}], "offcuts[0].length"),
        ([{"length": 100, "width": 100, "count": 0}], "offcuts[0].count"),
        ([{"length": 100, "width": 100, "defects": [[50, 101]]}], "offcuts[0].defects"),
        ([{"length": 1000, "width": 150, "count": 2}], "offcuts"),
    ],
)
def test_offcuts_that_cannot_come_of_the_board_are_refused_where_they_stand(
    board: Board, offcuts: list[dict[str, Any]], place: str
) -> None:
    rows = [
        rack.Offcut(**row | {side: Decimal(row[side]) for side in ("length", "width")}) for row in offcuts
    ]
    with pytest.raises(ValidationError) as refusal:
        rack.cut_logged(board=board, offcuts=rows)
    assert set(refusal.value.message_dict) == {place}
    board.refresh_from_db()
    assert board.count == 4
    assert Board.objects.count() == 1


def test_an_offcut_as_thick_as_its_board_is_still_what_it_was_sold_as(studio: Studio, maple: Wood) -> None:
    row = rack.board_create(studio=studio, wood=maple, length=1000, width=100, nominal="8/4", count=1)
    same, thinner = rack.cut_logged(
        board=row,
        offcuts=[
            rack.Offcut(length=Decimal(300), width=Decimal(100)),
            rack.Offcut(length=Decimal(300), width=Decimal(100), thickness=Decimal(20)),
        ],
    )
    assert (same.nominal, thinner.nominal) == ("8/4", "")
