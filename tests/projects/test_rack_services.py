"""The rack's services: what follows from what was said, what is refused, what is noted, and that it always adds up."""

from decimal import Decimal
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from estimating.wood.buying import nominal_thicknesses
from projects.models import Board, BoardEvent, Commission, Reservation, Studio, Wood
from projects.models.rack import Nominal
from projects.services import commissions, rack
from tests.factories import CommissionFactory

pytestmark = pytest.mark.django_db
SIZE = {"length": Decimal(1800), "width": Decimal(150), "thickness": Decimal(25)}


@pytest.fixture
def maple(studio: Studio) -> Wood:
    """A wood of the studio's."""
    return studio.woods.get(key="maple")


@pytest.fixture
def board(studio: Studio, maple: Wood) -> Board:
    """Four boards, worth 54 each."""
    return rack.board_create(
        studio=studio, wood=maple, **SIZE, count=4, price=Decimal(54), place="B1", surface="rough"
    )


@pytest.fixture
def job(studio: Studio) -> Commission:
    """A commission."""
    return CommissionFactory(studio=studio, title="Harbour bowl")


def _history(board: Board) -> list[tuple[str, int, int]]:
    return [(event.what, event.count, event.left) for event in board.events.order_by("pk")]


def _adds_up(board: Board) -> None:
    """The count of the reserved is the sum of the reservations, and within what lies there."""
    board.refresh_from_db()
    assert board.reserved == sum(board.reservations.values_list("count", flat=True))
    assert 0 <= board.reserved <= board.count


# ---- what follows from what was said


def test_the_nominal_thicknesses_on_offer_are_those_of_the_table() -> None:
    assert tuple(Nominal.values) == tuple(nominal_thicknesses())


@pytest.mark.parametrize(("surface", "mm"), [("rough", "50.800"), ("surfaced", "44.450")])
def test_a_nominal_thickness_stands_in_for_one_that_is_not_measured(
    studio: Studio, maple: Wood, surface: str, mm: str
) -> None:
    made = rack.board_create(
        studio=studio, wood=maple, length=1000, width=100, nominal="8/4", surface=surface
    )
    made.refresh_from_db()
    assert str(made.thickness) == mm


def test_the_price_of_a_board_follows_from_that_of_a_unit(studio: Studio, maple: Wood) -> None:
    """8 ft × 6 in of 8/4, surfaced, is 8 board feet, whatever the planer left: 58.00 at 7.25."""
    made = rack.board_create(
        studio=studio,
        wood=maple,
        length=Decimal("2438.4"),
        width=Decimal("152.4"),
        nominal="8/4",
        bought_by="board_foot",
        price_per_unit=Decimal("7.25"),
    )
    assert made.price == 58
    longer = rack.board_update(board=made, length=Decimal("1219.2"))
    assert longer.price == 29
    by_piece = rack.board_update(board=made, bought_by="piece", price_per_unit=None, price=Decimal(31))
    assert (by_piece.price, by_piece.price_per_unit) == (31, None)


@pytest.mark.parametrize(("currency", "price"), [("USD", "33.75"), ("JPY", "34"), ("KWD", "33.750")])
def test_a_price_has_the_decimals_of_the_studios_money(
    studio: Studio, maple: Wood, currency: str, price: str
) -> None:
    Studio.objects.update(currency=currency)
    studio.refresh_from_db()
    made = rack.board_create(
        studio=studio, wood=maple, **SIZE, bought_by="cubic_metre", price_per_unit=Decimal(5000)
    )
    assert str(made.price) == price  # 1.8 × 0.15 × 0.025 m³ is 0.00675 m³


# ---- what is refused

WRONG: list[tuple[dict[str, Any], set[str]]] = [
    ({"count": 0}, {"count"}),
    ({"count": 1001}, {"count"}),
    ({"thickness": None}, {"thickness"}),
    ({"length": 0, "width": -1, "count": 0}, {"length", "width", "count"}),
    ({"bought_by": "board_foot"}, {"price_per_unit"}),
    ({"price_per_unit": 3}, {"price_per_unit"}),
    ({"bought_by": "running_metre", "price_per_unit": 10, "price": 19}, {"price"}),
    ({"surface": "sanded", "nominal": "7/4"}, {"surface", "nominal"}),
    ({"defects": "300 to 380"}, {"defects"}),
    ({"defects": [[300]]}, {"defects"}),
    ({"defects": [[300, 380, 10]]}, {"defects"}),
    ({"defects": [[380, 300]]}, {"defects"}),
    ({"defects": [[300, 300]]}, {"defects"}),
    ({"defects": [[300, 380, 40, 0]]}, {"defects"}),
    ({"defects": [[-1, 380]]}, {"defects"}),
    ({"defects": [[300, 1801]]}, {"defects"}),
    ({"defects": [[300, 380, 0, 151]]}, {"defects"}),
    ({"defects": [[False, True]]}, {"defects"}),
    ({"defects": [[300, float("nan")]]}, {"defects"}),
    ({"defects": [[300, float("inf")]]}, {"defects"}),
    ({"defects": [[300, 10**400]]}, {"defects"}),
    ({"defects": [["300", "380"]]}, {"defects"}),
    ({"defects": [[1, 2]] * 51}, {"defects"}),
    ({"defects": {"from": 1}}, {"defects"}),
]


@pytest.mark.parametrize(("wrong", "places"), WRONG)
def test_boards_that_cannot_be_are_refused_at_their_fields(
    studio: Studio, maple: Wood, wrong: dict[str, Any], places: set[str]
) -> None:
    with pytest.raises(ValidationError) as refusal:
        rack.board_create(studio=studio, wood=maple, **(SIZE | wrong))
    assert set(refusal.value.message_dict) == places
    assert not Board.objects.exists()
    assert not BoardEvent.objects.exists()


def test_defects_are_put_in_order_and_kept_to_the_thousandth(studio: Studio, maple: Wood) -> None:
    made = rack.board_create(
        studio=studio, wood=maple, **SIZE, defects=[[900, 1800.0004], [25.40004, 50, 0, 149.9999]]
    )
    made.refresh_from_db()
    assert made.defects == [[25.4, 50.0, 0.0, 150.0], [900.0, 1800.0]]


def test_the_model_alone_refuses_defects_out_of_order(maple: Wood) -> None:
    row = Board(wood=maple, **SIZE, defects=[[900, 1000], [25, 50]])
    with pytest.raises(ValidationError, match="in order"):
        row.full_clean()


# ---- history


def test_every_change_is_noted_with_who_did_it(
    studio: Studio, board: Board, job: Commission, bob: User
) -> None:
    who = {"member": bob.member}
    rack.board_update(board=board, place="A2", width=Decimal("149.5"), **who)
    rack.reserve(boards={board: 2}, commission=job, **who)
    rack.release(commission=job, boards={board: 1}, **who)
    rack.cut_logged(board=board, count=2, commission=job, **who)
    rack.board_delete(board=board, **who)
    assert _history(board) == [
        ("put", 4, 4),
        ("changed", 4, 4),
        ("reserved", 2, 4),
        ("released", 1, 4),
        ("cut", 2, 2),
        ("taken_off", 2, 0),
    ]
    changed = board.events.get(what="changed")
    assert changed.note == "width 150 mm → 149.5 mm; place B1 → A2"
    assert {event.member for event in board.events.exclude(what="put")} == {bob.member}


def test_a_change_that_changes_nothing_is_not_noted(board: Board) -> None:
    rack.board_update(board=board, place="B1", price=Decimal("54.00"))
    assert _history(board) == [("put", 4, 4)]


def test_history_is_only_added_to(board: Board) -> None:
    line = board.events.get()
    for attempt in (
        line.save,
        line.delete,
        BoardEvent.objects.all().delete,
        lambda: BoardEvent.objects.update(note="otherwise"),
    ):
        with pytest.raises(ValidationError, match="only added to"):
            attempt()
    assert BoardEvent.objects.get().note == ""


def test_boards_taken_off_are_kept_for_their_history_and_lie_there_no_more(board: Board) -> None:
    rack.board_delete(board=board)
    rack.board_delete(board=board)
    board.refresh_from_db()
    assert board.count == 0
    assert not Board.objects.on_rack().exists()
    assert _history(board)[1:] == [("taken_off", 4, 0)]


# ---- reserving


def test_boards_are_reserved_all_or_none_and_the_refusal_names_those_that_are_short(
    studio: Studio, maple: Wood, board: Board, job: Commission
) -> None:
    short = rack.board_create(studio=studio, wood=maple, **(SIZE | {"length": 900}), count=1)
    with pytest.raises(ValidationError) as refusal:
        rack.reserve(boards={board: 2, short: 2}, commission=job)
    assert refusal.value.messages == [
        "hard maple, 900 × 150 × 25 mm: 1 free, 2 asked for.",
        "Nothing was reserved.",
    ]
    assert not Reservation.objects.exists()
    _adds_up(board)
    rack.reserve(boards={board: 2, short: 1}, commission=job)
    with pytest.raises(ValidationError, match=r"hard maple, 1800 × 150 × 25 mm \(B1\): 2 free, 3 asked"):
        rack.reserve(boards={board: 3}, commission=CommissionFactory(studio=studio))
    with pytest.raises(ValidationError, match="none free, 1 asked"):
        rack.reserve(boards={short: 1}, commission=job)
    _adds_up(board)
    _adds_up(short)


def test_a_second_reservation_for_a_commission_adds_to_its_first(board: Board, job: Commission) -> None:
    rack.reserve(boards={board: 1}, commission=job)
    rack.reserve(boards={board: 2}, commission=job)
    assert board.reservations.get().count == 3
    rack.release(commission=job)
    assert not Reservation.objects.exists()
    _adds_up(board)


@pytest.mark.parametrize("count", [0, -1])
def test_less_than_one_board_is_neither_reserved_nor_released_nor_cut(
    board: Board, job: Commission, count: int
) -> None:
    rack.reserve(boards={board: 1}, commission=job)
    for attempt in (
        lambda: rack.reserve(boards={board: count}, commission=job),
        lambda: rack.release(commission=job, boards={board: count}),
        lambda: rack.cut_logged(board=board, count=count),
    ):
        with pytest.raises(ValidationError):
            attempt()
    assert board.reservations.get().count == 1
    _adds_up(board)


def test_no_more_is_released_than_is_reserved(studio: Studio, board: Board, job: Commission) -> None:
    rack.reserve(boards={board: 1}, commission=job)
    with pytest.raises(ValidationError, match="1 reserved for Harbour bowl, 2 to let go"):
        rack.release(commission=job, boards={board: 2})
    with pytest.raises(ValidationError, match="none reserved"):
        rack.release(commission=CommissionFactory(studio=studio), boards={board: 1})
    _adds_up(board)


def test_boards_of_another_studio_are_not_reserved(other_studio: Studio, board: Board) -> None:
    with pytest.raises(ValidationError, match="of this studio"):
        rack.reserve(boards={board: 1}, commission=CommissionFactory(studio=other_studio))
    with pytest.raises(ValidationError, match="of this studio"):
        rack.cut_logged(board=board, commission=CommissionFactory(studio=other_studio))
    reservation = Reservation(board=board, commission=CommissionFactory(studio=other_studio))
    with pytest.raises(ValidationError, match="of this studio"):
        reservation.full_clean()
    _adds_up(board)


def test_nothing_is_reserved_for_what_is_not_made_any_more(board: Board, job: Commission) -> None:
    commissions.commission_move(commission=job, to="declined")
    with pytest.raises(ValidationError, match="declined"):
        rack.reserve(boards={board: 1}, commission=job)


def test_a_commission_that_comes_to_nothing_lets_its_boards_go(
    studio: Studio, board: Board, job: Commission
) -> None:
    other = CommissionFactory(studio=studio)
    rack.reserve(boards={board: 2}, commission=job)
    rack.reserve(boards={board: 1}, commission=other)
    commissions.commission_move(commission=job, to="declined")
    _adds_up(board)
    assert board.reserved == 1
    commissions.commission_delete(commission=other)
    _adds_up(board)
    assert board.reserved == 0
    assert [what for what, _, _ in _history(board)][-2:] == ["released", "released"]


def test_the_count_is_not_changed_to_less_than_is_reserved(board: Board, job: Commission) -> None:
    rack.reserve(boards={board: 3}, commission=job)
    with pytest.raises(ValidationError, match="Reserved: 3 for Harbour bowl"):
        rack.board_update(board=board, count=2)
    with pytest.raises(ValidationError, match="Release them first"):
        rack.board_delete(board=board)
    assert rack.board_update(board=board, count=3).free == 0


def test_a_count_cut_since_a_form_was_shown_is_not_put_back(board: Board) -> None:
    rack.cut_logged(board=board, count=1)
    kept = rack.board_update(board=board, count=4, count_seen=4, place="A9")
    assert (kept.count, kept.place) == (3, "A9")
    with pytest.raises(ValidationError, match="from 4 to 3"):
        rack.board_update(board=board, count=6, count_seen=4)


def test_the_database_itself_holds_the_count_above_what_is_reserved(board: Board, job: Commission) -> None:
    rack.reserve(boards={board: 3}, commission=job)
    for wrong in ({"count": 2}, {"reserved": 5}, {"reserved": -1}, {"count": -1, "reserved": 0}):
        with pytest.raises(IntegrityError), transaction.atomic():
            Board.objects.filter(pk=board.pk).update(**wrong)
    with pytest.raises(IntegrityError), transaction.atomic():
        Reservation.objects.update(count=0)
    with pytest.raises(IntegrityError), transaction.atomic():
        Reservation.objects.create(board=board, commission=job, count=1)


def test_many_boards_are_put_on_all_or_none(studio: Studio, maple: Wood) -> None:
    rows = [{"wood": maple, **SIZE}, {"wood": maple, **SIZE, "count": 0}]
    with pytest.raises(ValidationError):
        rack.boards_create(studio=studio, rows=rows)
    assert not Board.objects.exists()
    assert len(rack.boards_create(studio=studio, rows=rows[:1])) == 1
