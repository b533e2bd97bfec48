"""What happens to a quote once it is out: where it stands by its acts, and what each act refuses and brings about."""

import datetime
from typing import Any

import pytest
from django.core import mail
from django.core.exceptions import ValidationError
from django.utils import timezone

from projects.models import Commission, Letter, Member, Quote, QuoteEvent, Studio
from projects.quote_state import Standing, accepted_quote, current_quote, current_standings, standing
from projects.services import quote_life, quote_link
from projects.services.quotes import quote_issue
from tests.factories import ClientFactory, CommissionFactory, MemberFactory, QuoteFactory
from tests.factories_papers import QuoteEventFactory

pytestmark = pytest.mark.django_db
TODAY = timezone.localdate()
DAY = datetime.timedelta(days=1)


def issued(commission: Commission, *, revision: str = "A", **values: Any) -> Quote:
    """A quote that is out, without what it was made from."""
    usual: dict[str, Any] = {
        "state": "issued",
        "number": "2027-001",
        "revision": revision,
        "issued_at": timezone.now(),
        "valid_until": TODAY + 30 * DAY,
        "title": commission.title,
    }
    made: Quote = QuoteFactory(commission=commission, **usual | values)
    return made


@pytest.fixture
def job(studio: Studio) -> Commission:
    studio.email = "studio@example.com"
    studio.save()
    client = ClientFactory(studio=studio, name="Harbour Row", email="gallery@example.com")
    return CommissionFactory(studio=studio, client=client, title="Harbour bowl", stage="quoted")


@pytest.fixture
def quote(job: Commission) -> Quote:
    return issued(job)


@pytest.fixture
def member(studio: Studio) -> Member:
    return MemberFactory(studio=studio)


def _event(quote: Quote, what: str) -> None:
    more = {"name": "A. Client", "text": "all of it", "sha256": "0" * 64} if what == "accepted" else {}
    QuoteEventFactory(quote=quote, what=what, **more)


@pytest.mark.parametrize(
    ("acts", "expected"),
    [
        ([], "issued"),
        (["sent"], "issued"),
        (["sent", "seen"], "seen"),
        (["seen", "asked", "answered"], "seen"),
        (["accepted"], "accepted"),
        (["accepted", "asked"], "accepted"),
        (["declined", "seen"], "declined"),
        (["accepted", "withdrawn"], "withdrawn"),
        (["withdrawn"], "withdrawn"),
    ],
)
def test_where_it_stands_follows_from_its_acts(quote: Quote, acts: list[str], expected: str) -> None:
    for what in acts:
        _event(quote, what)
    assert standing(quote, today=TODAY) == expected


def test_it_lapses_the_day_after_its_last_unless_it_was_decided(job: Commission, quote: Quote) -> None:
    assert quote.valid_until is not None
    assert standing(quote, today=quote.valid_until) == Standing.ISSUED
    assert standing(quote, today=quote.valid_until + DAY) == Standing.LAPSED
    _event(quote, "accepted")
    assert standing(quote, today=quote.valid_until + DAY) == Standing.ACCEPTED


def test_a_later_revision_replaces_it_even_where_it_has_lapsed_and_a_draft_does_not(job: Commission) -> None:
    first = issued(job, valid_until=TODAY - DAY)
    draft = QuoteFactory(commission=job)
    assert standing(first, today=TODAY) == Standing.LAPSED
    assert standing(draft, today=TODAY) == Standing.DRAFT
    second = issued(job, revision="B")
    assert standing(first, today=TODAY) == Standing.REPLACED
    assert standing(second, today=TODAY) == Standing.ISSUED
    assert current_quote(job) == second


def test_where_all_stand_is_asked_in_two_queries(
    studio: Studio, job: Commission, django_assert_num_queries: Any
) -> None:
    jobs = [job, *CommissionFactory.create_batch(3, studio=studio)]
    for number, one in enumerate(jobs[:3], start=1):
        _event(issued(one, number=f"2027-{number:03}"), "seen")
    issued(job, revision="B", number="2027-001")
    with django_assert_num_queries(2):
        found = current_standings(jobs, today=TODAY)
    assert {key: stands for key, (_, stands) in found.items()} == {
        jobs[0].pk: "issued",
        jobs[1].pk: "seen",
        jobs[2].pk: "seen",
    }
    for one in jobs[:3]:
        quote = current_quote(one)
        assert quote is not None
        assert standing(quote, today=TODAY) == found[one.pk][1]


def test_what_stands_accepted_is_found_and_a_withdrawal_takes_it_back(quote: Quote, job: Commission) -> None:
    assert accepted_quote(job) is None
    _event(quote, "accepted")
    found = accepted_quote(job)
    assert found is not None
    assert (found[0], found[1].name) == (quote, "A. Client")
    _event(quote, "withdrawn")
    assert accepted_quote(job) is None


def test_a_quote_is_sent_with_its_papers_and_an_address(
    quote: Quote, job: Commission, member: Member
) -> None:
    event = quote_life.quote_send(quote=quote, to="buyer@example.com", member=member, words="As we said.")
    letter = Letter.objects.get()
    link = quote_link.link_of(job)
    assert (event.what, event.member, event.words) == ("sent", member, "As we said.")
    assert letter.to == "buyer@example.com"
    assert quote_link.link_path(link) in letter.body
    assert "As we said." in letter.body
    # A gallery is addressed; a private buyer gets no trade copy.
    assert letter.attachments == [{"kind": "quote_client", "id": quote.pk}]
    gallery = issued(job, revision="B", addressee={"kind": "gallery"})
    quote_life.quote_send(quote=gallery, to="buyer@example.com", member=member)
    assert [row["kind"] for row in Letter.objects.first().attachments] == ["quote_client", "quote_trade"]
    assert quote_link.link_of(job) == link


@pytest.mark.parametrize("to", ["", "  ", "no address"])
def test_it_is_not_sent_to_nowhere(quote: Quote, member: Member, to: str) -> None:
    with pytest.raises(ValidationError) as refusal:
        quote_life.quote_send(quote=quote, to=to, member=member)
    assert list(refusal.value.message_dict) == ["to"]
    assert not QuoteEvent.objects.exists()
    assert not Letter.objects.exists()


def test_it_is_seen_once(quote: Quote, job: Commission) -> None:
    link = quote_link.link_make(commission=job)
    for _ in range(3):
        quote_life.quote_seen(quote=quote, link=link)
    assert QuoteEvent.objects.filter(what="seen", link=link).count() == 1


def test_a_question_reaches_the_studio_and_its_answer_the_client(
    quote: Quote, member: Member, django_capture_on_commit_callbacks: Any
) -> None:
    with django_capture_on_commit_callbacks(execute=True):
        quote_life.quote_ask(quote=quote, words=" In cherry? ", name="P. Lorn")
    assert [event.words for event in quote_life.open_questions(quote)] == ["In cherry?"]
    with django_capture_on_commit_callbacks(execute=True):
        quote_life.quote_answer(quote=quote, words="Yes.", member=member)
    assert quote_life.open_questions(quote) == []
    to_studio, to_client = mail.outbox
    assert (to_studio.to, to_client.to) == (["studio@example.com"], ["gallery@example.com"])
    assert "In cherry?" in to_studio.body
    assert "P. Lorn" in to_studio.body
    assert "In cherry?" in to_client.body
    assert "Yes." in to_client.body


def test_a_question_needs_words_and_only_so_many_wait(quote: Quote) -> None:
    with pytest.raises(ValidationError) as refusal:
        quote_life.quote_ask(quote=quote, words="  ")
    assert list(refusal.value.message_dict) == ["words"]
    for number in range(quote_life.MOST_OPEN):
        quote_life.quote_ask(quote=quote, words=f"Question {number}")
    with pytest.raises(ValidationError, match="wait for an answer"):
        quote_life.quote_ask(quote=quote, words="One more")


def test_a_quote_is_declined_once_and_the_commission_stays_for_a_revision(
    quote: Quote, job: Commission
) -> None:
    event = quote_life.quote_decline(quote=quote, words="Too large.", name="P. Lorn")
    assert (event.words, event.name) == ("Too large.", "P. Lorn")
    assert Letter.objects.get().to == "studio@example.com"
    job.refresh_from_db()
    assert job.stage == "quoted"
    with pytest.raises(ValidationError, match="was declined"):
        quote_life.quote_decline(quote=quote)


@pytest.mark.parametrize("how", ["lapsed", "replaced", "withdrawn", "aside"])
def test_what_is_not_open_is_not_declined(how: str, job: Commission, member: Member) -> None:
    quote = issued(job, valid_until=TODAY - DAY if how == "lapsed" else TODAY + DAY)
    if how == "replaced":
        issued(job, revision="B")
    if how == "withdrawn":
        quote_life.quote_withdraw(quote=quote, words="Prices rose.", member=member)
    if how == "aside":
        Commission.objects.filter(pk=job.pk).update(stage="declined")
    with pytest.raises(ValidationError) as refusal:
        quote_life.quote_decline(quote=quote)
    assert refusal.value.code == how


def test_a_withdrawal_says_why(quote: Quote, member: Member) -> None:
    with pytest.raises(ValidationError, match="Say why"):
        quote_life.quote_withdraw(quote=quote, words=" ", member=member)
    assert standing(quote, today=TODAY) == Standing.ISSUED


def test_withdrawing_an_acceptance_puts_the_commission_back(
    quote: Quote, job: Commission, member: Member
) -> None:
    _event(quote, "accepted")
    Commission.objects.filter(pk=job.pk).update(stage="agreed")
    quote_life.quote_withdraw(quote=quote, words="They changed their mind.", member=member)
    job.refresh_from_db()
    assert job.stage == "designing"
    assert standing(quote, today=TODAY) == Standing.WITHDRAWN


def test_an_act_is_never_dated_before_the_one_it_follows(quote: Quote, member: Member) -> None:
    later = timezone.now() + DAY
    QuoteEventFactory(quote=quote, what="asked", at=later)
    event = quote_life.quote_withdraw(quote=quote, words="No wood.", member=member, now=timezone.now())
    assert event.at == later
    assert standing(quote, today=TODAY) == Standing.WITHDRAWN


@pytest.mark.usefixtures("cheap_paper")
def test_no_revision_is_issued_while_one_stands_accepted(
    quote: Quote, job: Commission, member: Member
) -> None:
    _event(quote, "accepted")
    draft = QuoteFactory(commission=job)
    with pytest.raises(ValidationError, match="stands accepted"):
        quote_issue(quote=draft)
    draft.refresh_from_db()
    assert draft.number == ""
    quote_life.quote_withdraw(quote=quote, words="A larger one is wanted.", member=member)
    assert quote_issue(quote=draft).reference == "2027-001 B"
    # Issuing it has moved nothing of the old row.
    assert standing(quote, today=TODAY) == Standing.WITHDRAWN


def test_another_studios_member_or_link_is_refused(quote: Quote, other_studio: Studio) -> None:
    stranger = MemberFactory(studio=other_studio)
    with pytest.raises(ValidationError, match="of this studio"):
        quote_life.quote_withdraw(quote=quote, words="Mine.", member=stranger)
    elsewhere = quote_link.link_make(commission=CommissionFactory(studio=other_studio))
    with pytest.raises(ValidationError, match="of this studio"):
        quote_life.quote_ask(quote=quote, words="May I?", link=elsewhere)
