"""Quote numbers: no gap and no number twice, whoever issues at the same moment and whatever fails."""

import datetime
import threading
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.db import connection

from projects.models import Commission, Quote, Studio
from projects.services import quotes
from tests.factories import CommissionFactory, QuoteFactory, StudioFactory

TODAY = datetime.date(2027, 3, 1)


@pytest.fixture(autouse=True)
def _light(monkeypatch: Any) -> None:
    # Numbers are what is looked at here; estimating and printing have tests of their own.
    monkeypatch.setattr(quotes, "_frozen", lambda commission: {"title": commission.title})
    monkeypatch.setattr(quotes, "_print", lambda quote: None)


def _issue(quote: Quote, today: datetime.date = TODAY) -> Quote:
    return quotes.quote_issue(quote=quote, today=today)


@pytest.mark.django_db
def test_numbers_count_up_within_a_year_and_start_anew_with_the_next(studio: Studio) -> None:
    drafts = [QuoteFactory(commission=CommissionFactory(studio=studio)) for _ in range(4)]
    days = [TODAY, TODAY, datetime.date(2028, 1, 2), TODAY]
    issued = [_issue(draft, day) for draft, day in zip(drafts, days, strict=True)]
    # The last is issued under a date that has gone by: it does not go back to numbers given out.
    assert [quote.number for quote in issued] == ["2027-001", "2027-002", "2028-001", "2028-002"]
    assert {quote.revision for quote in issued} == {"A"}


@pytest.mark.django_db
def test_each_studio_counts_for_itself(studio: Studio, other_studio: Studio) -> None:
    first = _issue(QuoteFactory(commission=CommissionFactory(studio=studio)))
    second = _issue(QuoteFactory(commission=CommissionFactory(studio=other_studio)))
    assert first.number == second.number == "2027-001"


@pytest.mark.django_db
def test_a_revision_keeps_the_number_and_takes_the_next_letter(studio: Studio) -> None:
    commission = CommissionFactory(studio=studio)
    references = [_issue(quotes.quote_draft(commission=commission)).reference for _ in range(3)]
    assert references == ["2027-001", "2027-001 B", "2027-001 C"]
    other = _issue(QuoteFactory(commission=CommissionFactory(studio=studio)))
    assert other.reference == "2027-002"


@pytest.mark.django_db
def test_after_the_last_letter_a_revision_is_refused(studio: Studio) -> None:
    commission = CommissionFactory(studio=studio)
    for _ in range(26):
        last = _issue(quotes.quote_draft(commission=commission))
    assert last.reference == "2027-001 Z"
    with pytest.raises(ValidationError, match="Take the commission on anew"):
        _issue(quotes.quote_draft(commission=commission))


@pytest.mark.django_db
def test_a_quote_that_cannot_be_printed_uses_no_number_up(studio: Studio, monkeypatch: Any) -> None:
    draft = QuoteFactory(commission=CommissionFactory(studio=studio))

    def out_of_paper(quote: Quote) -> None:
        raise OSError("no font")

    with monkeypatch.context() as patch:
        patch.setattr(quotes, "_print", out_of_paper)
        with pytest.raises(OSError, match="no font"):
            _issue(draft)
    draft.refresh_from_db()
    assert (draft.state, draft.number) == ("draft", "")
    assert Commission.objects.get().stage == "enquiry"
    assert _issue(draft).number == "2027-001"


@pytest.mark.django_db
def test_a_quote_is_issued_once(studio: Studio) -> None:
    draft = QuoteFactory(commission=CommissionFactory(studio=studio))
    opened_twice = Quote.objects.get(pk=draft.pk)
    issued = _issue(draft)
    with pytest.raises(ValidationError, match="cannot be changed"):
        _issue(opened_twice)
    assert Quote.objects.get().reference == issued.reference
    studio.refresh_from_db()
    assert studio.quote_count == 1


@pytest.mark.django_db
def test_a_quote_is_good_for_the_studios_days_unless_the_draft_says_otherwise(studio: Studio) -> None:
    usual = _issue(QuoteFactory(commission=CommissionFactory(studio=studio)))
    assert usual.valid_until == TODAY + datetime.timedelta(days=30)
    day = TODAY + datetime.timedelta(days=7)
    assert (
        _issue(QuoteFactory(commission=CommissionFactory(studio=studio), valid_until=day)).valid_until == day
    )
    late = QuoteFactory(
        commission=CommissionFactory(studio=studio), valid_until=TODAY - datetime.timedelta(1)
    )
    with pytest.raises(ValidationError) as refusal:
        _issue(late)
    assert list(refusal.value.message_dict) == ["valid_until"]


@pytest.mark.django_db
def test_an_issued_quote_cannot_be_changed_deleted_or_taken_back(studio: Studio) -> None:
    quote = _issue(QuoteFactory(commission=CommissionFactory(studio=studio)))
    before = Quote.objects.values().get()
    attempts = [
        quote.save,
        quote.delete,
        lambda: Quote.objects.filter(pk=quote.pk).update(title="other"),
        lambda: Quote.objects.all().delete(),
        lambda: Quote(pk=quote.pk, studio=studio, commission=quote.commission).save(),
    ]
    for attempt in attempts:
        with pytest.raises(ValidationError, match="cannot be changed"):
            attempt()
    quote.state, quote.number = "draft", ""  # pretending does not help: the stored row is asked
    for attempt in (quote.save, quote.delete):
        with pytest.raises(ValidationError, match="cannot be changed"):
            attempt()
    assert Quote.objects.values().get() == before


@pytest.mark.django_db
def test_drafts_may_be_changed_and_thrown_away_in_bulk(studio: Studio) -> None:
    QuoteFactory(commission=CommissionFactory(studio=studio))
    assert Quote.objects.for_studio(studio).update(message="x") == 1
    assert Quote.objects.for_studio(studio).delete()[0] == 1


@pytest.mark.django_db
def test_a_commission_is_quoted_once_its_quote_is_out_and_never_moved_back(studio: Studio) -> None:
    for stage, after in {"enquiry": "quoted", "designing": "quoted", "making": "making"}.items():
        commission = CommissionFactory(studio=studio, stage=stage)
        _issue(QuoteFactory(commission=commission))
        assert Commission.objects.get(pk=commission.pk).stage == after


@pytest.mark.django_db(transaction=True)
def test_eight_people_issuing_at_once_get_eight_numbers_without_a_gap() -> None:
    """Each thread has its own connection, so the database's locks are the real ones."""
    studio = StudioFactory()
    drafts = [QuoteFactory(commission=CommissionFactory(studio=studio)) for _ in range(8)]
    start = threading.Barrier(len(drafts))
    failures: list[Exception] = []

    def issue(quote: Quote) -> None:
        try:
            start.wait(timeout=20)
            _issue(Quote.objects.get(pk=quote.pk))
        except Exception as failure:
            failures.append(failure)
        finally:
            connection.close()

    threads = [threading.Thread(target=issue, args=(draft,)) for draft in drafts]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=60)
    assert failures == []
    assert sorted(Quote.objects.values_list("number", flat=True)) == [f"2027-{n:03}" for n in range(1, 9)]
    studio.refresh_from_db()
    assert (studio.quote_year, studio.quote_count) == (2027, 8)
