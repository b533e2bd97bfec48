"""The rack after any doings in any order, against a model of it in plain numbers."""

from typing import Any

from django.core.exceptions import ValidationError
from hypothesis import given
from hypothesis import settings as hypothesis_settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from projects.models import Board, Commission
from projects.services import commissions, rack
from tests.factories import BoardFactory, CommissionFactory, StudioFactory

_DOING = st.tuples(
    st.sampled_from(["reserve", "release", "cut", "add", "decline"]),
    st.integers(0, 1),
    st.integers(0, 1),
    st.integers(-1, 5),
)


class AnyOrder(TestCase):
    """A model of the rack in plain numbers beside the real one."""

    @hypothesis_settings(max_examples=40)
    @given(st.lists(_DOING, min_size=1, max_size=14))
    def test_the_rack_adds_up_after_any_doings(self, doings: list[tuple[str, int, int, int]]) -> None:
        studio = StudioFactory()
        boards = [BoardFactory(wood=studio.woods.get(key="maple"), count=count) for count in (2, 4)]
        jobs = [CommissionFactory(studio=studio) for _ in range(2)]
        lying = {0: 2, 1: 4}
        kept: dict[tuple[int, int], int] = {}
        closed: set[int] = set()
        for doing, which, whose, count in doings:
            free = lying[which] - sum(number for (at, _), number in kept.items() if at == which)
            own = kept.get((which, whose), 0)
            board, job = boards[which], jobs[whose]
            match doing:
                case "reserve":
                    allowed = 1 <= count <= free and whose not in closed
                    done = _tried(rack.reserve, boards={board: count}, commission=job)
                    kept[which, whose] = own + (count if allowed else 0)
                case "release":
                    allowed = 1 <= count <= own
                    done = _tried(rack.release, boards={board: count}, commission=job)
                    kept[which, whose] = own - (count if allowed else 0)
                case "cut":
                    allowed = 1 <= count <= free + own
                    done = _tried(rack.cut_logged, board=board, count=count, commission=job)
                    lying[which] -= count if allowed else 0
                    kept[which, whose] = own - (min(own, count) if allowed else 0)
                case "add":
                    wanted = lying[which] + count
                    allowed = max(1, lying[which] - free) <= wanted
                    done = _tried(rack.board_update, board=board, count=wanted)
                    lying[which] = wanted if allowed else lying[which]
                case _:
                    allowed = True
                    job.refresh_from_db()
                    done = whose in closed or _tried(
                        commissions.commission_move, commission=job, to="declined"
                    )
                    closed.add(whose)
                    kept = {key: number for key, number in kept.items() if key[1] != whose}
            assert done == allowed, doing
            self._hold(boards, jobs, lying, kept)

    def _hold(self, boards: list[Board], jobs: list[Commission], lying: Any, kept: Any) -> None:
        for at, board in enumerate(boards):
            board.refresh_from_db()
            assert board.reserved == sum(board.reservations.values_list("count", flat=True))
            assert 0 <= board.reserved <= board.count
            assert board.count == lying[at]
            found = dict(board.reservations.values_list("commission_id", "count"))
            expected = {
                jobs[whose].pk: number for (which, whose), number in kept.items() if which == at and number
            }
            assert found == expected
            last = board.events.order_by("pk").last()
            assert last is None or last.left == board.count


def _tried(service: Any, **what: Any) -> bool:
    try:
        service(**what)
    except ValidationError:
        return False
    return True
