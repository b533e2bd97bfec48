"""What of the rack goes into an estimate: free boards, and those reserved for the commission that is estimated."""

from decimal import Decimal

import pytest

from estimating.sheet import read_sheet
from projects.estimates import sheet_data, workshop_of
from projects.models import Board, Studio
from projects.services import rack
from tests.factories import BoardFactory, CommissionFactory, DesignFactory

pytestmark = pytest.mark.django_db


def _counts(data: dict) -> dict[str, int]:
    return {board["ref"]: board["count"] for board in data.get("boards", [])}


def test_boards_reserved_for_others_are_left_out(studio: Studio) -> None:
    design = DesignFactory(studio=studio)
    mine = CommissionFactory(studio=studio, design=design)
    theirs = CommissionFactory(studio=studio)
    some = BoardFactory(wood=studio.woods.get(key="maple"), count=3)
    all_of_it = BoardFactory(wood=studio.woods.get(key="maple"), count=1)
    rack.reserve(boards={some: 1, all_of_it: 1}, commission=theirs)
    assert _counts(sheet_data(design)) == {str(some.pk): 2}
    assert _counts(sheet_data(design, commission=mine)) == {str(some.pk): 2}
    rack.reserve(boards={some: 2}, commission=mine)
    assert _counts(sheet_data(design)) == {}
    assert _counts(sheet_data(design, commission=mine)) == {str(some.pk): 2}
    assert _counts(sheet_data(design, commission=theirs)) == {str(some.pk): 1, str(all_of_it.pk): 1}


def test_boards_that_are_used_up_are_left_out(studio: Studio) -> None:
    design = DesignFactory(studio=studio)
    board = BoardFactory(wood=studio.woods.get(key="maple"), count=1)
    rack.board_delete(board=board)
    assert "boards" not in sheet_data(design)
    assert "boards" not in sheet_data(design, boards=Board.objects.all())


def test_defects_surface_and_name_reach_the_sheet_that_is_read(studio: Studio) -> None:
    design = DesignFactory(studio=studio)
    board = rack.board_create(
        studio=studio,
        wood=studio.woods.get(key="maple"),
        length=Decimal(1800),
        width=Decimal(150),
        nominal="8/4",
        surface="rough",
        defects=[[900, 960, 0, 40], [300, 380]],
    )
    sheet = read_sheet(sheet_data(design), workshop=workshop_of(studio))
    (read,) = sheet.boards
    assert (read.ref, read.surface, read.thickness) == (str(board.pk), "rough", 50.8)
    assert read.defects == ((300, 380), (900, 960, 0, 40))
