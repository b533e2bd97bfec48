"""Two people at the rack at once, each with a connection of their own: nothing is promised twice, nothing is lost."""

from collections.abc import Callable
from random import Random
from typing import Any

import pytest
from django.core.exceptions import ValidationError

from projects.models import Board, Commission, Reservation
from projects.services import rack
from tests.factories import BoardFactory, CommissionFactory, StudioFactory
from tests.projects.threads import at_once

pytestmark = pytest.mark.django_db(transaction=True)
TIMES = 12


def _adds_up(*boards: Board) -> None:
    for board in boards:
        board.refresh_from_db()
        assert board.reserved == sum(board.reservations.values_list("count", flat=True))
        assert 0 <= board.reserved <= board.count
        last = board.events.order_by("pk").last()
        assert last is None or last.left == board.count


def _reserving(boards: dict[Board, int], commission: Commission) -> Callable[[], Any]:
    # Each thread reads its own rows, as two requests would.
    keys, job = {board.pk: count for board, count in boards.items()}, commission.pk

    def reserving() -> Any:
        rows = {Board.objects.select_related("wood").get(pk=pk): count for pk, count in keys.items()}
        return rack.reserve(boards=rows, commission=Commission.objects.get(pk=job))

    return reserving


def test_two_who_reserve_the_last_board_at_once_do_not_both_get_it() -> None:
    studio = StudioFactory()
    jobs = [CommissionFactory(studio=studio) for _ in range(2)]
    for _ in range(TIMES):
        board = BoardFactory(wood=studio.woods.get(key="maple"), count=1)
        came = at_once(*(_reserving({board: 1}, job) for job in jobs))
        refused = [one for one in came if isinstance(one, ValidationError)]
        assert len(refused) == 1, came
        assert "none free, 1 asked for" in " ".join(refused[0].messages)
        assert sum(isinstance(one, list) for one in came) == 1, came
        _adds_up(board)
        assert Reservation.objects.filter(board=board).count() == 1


def test_two_who_reserve_the_same_boards_in_opposite_order_neither_wait_for_ever_nor_get_half() -> None:
    studio = StudioFactory()
    jobs = [CommissionFactory(studio=studio) for _ in range(2)]
    for _ in range(TIMES):
        one, two = (BoardFactory(wood=studio.woods.get(key="maple"), count=1) for _ in range(2))
        came = at_once(_reserving({one: 1, two: 1}, jobs[0]), _reserving({two: 1, one: 1}, jobs[1]))
        assert sum(isinstance(answer, ValidationError) for answer in came) == 1, came
        _adds_up(one, two)
        (whose,) = set(Reservation.objects.filter(board__in=(one, two)).values_list("commission", flat=True))
        assert Reservation.objects.filter(commission=whose, board__in=(one, two)).count() == 2


def test_a_board_is_not_cut_and_reserved_at_once() -> None:
    studio = StudioFactory()
    job = CommissionFactory(studio=studio)
    for _ in range(TIMES):
        board = BoardFactory(wood=studio.woods.get(key="maple"), count=1)
        pk = board.pk
        came = at_once(
            _reserving({board: 1}, job), lambda pk=pk: rack.cut_logged(board=Board.objects.get(pk=pk))
        )
        assert sum(isinstance(answer, ValidationError) for answer in came) == 1, came
        _adds_up(board)
        assert board.count - board.reserved == 0


def test_a_note_written_while_another_reserves_loses_neither() -> None:
    studio = StudioFactory()
    job = CommissionFactory(studio=studio)
    for number in range(TIMES):
        board = BoardFactory(wood=studio.woods.get(key="maple"), count=2)
        read = Board.objects.select_related("wood").get(pk=board.pk)
        came = at_once(
            _reserving({board: 1}, job),
            lambda read=read, number=number: rack.board_update(board=read, note=f"row {number}"),
        )
        assert not any(isinstance(answer, Exception) for answer in came), came
        _adds_up(board)
        assert (board.note, board.reserved) == (f"row {number}", 1)


@pytest.mark.parametrize("seed", range(3))
def test_four_at_the_rack_in_any_order_leave_it_adding_up(seed: int) -> None:
    """Each does a run of doings of its own; what any of them was told has happened is what is there in the end."""
    studio = StudioFactory()
    jobs = [CommissionFactory(studio=studio).pk for _ in range(4)]
    boards = [BoardFactory(wood=studio.woods.get(key="maple"), count=6) for _ in range(2)]

    def worker(place: int) -> Callable[[], dict[str, int]]:
        dice = Random(100 * seed + place)

        def work() -> dict[str, int]:
            told = {"cut": 0, "kept": 0}
            for _ in range(8):
                board = Board.objects.get(pk=dice.choice(boards).pk)
                job = Commission.objects.get(pk=jobs[place])
                doing, count = dice.choice(["reserve", "reserve", "release", "cut"]), dice.randint(1, 2)
                try:
                    if doing == "reserve":
                        rack.reserve(boards={board: count}, commission=job)
                        told["kept"] += count
                    elif doing == "release":
                        rack.release(commission=job, boards={board: count})
                        told["kept"] -= count
                    else:
                        rack.cut_logged(board=board, count=1)
                        told["cut"] += 1
                except ValidationError:
                    pass
            return told

        return work

    came = at_once(*(worker(place) for place in range(4)))
    assert not any(isinstance(answer, Exception) for answer in came), came
    _adds_up(*boards)
    assert sum(board.count for board in boards) == 12 - sum(told["cut"] for told in came)
    for place, told in enumerate(came):
        kept = Reservation.objects.filter(commission=jobs[place]).values_list("count", flat=True)
        assert sum(kept) == told["kept"]
