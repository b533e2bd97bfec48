"""Boards over the API: what can be said of them, what follows, and what is refused at its field."""

from typing import Any

import pytest
from django.test import Client as Browser

from projects.models import Board, Studio
from projects.services import rack
from tests.factories import CommissionFactory

pytestmark = pytest.mark.django_db
BOARD = {"wood": "maple", "length": 2438.4, "width": 152.4}


def _send(browser: Browser, how: str, path: str, body: Any) -> Any:
    return getattr(browser, how)(f"/api/v1/boards/{path}", body, content_type="application/json")


def test_a_board_is_made_with_all_that_can_be_said_of_it(as_bob: Browser, studio: Studio) -> None:
    sent = BOARD | {"nominal": "8/4", "surface": "rough", "bought_by": "board_foot", "price_per_unit": "7.25"}
    answer = _send(as_bob, "post", "", sent | {"defects": [[300, 380], [40.5, 60, 0, 25]], "reserved": 5})
    assert answer.status_code == 201, answer.content
    made = answer.json()
    # 8 ft × 6 in × 2 in is 8 board feet.
    assert (made["price"], made["thickness"], made["reserved"]) == ("58.0000", "50.800", 0)
    assert made["defects"] == [[40.5, 60.0, 0.0, 25.0], [300.0, 380.0]]
    assert made["from_board"] is None
    board = Board.objects.get()
    assert board.events.get().member.user.username == "bob"
    assert as_bob.get(f"/api/v1/boards/{board.pk}/").json() == made


def test_what_was_read_can_be_sent_back(as_bob: Browser, studio: Studio) -> None:
    sent = BOARD | {"nominal": "8/4", "bought_by": "running_foot", "price_per_unit": "3.33"}
    made = _send(as_bob, "post", "", sent).json()
    answer = _send(as_bob, "put", f"{made['id']}/", made)
    assert answer.status_code == 200, answer.content
    assert answer.json() == made
    longer = _send(as_bob, "patch", f"{made['id']}/", {"length": "3048"})
    assert longer.json()["price"] == "33.3000"  # ten feet


@pytest.mark.parametrize(
    ("sent", "place"),
    [
        ({"thickness": 25, "defects": [[300, 250]]}, "defects"),
        ({"thickness": 25, "defects": [[300, 2439]]}, "defects"),
        ({"thickness": 25, "defects": [[True, 5]]}, "defects"),
        ({"thickness": 25, "defects": {"a": 1}}, "defects"),
        ({"thickness": 25, "defects": None}, "defects"),
        ({"thickness": 25, "defects": [["1", "2"]]}, "defects"),
        ({"thickness": 25, "surface": "sanded"}, "surface"),
        ({"thickness": 25, "nominal": "7/4"}, "nominal"),
        ({"thickness": 25, "bought_by": "cord"}, "bought_by"),
        ({"thickness": 25, "bought_by": "board_foot"}, "price_per_unit"),
        ({"thickness": 25, "price_per_unit": 3}, "price_per_unit"),
        ({"thickness": 25, "bought_by": "board_foot", "price_per_unit": 3, "price": 1}, "price"),
        ({"thickness": 25, "count": 0}, "count"),
        ({}, "thickness"),
    ],
)
def test_what_cannot_be_is_refused_at_its_field(
    as_alice: Browser, studio: Studio, sent: dict[str, Any], place: str
) -> None:
    answer = _send(as_alice, "post", "", BOARD | sent)
    assert answer.status_code == 400
    assert {error.split(":")[0] for error in answer.json()["errors"]} == {place}
    assert not Board.objects.exists()


def test_reserved_boards_are_neither_taken_off_nor_counted_down(as_alice: Browser, studio: Studio) -> None:
    made = _send(as_alice, "post", "", BOARD | {"thickness": 25, "count": 3}).json()
    job = CommissionFactory(studio=studio, title="Harbour bowl")
    rack.reserve(boards={Board.objects.get(): 2}, commission=job)
    path = f"{made['id']}/"
    assert as_alice.get(f"/api/v1/boards/{path}").json()["reserved"] == 2
    for answer in (_send(as_alice, "patch", path, {"count": 1}), as_alice.delete(f"/api/v1/boards/{path}")):
        assert answer.status_code == 400
        assert "2 for Harbour bowl" in answer.json()["errors"][0]
    assert Board.objects.get().count == 3
