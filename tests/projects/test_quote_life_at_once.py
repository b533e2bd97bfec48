"""A quote that several lay hands on at the same moment: exactly one of them decides, and nothing is half done."""

import datetime
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.utils import timezone

from projects.models import Board, Commission, Member, Quote, QuoteEvent, Reservation
from projects.quote_state import Standing, accepted_quote, current_quote, standing
from projects.services import calendar_search, quote_accept, quote_life, quote_link, quotes
from tests.factories import (
    BoardFactory,
    CommissionFactory,
    MemberFactory,
    QuoteFactory,
    StudioFactory,
    WoodFactory,
)
from tests.projects.threads import at_once

pytestmark = pytest.mark.django_db(transaction=True)
TODAY = timezone.localdate()


@pytest.fixture(autouse=True)
def _light(monkeypatch: Any) -> None:
    # Who is first is what is looked at here; estimating, printing and planning have tests of their own.
    monkeypatch.setattr(quotes, "_frozen", lambda commission: {"title": commission.title})
    monkeypatch.setattr(quotes, "_print", lambda quote: None)
    monkeypatch.setattr(quote_accept, "_text", lambda quote, option: f"all of {quote.reference}")
    monkeypatch.setattr(quote_accept, "is_as_frozen", lambda commission, sheet: True)
    monkeypatch.setattr(calendar_search, "search_start", lambda plan, *, anew: None)


@pytest.fixture
def job() -> Commission:
    return CommissionFactory(studio=StudioFactory(email="studio@example.com"), stage="quoted")


@pytest.fixture
def board(job: Commission) -> Board:
    return BoardFactory(wood=WoodFactory(studio=job.studio), count=3)


@pytest.fixture
def quote(job: Commission, board: Board) -> Quote:
    """Out, with an estimate that planned two boards."""
    boards = [{"ref": str(board.pk), "buy": False}] * 2
    return QuoteFactory(
        commission=job,
        state="issued",
        number="2027-001",
        revision="A",
        issued_at=timezone.now(),
        valid_until=TODAY + datetime.timedelta(days=30),
        title=job.title,
        estimate={"cutting": {"boards": boards}},
    )


@pytest.fixture
def member(job: Commission) -> Member:
    return MemberFactory(studio=job.studio)


def _one_won(came: list[Any]) -> Any:
    """What the one that was not refused brought."""
    refused = [one for one in came if isinstance(one, ValidationError)]
    won = [one for one in came if not isinstance(one, Exception)]
    assert len(won) == 1, came
    assert len(refused) == len(came) - 1, came
    return won[0]


def test_of_eight_who_accept_at_once_one_does(quote: Quote, job: Commission, board: Board) -> None:
    def accept(number: int) -> Any:
        return lambda: quote_accept.quote_accept(quote=quote, name=f"Client {number}")

    event = _one_won(at_once(*map(accept, range(8))))
    assert QuoteEvent.objects.get(what="accepted") == event
    job.refresh_from_db()
    board.refresh_from_db()
    assert job.stage == "agreed"
    assert board.reserved == Reservation.objects.get(commission=job).count == 2


@pytest.mark.parametrize("turn", range(3))
def test_accepted_while_it_is_declined_and_withdrawn(
    quote: Quote, job: Commission, member: Member, turn: int
) -> None:
    doings = [
        lambda: quote_accept.quote_accept(quote=quote, name="P. Lorn"),
        lambda: quote_life.quote_decline(quote=quote, words="Too large."),
        lambda: quote_life.quote_withdraw(quote=quote, words="No wood.", member=member),
    ]
    came = at_once(*doings[turn:], *doings[:turn])
    done = [one.what for one in sorted((c for c in came if isinstance(c, QuoteEvent)), key=lambda e: e.pk)]
    # An acceptance may still be withdrawn; nothing else follows a decision.
    assert done in (["accepted", "withdrawn"], ["declined"], ["withdrawn"])
    assert standing(quote, today=TODAY) == done[-1]
    assert Commission.objects.get().stage == ("designing" if done == ["accepted", "withdrawn"] else "quoted")
    assert not Reservation.objects.exists()


@pytest.mark.parametrize("turn", range(3))
def test_accepted_while_a_revision_is_issued(quote: Quote, job: Commission, turn: int) -> None:
    draft = QuoteFactory(commission=job)
    doings = [
        lambda: quote_accept.quote_accept(quote=quote, name="P. Lorn"),
        lambda: quotes.quote_issue(quote=draft),
    ]
    won = _one_won(at_once(*doings[turn % 2 :], *doings[: turn % 2]))
    newest = current_quote(job)
    if isinstance(won, QuoteEvent):
        assert newest == quote
        assert accepted_quote(job) == (quote, won)
    else:
        assert newest == won
        assert standing(quote, today=TODAY) == Standing.REPLACED
        assert accepted_quote(job) is None
        assert not Reservation.objects.exists()


def test_two_commissions_accepted_at_once_share_the_rack_fairly(
    quote: Quote, job: Commission, board: Board
) -> None:
    """Three boards lie there and each planned two: nothing is reserved twice, and the one who is short is told."""
    rival = QuoteFactory(
        commission=CommissionFactory(studio=job.studio, stage="quoted"),
        **{
            name: getattr(quote, name)
            for name in ("state", "revision", "issued_at", "valid_until", "estimate")
        },
        number="2027-002",
    )
    came = at_once(
        lambda: quote_accept.quote_accept(quote=quote, name="One"),
        lambda: quote_accept.quote_accept(quote=rival, name="Other"),
    )
    board.refresh_from_db()
    assert [type(one) for one in came] == [QuoteEvent, QuoteEvent]
    assert board.reserved == 3
    assert sorted(Reservation.objects.values_list("count", flat=True)) == [1, 2]
    assert sorted(bool(one.words) for one in came) == [False, True]


def test_opened_by_many_at_once_it_is_seen_once(quote: Quote, job: Commission) -> None:
    link = quote_link.link_make(commission=job)
    came = at_once(*[lambda: quote_life.quote_seen(quote=quote, link=link)] * 6)
    assert came == [None] * 6
    assert QuoteEvent.objects.filter(what="seen").count() == 1


def test_of_addresses_made_at_once_one_opens(job: Commission) -> None:
    came = at_once(*[lambda: quote_link.link_make(commission=job)] * 4)
    opening = [one for one in came if quote_link.link_opened(quote_link.link_token(one))]
    assert opening == [quote_link.link_of(job)]
