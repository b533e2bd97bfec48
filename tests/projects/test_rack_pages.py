"""The rack's pages: they work, wrong input keeps what was typed and changes nothing, outsiders find nothing there."""

from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test import Client as Browser
from django.test.utils import CaptureQueriesContext

from projects.models import Board, BoardEvent, Commission, Reservation, Studio
from projects.services import rack
from tests.factories import BoardFactory, CommissionFactory, StudioFactory

pytestmark = pytest.mark.django_db
MARKUP = "<script>alert('x')</script>"


@pytest.fixture
def board(studio: Studio) -> Board:
    """Four boards of maple."""
    wood = studio.woods.get(key="maple")
    size = {"length": Decimal(1800), "width": Decimal(150), "thickness": Decimal(25)}
    return rack.board_create(studio=studio, wood=wood, **size, count=4, price=Decimal(54), place="B1")


@pytest.fixture
def job(studio: Studio) -> Commission:
    """A commission."""
    return CommissionFactory(studio=studio, title="Harbour bowl")


def _page(browser: Browser, address: str, **sent: Any) -> str:
    answer = browser.post(address, sent, follow=True) if sent else browser.get(address)
    assert answer.status_code == 200
    return str(answer.content.decode())


# ---- the list


def test_the_list_says_what_is_free_for_whom_the_rest_is_and_what_is_not_used(
    as_alice: Browser, board: Board, job: Commission
) -> None:
    assert "4 of 4" in _page(as_alice, "/rack/")
    rack.reserve(boards={board: 3}, commission=job)
    rack.board_update(board=board, defects=[[300, 380], [900, 960, 0, 40]], nominal="4/4")
    page = _page(as_alice, "/rack/")
    assert "4 boards, of which 3 are reserved." in page
    assert "1 of 4" in page
    assert f'3 for <a href="/jobs/{job.pk}/">Harbour bowl</a>' in page
    assert "not used, mm: 300 to 380, 900 to 960 (0 to 40 from the near edge)" in page
    assert "4/4" in page


def test_boards_are_drawn_to_one_scale_with_what_is_not_used(as_alice: Browser, board: Board) -> None:
    """1200 beside 1800 mm is two thirds as long; near edge on top, as in the saw's diagrams."""
    BoardFactory(wood=board.wood, length=1200, defects=[[100, 200, 0, 30]])
    page = _page(as_alice, "/rack/")
    assert "width:100.00%" in page
    assert "width:66.67%" in page
    assert 'x="100.000000" y="0.000000" width="100.000000" height="30.000000"' in page


def test_boards_that_are_used_up_are_not_on_the_list(as_alice: Browser, board: Board) -> None:
    _page(as_alice, f"/rack/{board.pk}/take-away/", sure="yes")
    assert "The rack is empty" in _page(as_alice, "/rack/")
    page = _page(as_alice, f"/rack/{board.pk}/")
    assert "none left; kept for its history" in page
    assert "taken off the rack" in page
    assert "Log a cut" not in page
    assert f'href="/rack/{board.pk}/"' in _page(as_alice, "/rack/used-up/")


def test_boards_that_are_used_up_stand_latest_first_and_are_asked_for_at_once(
    as_alice: Browser, as_charlie: Browser, board: Board
) -> None:
    def queries() -> int:
        with CaptureQueriesContext(connection) as asked:
            assert as_alice.get("/rack/used-up/").status_code == 200
        return len(asked)

    assert "None yet" in _page(as_alice, "/rack/used-up/")
    first, second, *more = (BoardFactory(wood=board.wood, count=1) for _ in range(6))
    rack.cut_logged(board=second)
    for_one = queries()
    for other in (*more, first):
        rack.cut_logged(board=other)
    assert queries() == for_one
    shown = [row.pk for row in as_alice.get("/rack/used-up/").context["rows"]]
    assert (shown[0], shown[-1], len(shown)) == (first.pk, second.pk, 6)
    assert "None yet" in _page(as_charlie, "/rack/used-up/")


def test_a_board_asks_the_database_no_more_for_a_long_history_than_for_a_short_one(
    as_alice: Browser, studio: Studio, board: Board, job: Commission
) -> None:
    def queries() -> int:
        with CaptureQueriesContext(connection) as asked:
            for address in ("/rack/", f"/rack/{board.pk}/"):
                assert as_alice.get(address).status_code == 200
        return len(asked)

    def once(commission: Commission) -> None:
        rack.reserve(boards={board: 1}, commission=commission)
        rack.release(commission=commission, boards={board: 1})
        rack.reserve(boards={board: 1}, commission=commission)

    rack.board_update(board=board, count=20)
    once(job)
    offcut = rack.Offcut(length=Decimal(300), width=Decimal(100))
    rack.cut_logged(board=board, commission=job, offcuts=[offcut])
    once(job)
    for_few = queries()
    once(CommissionFactory(studio=studio))
    rack.cut_logged(board=board, offcuts=[offcut, offcut])
    assert queries() == for_few


# ---- adding and changing


def _typed(board: Board, **changed: str) -> dict[str, Any]:
    usual = {"wood": board.wood_id, "count": "1", "length": "900", "width": "120", "thickness": "25"}
    return usual | {"price": "30", "bought_by": "piece", "surface": "surfaced", "nominal": ""} | changed


def test_a_board_is_added_with_all_that_can_be_said_of_it(as_bob: Browser, board: Board) -> None:
    typed = _typed(
        board,
        thickness="",
        nominal="8/4",
        surface="rough",
        price="$7.25",
        bought_by="board_foot",
        length="8 ft",
        width="6 in",
        defects="300 to 380\n 2 in – 3 in, 0 to 1 in",
    )
    assert "Added: 1 of hard maple, 2438.4 × 152.4 × 50.8 mm." in _page(as_bob, "/rack/new/", **typed)
    made = Board.objects.latest("pk")
    assert (made.price, made.price_per_unit, made.surface) == (58, Decimal("7.25"), "rough")
    assert made.defects == [[50.8, 76.2, 0, 25.4], [300, 380]]
    assert made.events.get().member.user.username == "bob"
    assert "$58.00 a board, at $7.25 a board foot" in _page(as_bob, f"/rack/{made.pk}/")


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"defects": "380"}, "is no defect. Write 300 to 380"),
        ({"defects": "a to b"}, "is not a length"),
        ({"defects": "300 to 901"}, "Defect 1 ends at 901 mm, but the board is 900 mm long."),
        ({"defects": "400 to 300"}, "must end after it begins"),
        ({"thickness": ""}, "Measure it, or say what it was sold as."),
        ({"count": "0"}, "Must be at least 1."),
        ({"bought_by": "cord"}, "Select a valid choice"),
        ({"nominal": "7/4"}, "Select a valid choice"),
        ({"nominal": "4/4", "thickness": "60"}, "about 25.4 mm thick as sawn, and this one is 60 mm"),
        ({"price": "-1"}, "Must be at least 0."),
        ({"price": "x", "bought_by": "board_foot"}, "Enter a number."),
    ],
)
def test_wrong_input_changes_nothing_and_keeps_what_was_typed(
    as_alice: Browser, board: Board, wrong: dict[str, str], words: str
) -> None:
    for address in ("/rack/new/", f"/rack/{board.pk}/change/"):
        answer = as_alice.post(address, _typed(board, place="by the door", **wrong))
        page = answer.content.decode()
        assert answer.status_code == 400
        assert words in page
        assert 'value="by the door"' in page
        for name, value in wrong.items():
            assert answer.context["form"][name].value() == value
    assert Board.objects.get().place == "B1"
    assert BoardEvent.objects.count() == 1


def test_saving_a_board_unchanged_changes_nothing(as_alice: Browser, studio: Studio) -> None:
    Studio.objects.update(length_unit="in")
    made = rack.board_create(
        studio=studio,
        wood=studio.woods.get(key="maple"),
        length=Decimal("1234.567"),
        width=Decimal("88.9"),
        nominal="8/4",
        bought_by="running_metre",
        price_per_unit=Decimal("3.3333"),
        defects=[[10, 20.001], [30, 40, 0, 88.9]],
    )
    before = Board.objects.values().get(pk=made.pk)
    form = as_alice.get(f"/rack/{made.pk}/change/").context["form"]
    shown = {field.name: field.value() for field in form if field.value() is not None}
    assert as_alice.post(f"/rack/{made.pk}/change/", shown).status_code == 302
    assert Board.objects.values().get(pk=made.pk) == before
    assert BoardEvent.objects.count() == 1


def test_an_emptied_thickness_is_that_of_what_the_board_was_sold_as(as_alice: Browser, board: Board) -> None:
    sent = _typed(board, thickness="", nominal="5/4")
    assert as_alice.post(f"/rack/{board.pk}/change/", sent).status_code == 302
    board.refresh_from_db()
    assert board.thickness == Decimal("26.988")  # 17 × 25.4 / 16


def test_a_board_cut_while_its_form_stood_open_is_not_put_back(as_alice: Browser, board: Board) -> None:
    form = as_alice.get(f"/rack/{board.pk}/change/").context["form"]
    shown = {field.name: field.value() for field in form if field.value() is not None}
    rack.cut_logged(board=board)
    assert as_alice.post(f"/rack/{board.pk}/change/", shown | {"note": "dusty"}).status_code == 302
    board.refresh_from_db()
    assert (board.count, board.note) == (3, "dusty")
    answer = as_alice.post(f"/rack/{board.pk}/change/", shown | {"count": "7"})
    assert answer.status_code == 400
    assert "their number went from 4 to 3" in answer.content.decode()


# ---- reserving and releasing


def test_boards_are_reserved_and_released_from_their_page(
    as_bob: Browser, board: Board, job: Commission
) -> None:
    address = f"/rack/{board.pk}/reserve/"
    page = _page(as_bob, address, commission=job.pk, count="3")
    assert "Reserved: 3 for Harbour bowl." in page
    assert "4 on the rack, 1 free" in page
    page = _page(as_bob, f"/rack/{board.pk}/release/", commission=job.pk)
    assert "Free again: 3." in page
    assert "all free" in page
    assert "Nothing is reserved for Harbour bowl any more." in _page(
        as_bob, f"/rack/{board.pk}/release/", commission=job.pk
    )
    assert (
        list(board.events.exclude(what="put").values_list("member__user__username", flat=True)) == ["bob"] * 2
    )


@pytest.mark.parametrize(
    ("sent", "words"),
    [
        ({"count": "5"}, "hard maple, 1800 × 150 × 25 mm (B1): 4 free, 5 asked for."),
        ({"count": "0"}, "greater than or equal to 1"),
        ({"count": "two"}, "Enter a whole number."),
        ({"commission": "999999"}, "Select a valid choice"),
        ({"commission": ""}, "This field is required."),
    ],
)
def test_what_cannot_be_reserved_is_refused_in_words_and_stays_typed(
    as_alice: Browser, board: Board, job: Commission, sent: dict[str, str], words: str
) -> None:
    answer = as_alice.post(f"/rack/{board.pk}/reserve/", {"commission": job.pk, "count": "1"} | sent)
    assert answer.status_code == 400
    assert words in answer.content.decode()
    for name, value in sent.items():
        assert answer.context["reserve_form"][name].value() == value
    assert not Reservation.objects.exists()


def test_a_refusal_is_said_in_inches_where_the_shop_works_in_inches(
    as_alice: Browser, board: Board, job: Commission
) -> None:
    Studio.objects.update(length_unit="in")
    rack.board_update(
        board=board, length=Decimal("1828.8"), width=Decimal("152.4"), thickness=Decimal("25.4")
    )
    answer = as_alice.post(f"/rack/{board.pk}/reserve/", {"commission": job.pk, "count": "5"})
    assert "hard maple, 72 × 6 × 1 in (B1): 4 free, 5 asked for." in answer.content.decode()


def test_the_last_board_cannot_be_taken_off_under_a_reservation(
    as_alice: Browser, board: Board, job: Commission
) -> None:
    rack.reserve(boards={board: 1}, commission=job)
    page = _page(as_alice, f"/rack/{board.pk}/take-away/", sure="yes")
    assert "Reserved: 1 for Harbour bowl. Release them first." in page
    assert Board.objects.get().count == 4


# ---- logging a cut


def test_a_cut_is_logged_with_its_offcuts(as_bob: Browser, board: Board, job: Commission) -> None:
    rack.reserve(boards={board: 1}, commission=job)
    address = f"/rack/{board.pk}/cut/"
    assert as_bob.get(address).context["form"]["commission"].value() == job.pk
    sent = {"count": "1", "commission": job.pk, "rows": "3", "note": "foot"}
    sent |= {"offcuts-0-length": "600", "offcuts-0-width": "150", "offcuts-2-length": "2 ft"}
    sent |= {"offcuts-2-width": "3 in", "offcuts-2-thickness": "20", "offcuts-2-count": "2"}
    page = _page(as_bob, address, **sent)
    assert "Logged: 1 cut, 3 offcuts back on the rack." in page
    assert "3 on the rack, all free" in page
    whole, thin = board.offcuts.order_by("pk")
    assert (whole.price, whole.thickness, whole.count) == (18, 25, 1)
    assert (thin.length, thin.width, thin.thickness, thin.count) == (Decimal("609.6"), Decimal("76.2"), 20, 2)
    page = _page(as_bob, f"/rack/{whole.pk}/")
    assert f"Of board {board.pk}." in page
    assert f'href="/rack/{board.pk}/"' in page


def test_a_cut_sent_twice_is_logged_once(as_bob: Browser, board: Board) -> None:
    address = f"/rack/{board.pk}/cut/"
    seen = as_bob.get(address).context["seen"]
    sent = {"count": "1", "rows": "3", "offcuts-0-length": "600", "offcuts-0-width": "150", "seen": seen}
    assert "Logged: 1 cut, 1 offcut back on the rack." in _page(as_bob, address, **sent)
    page = _page(as_bob, address, **sent)
    assert "This cut is logged already. To log another like it, begin anew." in page
    assert "3 on the rack" in page
    assert board.offcuts.count() == 1
    # Opened anew it is another cut, and one that was refused keeps what it had seen.
    fresh = as_bob.get(address).context["seen"]
    refused = as_bob.post(address, sent | {"count": "9", "seen": fresh})
    assert (refused.status_code, refused.context["seen"]) == (400, fresh)
    assert "Logged: 1 cut" in _page(as_bob, address, **sent | {"seen": fresh})
    board.refresh_from_db()
    assert (board.count, board.offcuts.count()) == (2, 2)
    assert "Logged: 1 cut" in _page(as_bob, address, **sent | {"seen": "x"})


@pytest.mark.parametrize(
    ("sent", "place", "words"),
    [
        ({"offcuts-1-length": "2000", "offcuts-1-width": "10"}, "offcuts-1-length", "at most 1800 mm"),
        ({"offcuts-1-width": "10"}, "offcuts-1-width", "Say its length, or empty the row."),
        ({"offcuts-1-length": "x", "offcuts-1-width": "10"}, "offcuts-1-length", "is not a length"),
        ({"count": "5"}, "count", "4 to be had, 5 to be cut"),
        ({"count": ""}, "count", "This field is required."),
    ],
)
def test_a_cut_that_cannot_be_is_refused_at_its_field_and_stays_typed(
    as_alice: Browser, board: Board, sent: dict[str, str], place: str, words: str
) -> None:
    answer = as_alice.post(f"/rack/{board.pk}/cut/", {"count": "1", "rows": "3"} | sent)
    page = answer.content.decode()
    assert answer.status_code == 400
    assert words in page
    assert f'id="id_{place}" aria-invalid="true"' in page or f'id="id_{place}"' in page
    for value in filter(None, sent.values()):
        assert f'value="{value}"' in page
    board.refresh_from_db()
    assert board.count == 4
    assert Board.objects.count() == 1


def test_more_rows_keep_what_was_typed_and_log_nothing(as_alice: Browser, board: Board) -> None:
    sent = {"count": "2", "rows": "3", "offcuts-1-length": "a yard", "more": "yes"}
    answer = as_alice.post(f"/rack/{board.pk}/cut/", sent)
    page = answer.content.decode()
    assert answer.status_code == 200
    assert 'value="a yard"' in page
    assert 'name="offcuts-5-length"' in page
    assert 'name="offcuts-6-length"' not in page
    assert Board.objects.get().count == 4
    assert as_alice.post(f"/rack/{board.pk}/cut/", sent | {"rows": "9" * 9}).status_code == 200


# ---- who sees what


def test_an_outsider_finds_and_changes_nothing(
    as_charlie: Browser, other_studio: Studio, board: Board, job: Commission
) -> None:
    rack.reserve(boards={board: 1}, commission=job)
    for page in ("", "change/", "cut/"):
        assert as_charlie.get(f"/rack/{board.pk}/{page}").status_code == 404
    for page in ("change/", "cut/", "reserve/", "release/", "take-away/"):
        sent = {"commission": job.pk, "count": "1", "place": "mine"}
        assert as_charlie.post(f"/rack/{board.pk}/{page}", sent).status_code == 404
    assert b"maple" not in as_charlie.get("/rack/boards.csv").content
    board.refresh_from_db()
    assert (board.count, board.reserved, board.place) == (4, 1, "B1")


def test_boards_are_not_reserved_for_nor_cut_for_another_studios_commission(
    as_alice: Browser, board: Board
) -> None:
    theirs = CommissionFactory(studio=StudioFactory(), title="Their vase")
    for page in ("reserve/", "cut/"):
        answer = as_alice.post(f"/rack/{board.pk}/{page}", {"commission": theirs.pk, "count": "1"})
        assert answer.status_code == 400
        assert "Their vase" not in answer.content.decode()
    assert as_alice.post(f"/rack/{board.pk}/release/", {"commission": theirs.pk}).status_code == 404
    assert as_alice.post(f"/rack/{board.pk}/release/", {"commission": "x"}).status_code == 404


def test_markup_is_shown_as_the_text_it_is(as_alice: Browser, studio: Studio, board: Board) -> None:
    job = CommissionFactory(studio=studio, title=f"Job {MARKUP}")
    rack.board_update(board=board, place=MARKUP, note=MARKUP)
    rack.reserve(boards={board: 1}, commission=job)
    rack.cut_logged(board=board, commission=job, note=MARKUP)
    for page in ("/rack/", f"/rack/{board.pk}/", f"/rack/{board.pk}/change/", f"/rack/{board.pk}/cut/"):
        assert "<script>alert" not in _page(as_alice, page)
    assert "&lt;script&gt;alert" in _page(as_alice, f"/rack/{board.pk}/")
