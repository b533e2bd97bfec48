"""A hundred at once: numbers of quotes and of papers without a gap or a double, whoever asks at the same moment."""

from collections.abc import Callable, Iterator
from typing import Any

import pytest
from django.core.exceptions import ValidationError

from projects.models import IssuedPaper, PaperSeries, Quote, Studio
from projects.models.issued import PaperKind
from projects.services import papers, quotes
from tests.factories import CommissionFactory, QuoteFactory, StudioFactory
from tests.projects.agreed_orders import DAY, accept, accepted_order
from tests.projects.frozen import usual
from tests.projects.threads import at_once

AT_ONCE, MANY = 8, 100

pytestmark = [
    pytest.mark.django_db(transaction=True),
    pytest.mark.usefixtures("cheap_paper", "line_paper"),
]


def shared_out(doings: list[Callable[[], Any]]) -> list[Any]:
    """What came of each doing, done by eight threads that each take the next one that is left."""
    left: Iterator[tuple[int, Callable[[], Any]]] = iter(list(enumerate(doings)))
    came: list[Any] = [None] * len(doings)

    def work() -> None:
        # An iterator over a list hands each item out once, whichever thread asks.
        for place, doing in left:
            try:
                came[place] = doing()
            except Exception as error:
                came[place] = error

    assert at_once(*[work] * AT_ONCE) == [None] * AT_ONCE
    return came


def up_to(count: int, letter: str = "") -> list[str]:
    return [f"{letter}2027-{number:03}" for number in range(1, count + 1)]


def test_a_hundred_quotes_issued_by_eight_threads_have_a_hundred_numbers(monkeypatch: Any) -> None:
    """The service is the real one, locks and all; what is estimated and printed has tests of its own."""
    monkeypatch.setattr(quotes, "_frozen", lambda commission: {"title": commission.title})
    studio = StudioFactory()
    # Quoted already, so that no time goes into moving a commission on, which has tests of its own.
    rows = [CommissionFactory(studio=studio, stage="quoted") for _ in range(MANY)]
    drafts = [QuoteFactory(commission=row) for row in rows]
    came = shared_out([lambda draft=draft: quotes.quote_issue(quote=draft, today=DAY) for draft in drafts])  # type: ignore[misc]
    assert [one for one in came if isinstance(one, Exception)] == []
    assert sorted(Quote.objects.values_list("number", flat=True)) == up_to(MANY)
    studio.refresh_from_db()
    assert (studio.quote_year, studio.quote_count) == (2027, MANY)


def orders(studio: Studio, count: int) -> list[Any]:
    """So many commissions, each agreed by the same figures."""
    first = accepted_order(studio)
    kept = {name: getattr(usual(), name) for name in ("sheet", "estimate", "species", "finish", "title")}
    made = [first]
    for number in range(2, count + 1):
        commission = CommissionFactory(studio=studio, client=first.client, stage="agreed")
        quote = Quote(
            studio=studio,
            commission=commission,
            state="issued",
            number=f"2027-{number:03}",
            revision="A",
            issued_at=usual().issued_at,
            valid_until=usual().valid_until,
            **kept,
        )
        quote.save()
        accept(quote)
        made.append(commission)
    return made


def test_a_hundred_papers_by_eight_threads_have_a_hundred_numbers_a_kind_by_itself() -> None:
    studio = StudioFactory()
    commissions = orders(studio, MANY // 2)
    wanted = [(commission, kind) for commission in commissions for kind in ("deposit", "delivery")]

    def doing(commission: Any, kind: str) -> Callable[[], Any]:
        return lambda: papers.paper_issue(commission=commission, kind=kind, today=DAY)

    came = shared_out([doing(*one) for one in wanted])
    assert [one for one in came if isinstance(one, Exception)] == []
    for kind, letter in (("deposit", "D-"), ("delivery", "N-")):
        rows = IssuedPaper.objects.filter(kind=kind)
        assert sorted(rows.values_list("number", flat=True)) == up_to(MANY // 2, letter)
        assert PaperSeries.objects.get(studio=studio, kind=kind).count == MANY // 2


def test_a_payment_that_eight_ask_for_at_once_is_asked_for_once_and_uses_one_number() -> None:
    commission = accepted_order(StudioFactory())
    came = shared_out(
        [lambda: papers.paper_issue(commission=commission, kind="deposit", today=DAY)] * AT_ONCE
    )
    refused = [one for one in came if isinstance(one, ValidationError)]
    assert len(refused) == AT_ONCE - 1
    assert [paper.number for paper in IssuedPaper.objects.all()] == ["D-2027-001"]
    assert PaperSeries.objects.get().count == 1


def test_a_paper_and_a_quote_of_one_commission_at_once_hold_nobody_up() -> None:
    commission = accepted_order(StudioFactory(quote_year=2027, quote_count=1))
    others = [QuoteFactory(commission=CommissionFactory(studio=commission.studio)) for _ in range(4)]
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(quotes, "_frozen", lambda row: {"title": row.title})
        came = shared_out(
            [
                *[lambda draft=draft: quotes.quote_issue(quote=draft, today=DAY) for draft in others],  # type: ignore[misc]
                *[lambda: papers.paper_issue(commission=commission, kind="delivery", today=DAY)] * 4,
            ]
        )
    assert [one for one in came if isinstance(one, Exception)] == []


def test_a_paper_that_cannot_be_printed_uses_no_number_up(monkeypatch: Any) -> None:
    commission = accepted_order(StudioFactory())

    def out_of_paper(paper: IssuedPaper) -> None:
        raise OSError("no font")

    with monkeypatch.context() as patch:
        patch.setattr(papers, "_print", out_of_paper)
        with pytest.raises(OSError, match="no font"):
            papers.paper_issue(commission=commission, kind="deposit", today=DAY)
    assert not PaperSeries.objects.exists()
    assert papers.paper_issue(commission=commission, kind="deposit", today=DAY).number == "D-2027-001"


def test_every_kind_of_paper_has_a_letter_of_its_own() -> None:
    assert set(papers.LETTERS) == set(PaperKind)
    assert len(set(papers.LETTERS.values())) == len(PaperKind)
