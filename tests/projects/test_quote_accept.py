"""A quote accepted: the text that was shown is kept, the commission is agreed, boards are set aside, days asked for."""

import datetime
import hashlib
from typing import Any

import pytest
from django.core import mail
from django.core.exceptions import ValidationError
from django.utils import timezone

from estimating.price.money import minor_digits
from projects.models import Board, CalendarPlan, Commission, Member, Quote, QuoteEvent, Reservation, Studio
from projects.options import Choice
from projects.quote_state import accepted_quote, agreed_estimate, agreed_pricing
from projects.services import calendar_search, quote_accept, quote_link
from projects.services.designs import design_save
from projects.services.quote_accept import planned_boards
from projects.services.quote_life import quote_decline, quote_withdraw
from projects.services.quote_options import options_set
from projects.services.quotes import quote_draft, quote_issue
from projects.services.rack_reserve import reserve
from projects.templatetags.turnery import money
from tests.factories import BoardFactory, ClientFactory, CommissionFactory, MemberFactory

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("cheap_paper")]
TODAY = timezone.localdate()
DAY = datetime.timedelta(days=1)


@pytest.fixture(autouse=True)
def begun(monkeypatch: Any) -> list[tuple[CalendarPlan, bool]]:
    """Plans that would have begun in a process of its own, which would not know this database."""
    found: list[tuple[CalendarPlan, bool]] = []

    def start(plan: CalendarPlan, *, anew: bool = False) -> None:
        found.append((plan, anew))

    monkeypatch.setattr(calendar_search, "search_start", start)
    return found


@pytest.fixture
def job(studio: Studio) -> Commission:
    studio.email = "studio@example.com"
    studio.save()
    for wood in studio.woods.all():
        BoardFactory(wood=wood, length=2400, width=200, thickness=27, count=3)
    client = ClientFactory(studio=studio, name="Harbour Row", kind="private", email="buyer@example.com")
    return CommissionFactory(studio=studio, client=client, title="Harbour pot")


@pytest.fixture
def quote(job: Commission) -> Quote:
    return quote_issue(quote=quote_draft(commission=job))


@pytest.fixture
def member(studio: Studio) -> Member:
    return MemberFactory(studio=studio)


def accept(quote: Quote, **values: Any) -> QuoteEvent:
    return quote_accept.quote_accept(quote=quote, **{"name": "P. Lorn", **values})


def test_what_was_shown_is_kept_with_the_name_and_its_hash(quote: Quote, job: Commission) -> None:
    link = quote_link.link_make(commission=job)
    event = accept(quote, name="  Perpetua \n Lorn ", link=link)
    assert event.name == "Perpetua Lorn"
    assert hashlib.sha256(event.text.encode()).hexdigest() == event.sha256
    price = quote.estimate["price"]
    for shown in (
        quote.reference,
        "Harbour pot",
        "Harbour Row",
        quote.studio.name,
        money(price["total"], price["currency"]),
        money(price["deposit"], price["currency"]),
        "hard maple (Acer saccharum)",
        "Wood is wood.",
        quote.client_sha256,
    ):
        assert shown in event.text
    assert minor_digits(price["currency"]) == 2
    assert quote.trade_sha256 not in event.text
    with pytest.raises(ValidationError, match="only added to"):
        event.save()
    assert accepted_quote(job) == (quote, event)
    assert agreed_estimate(event) == quote.estimate
    assert agreed_pricing(event) == quote.sheet["pricing"]


def test_a_gallery_agrees_to_its_account_as_well(studio: Studio) -> None:
    gallery = ClientFactory(studio=studio, kind="gallery", gallery_share="0.45")
    quote = quote_issue(quote=quote_draft(commission=CommissionFactory(studio=studio, client=gallery)))
    text = accept(quote).text
    price = quote.estimate["price"]
    assert f"Net to the studio: {money(price['net'], price['currency'])}" in text
    assert quote.trade_sha256 in text


def test_nothing_of_cost_margin_or_hours_is_in_the_text(quote: Quote) -> None:
    text = accept(quote).text.casefold()
    for word in ("left an hour", "margin", "labour", "an hour", "overhead", "hours"):
        assert word not in text


@pytest.mark.parametrize("stage", ["enquiry", "designing", "quoted"])
def test_the_commission_is_agreed_from_wherever_it_was(quote: Quote, job: Commission, stage: str) -> None:
    Commission.objects.filter(pk=job.pk).update(stage=stage)
    accept(quote)
    job.refresh_from_db()
    assert job.stage == "agreed"


def test_a_commission_that_is_made_already_stays_there(quote: Quote, job: Commission) -> None:
    Commission.objects.filter(pk=job.pk).update(stage="making")
    accept(quote)
    job.refresh_from_db()
    assert job.stage == "making"


def test_the_boards_that_were_planned_are_set_aside(quote: Quote, job: Commission, member: Member) -> None:
    planned = planned_boards(quote.estimate)
    assert planned
    event = accept(quote, member=member)
    assert dict(Reservation.objects.filter(commission=job).values_list("board_id", "count")) == dict(planned)
    for board in Board.objects.filter(pk__in=planned):
        assert board.reserved == planned[board.pk]
        assert board.events.get(what="reserved").member == member
    assert event.words == ""


def test_boards_it_has_already_are_not_set_aside_twice(quote: Quote, job: Commission) -> None:
    planned = planned_boards(quote.estimate)
    reserve(
        boards={board: planned[board.pk] for board in Board.objects.filter(pk__in=planned)}, commission=job
    )
    assert accept(quote).words == ""
    assert dict(Reservation.objects.filter(commission=job).values_list("board_id", "count")) == dict(planned)


def test_what_is_short_is_said_and_blocks_nothing(quote: Quote, job: Commission) -> None:
    planned = planned_boards(quote.estimate)
    first, *others = Board.objects.filter(pk__in=planned).order_by("pk")
    rival = CommissionFactory(studio=job.studio)
    reserve(boards={first: first.count}, commission=rival)
    event = accept(quote, words="By telephone.")
    assert event.words.startswith("By telephone.\n")
    assert f"none free of {planned[first.pk]} planned" in event.words
    reserved = dict(Reservation.objects.filter(commission=job).values_list("board_id", "count"))
    assert reserved == {board.pk: planned[board.pk] for board in others}


def test_the_calendar_is_asked_for_once_all_is_saved(
    quote: Quote, begun: list[Any], django_capture_on_commit_callbacks: Any
) -> None:
    with django_capture_on_commit_callbacks(execute=True):
        accept(quote)
        assert begun == []
    ((plan, anew),) = begun
    assert plan.studio == quote.studio
    assert anew
    assert plan.is_running


def test_a_calendar_that_is_being_planned_is_no_error(
    quote: Quote, begun: list[Any], django_capture_on_commit_callbacks: Any
) -> None:
    calendar_search.calendar_begin(studio=quote.studio)
    with django_capture_on_commit_callbacks(execute=True):
        accept(quote)
    assert begun == []
    assert accepted_quote(quote.commission) is not None


def test_both_are_written_to(quote: Quote, job: Commission, django_capture_on_commit_callbacks: Any) -> None:
    link = quote_link.link_make(commission=job)
    with django_capture_on_commit_callbacks(execute=True):
        accept(quote, link=link)
    to = {letter.to[0]: letter.body for letter in mail.outbox}
    assert set(to) == {"studio@example.com", "buyer@example.com"}
    assert "P. Lorn has accepted" in to["studio@example.com"]
    assert quote_link.link_path(link) in to["buyer@example.com"]
    link.refresh_from_db()
    assert link.expires_on >= TODAY + 364 * DAY


@pytest.mark.parametrize("name", ["", "   ", "\n"])
def test_a_name_is_needed(quote: Quote, name: str) -> None:
    with pytest.raises(ValidationError) as refusal:
        accept(quote, name=name)
    assert list(refusal.value.message_dict) == ["name"]
    assert not QuoteEvent.objects.exists()


def test_it_is_accepted_once(quote: Quote) -> None:
    accept(quote)
    with pytest.raises(ValidationError, match="accepted already"):
        accept(quote)
    with pytest.raises(ValidationError, match="accepted already"):
        quote_decline(quote=quote)
    assert QuoteEvent.objects.count() == 1


@pytest.mark.parametrize("how", ["declined", "withdrawn", "replaced", "lapsed", "aside", "draft"])
def test_what_is_not_open_is_not_accepted_and_nothing_moves(
    how: str, quote: Quote, job: Commission, member: Member
) -> None:
    now = timezone.now()
    match how:
        case "declined":
            quote_decline(quote=quote)
        case "withdrawn":
            quote_withdraw(quote=quote, words="No wood.", member=member)
        case "replaced":
            quote_issue(quote=quote_draft(commission=job))
        case "lapsed":
            now += 31 * DAY
        case "aside":
            Commission.objects.filter(pk=job.pk).update(stage="declined")
        case _:
            quote = quote_draft(commission=job)
    stage = Commission.objects.get().stage
    with pytest.raises(ValidationError) as refusal:
        accept(quote, now=now)
    assert refusal.value.code == how
    assert Commission.objects.get().stage == stage
    assert not Reservation.objects.exists()
    assert not QuoteEvent.objects.filter(what="accepted").exists()


@pytest.fixture
def with_options(job: Commission) -> Quote:
    """A quote with a smaller one and a pair beside it."""
    draft = quote_draft(commission=job)
    smaller = Choice(wood="walnut", by="maple", size=0.9)
    options_set(quote=draft, options=[("All of maple, smaller", smaller), ("A pair", Choice(quantity=2))])
    return quote_issue(quote=draft)


def test_an_option_taken_becomes_what_the_job_goes_by(with_options: Quote, job: Commission) -> None:
    smaller = with_options.options.get(position=1)
    before = job.design
    assert before is not None
    event = accept(with_options, option=smaller)
    job.refresh_from_db()
    assert event.words == ""
    assert event.option == smaller
    assert "Chosen: All of maple, smaller" in event.text
    assert job.design is not None
    assert job.design.pk != before.pk
    assert job.design.parts.get().form.outer == [[0, 54], [90, 54]]
    assert job.design.parts.get().bands.get().woods == ["maple", "maple"]
    before.refresh_from_db()
    assert before.parts.get().form.outer == [[0, 60], [100, 60]]
    assert agreed_estimate(event)["form"]["height"] == pytest.approx(90)
    assert agreed_pricing(event) == smaller.sheet["pricing"]
    assert dict(Reservation.objects.values_list("board_id", "count")) == dict(
        planned_boards(smaller.estimate)
    )


def test_a_pair_taken_is_two_pieces(with_options: Quote, job: Commission) -> None:
    accept(with_options, option=with_options.options.get(position=2))
    job.refresh_from_db()
    assert job.quantity == 2


def test_an_option_of_a_design_changed_since_is_agreed_but_not_drawn_and_that_is_said(
    with_options: Quote, job: Commission
) -> None:
    _change(job)
    event = accept(with_options, option=with_options.options.get(position=1))
    job.refresh_from_db()
    assert job.stage == "agreed"
    assert "was accepted, but is not drawn yet" in event.words
    assert "changed since" in event.words
    assert job.design.parts.get().form.outer == [[0, 50], [100, 50]]


def test_a_design_changed_since_is_said_where_the_piece_as_drawn_is_accepted(
    quote: Quote, job: Commission
) -> None:
    _change(job)
    assert quote_accept.CHANGED in accept(quote).words


def _change(job: Commission) -> None:
    design = job.design
    assert design is not None
    part = {
        "allowance_top": 0,
        "allowance_bottom": 0,
        "form": {"outer": [[0, 50], [100, 50]], "inside": "wall", "wall": 8, "floor": 10},
        "bands": [{"layers": 10, "thickness": "9.93", "segments": 12, "woods": ["maple", "walnut"]}],
    }
    design_save(design=design, expected_revision=design.revision, title=design.title, parts=[part])


def test_another_quotes_option_is_refused(quote: Quote, studio: Studio) -> None:
    other = quote_draft(commission=CommissionFactory(studio=studio))
    options_set(quote=other, options=[("A pair", Choice(quantity=2))])
    with pytest.raises(ValidationError) as refusal:
        accept(quote, option=other.options.get())
    assert list(refusal.value.message_dict) == ["option"]
    assert not QuoteEvent.objects.exists()
