"""Commissions, hours, quotes and the shop's lists: each form works, or says what is wrong and changes nothing."""

import datetime
from decimal import Decimal
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.test import Client as Browser
from django.utils import timezone

from projects.models import Board, Client, Commission, HoursEntry, Quote, Studio, Wood
from projects.pages.forms import PricingForm, ShopForm, StudioForm
from projects.pages.shop import PRICING_GROUPS, SHOP_GROUPS, STUDIO_GROUPS
from projects.services.rack import reserve
from tests.factories import BoardFactory, ClientFactory, CommissionFactory, HoursEntryFactory, RateFactory


@pytest.fixture
def job(studio: Studio) -> Commission:
    return CommissionFactory(studio=studio, title="Harbour bowl", client__name="Harbour Row")


def test_an_empty_job_list_says_what_to_do_first(as_alice: Browser, studio: Studio) -> None:
    assert "Add the first client" in as_alice.get("/").content.decode()
    ClientFactory(studio=studio)
    assert "Write down the first commission" in as_alice.get("/").content.decode()


def test_the_job_list_goes_by_promised_date_and_says_overdue_in_words(
    as_alice: Browser, studio: Studio
) -> None:
    today = timezone.localdate()
    days = {"Late": -3, "Later": 40, "Soon": 5, "Undated": None}
    for title, ahead in days.items():
        promised = None if ahead is None else today + datetime.timedelta(ahead)
        asked = today - datetime.timedelta(10)
        CommissionFactory(studio=studio, title=title, asked_on=asked, promised_on=promised)
    page = as_alice.get("/").content.decode()
    table = page[page.index("<tbody>") :]
    assert sorted(days, key=lambda title: table.index(f">{title}</a>")) == [
        "Late",
        "Soon",
        "Later",
        "Undated",
    ]
    assert page.count('<span class="overdue">overdue</span>') == 1
    assert "<strong>1 overdue</strong>" in page


def test_a_delivered_commission_is_not_overdue(as_alice: Browser, studio: Studio) -> None:
    past = timezone.localdate() - datetime.timedelta(3)
    CommissionFactory(studio=studio, stage="delivered", asked_on=past, promised_on=past)
    page = as_alice.get("/").content.decode()
    assert "overdue" not in page
    assert "Delivered, not closed yet" in page


def test_a_commission_is_taken_on(as_alice: Browser, studio: Studio) -> None:
    client = ClientFactory(studio=studio)
    given = {"title": "Vase", "client": client.pk, "asked_on": "2027-03-01", "promised_on": "2027-06-12"}
    answer = as_alice.post("/jobs/new/", given)
    made = Commission.objects.get()
    assert answer["Location"] == f"/jobs/{made.pk}/"
    assert (made.title, made.stage, made.promised_on) == ("Vase", "enquiry", datetime.date(2027, 6, 12))


def test_a_promise_before_the_asking_is_refused_and_what_was_typed_stays(
    as_alice: Browser, studio: Studio
) -> None:
    client = ClientFactory(studio=studio)
    given = {"title": "Vase", "client": client.pk, "asked_on": "2027-03-01", "promised_on": "2027-02-01"}
    answer = as_alice.post("/jobs/new/", {**given, "notes": "for the spring show"})
    page = answer.content.decode()
    assert answer.status_code == 400
    assert "before the day it was asked for" in page
    assert 'value="2027-02-01"' in page
    assert "for the spring show" in page
    assert not Commission.objects.exists()


def test_another_studios_client_cannot_be_chosen(
    as_alice: Browser, other_studio: Studio, studio: Studio
) -> None:
    stranger = ClientFactory(studio=other_studio, name="Strange Row")
    ClientFactory(studio=studio)
    assert "Strange Row" not in as_alice.get("/jobs/new/").content.decode()
    answer = as_alice.post("/jobs/new/", {"title": "Vase", "client": stranger.pk, "asked_on": "2027-03-01"})
    assert answer.status_code == 400
    assert not Commission.objects.exists()


def test_a_commission_moves_only_to_a_stage_that_may_follow(as_alice: Browser, job: Commission) -> None:
    as_alice.post(f"/jobs/{job.pk}/move/", {"to": "designing"})
    job.refresh_from_db()
    assert job.stage == "designing"
    page = as_alice.post(f"/jobs/{job.pk}/move/", {"to": "delivered"}, follow=True).content.decode()
    job.refresh_from_db()
    assert job.stage == "designing"
    assert "From designing a commission goes to" in page
    assert "Back to enquiry" in page


def test_a_commission_shows_what_is_reserved_for_it(
    as_alice: Browser, as_charlie: Browser, job: Commission
) -> None:
    place = f"/jobs/{job.pk}/"
    assert "Reserved for it" not in as_alice.get(place).content.decode()
    wood = job.studio.woods.get(key="maple")
    wood.name = "maple <b>"
    wood.save()
    board = BoardFactory(wood=wood, length=1800, width=150, thickness=27, count=3, place="B7")
    reserve(boards={board: 2}, commission=job)
    page = as_alice.get(place).content.decode()
    assert f'2 × <a href="/rack/{board.pk}/">maple &lt;b&gt;, 1800 × 150 × 27' in page
    assert "B7" in page
    assert as_charlie.get(place).status_code == 404


def test_a_commission_with_hours_is_not_thrown_away(as_alice: Browser, job: Commission) -> None:
    HoursEntryFactory(commission=job)
    page = as_alice.post(f"/jobs/{job.pk}/take-away/", follow=True).content.decode()
    assert "Hours are logged for this commission" in page
    assert Commission.objects.filter(pk=job.pk).exists()


@pytest.mark.parametrize(
    ("typed", "minutes"), [("95", 95), ("1:35", 95), ("1.5 h", 90), ("90 min", 90), ("0:05", 5)]
)
def test_time_is_logged_as_minutes_or_hours(
    as_alice: Browser, job: Commission, typed: str, minutes: int
) -> None:
    RateFactory(studio=job.studio)
    today = timezone.localdate().isoformat()
    given = {"operation": "crosscut segments", "worked_on": today, "minutes": typed, "quantity": "12"}
    as_alice.post(f"/jobs/{job.pk}/hours/", given)
    entry = HoursEntry.objects.get()
    assert entry.minutes == minutes
    assert entry.member.user.username == "alice"
    as_alice.post(f"/hours/{entry.pk}/take-out/")
    assert not HoursEntry.objects.exists()


@pytest.mark.parametrize("typed", ["", "soon", "-5", "1:75", "nan", "inf", "99999"])
def test_time_that_is_none_is_refused_at_its_field(as_alice: Browser, job: Commission, typed: str) -> None:
    RateFactory(studio=job.studio)
    today = timezone.localdate().isoformat()
    given = {"operation": "crosscut segments", "worked_on": today, "minutes": typed, "note": "keep me"}
    answer = as_alice.post(f"/jobs/{job.pk}/hours/", given)
    assert answer.status_code == 400
    assert "keep me" in answer.content.decode()
    assert not HoursEntry.objects.exists()


def test_what_is_agreed_is_typed_in_per_cent(as_alice: Browser, job: Commission) -> None:
    as_alice.post(f"/jobs/{job.pk}/agreed/", {"gallery_share": "42.5 %", "offered_retail": "1450"})
    job.refresh_from_db()
    assert (job.gallery_share, job.offered_retail) == (Decimal("0.425"), 1450)
    assert 'value="42.5"' in as_alice.get(f"/jobs/{job.pk}/agreed/").content.decode()
    answer = as_alice.post(f"/jobs/{job.pk}/agreed/", {"gallery_share": "450"})
    assert answer.status_code == 400
    assert "Must be at most 95 %" in answer.content.decode()


def test_the_gallerys_price_says_what_it_leaves_an_hour(as_alice: Browser, job: Commission) -> None:
    as_alice.post(f"/jobs/{job.pk}/estimate/", {"offered_retail": "900"})
    assert "At $900.00 you are paid" in as_alice.get(f"/jobs/{job.pk}/estimate/").content.decode()
    answer = as_alice.post(f"/jobs/{job.pk}/estimate/", {"offered_retail": "a lot"})
    assert answer.status_code == 400
    assert 'value="a lot"' in answer.content.decode()
    job.refresh_from_db()
    assert job.offered_retail == 900


def test_looking_at_the_quote_page_makes_no_quote(as_alice: Browser, job: Commission) -> None:
    assert "Issue the quote" in as_alice.get(f"/jobs/{job.pk}/quote/").content.decode()
    assert not Quote.objects.exists()


def test_a_quote_is_issued_with_the_words_typed_and_its_papers_are_served(
    as_alice: Browser, as_charlie: Browser, job: Commission
) -> None:
    given = {
        "message": "As we talked about.",
        "lead_time": "6 weeks",
        "terms": "Half first.",
        "care": "Dust it.",
    }
    page = as_alice.post(f"/jobs/{job.pk}/quote/", {**given, "issue": "yes"}, follow=True).content.decode()
    quote = Quote.objects.get()
    assert quote.is_issued
    assert quote.message == "As we talked about."
    assert f"Issued: quote {quote.reference}" in page
    for copy in ("client", "trade"):
        paper = as_alice.get(f"/quotes/{quote.pk}/{copy}/")
        assert paper["Content-Type"] == "application/pdf"
        assert (
            paper["Content-Disposition"] == f'inline; filename="quote-{quote.number}-harbour-bowl-{copy}.pdf"'
        )
        assert paper.content.startswith(b"%PDF")
        assert as_charlie.get(f"/quotes/{quote.pk}/{copy}/").status_code == 404
    assert as_alice.get(f"/quotes/{quote.pk}/secret/").status_code == 404


def test_a_design_that_cannot_be_worked_out_is_not_quoted(as_alice: Browser, job: Commission) -> None:
    job.design.parts.get().bands.update(layers=2)
    page = as_alice.get(f"/jobs/{job.pk}/quote/").content.decode()
    assert "cannot be worked out as it is saved" in page
    assert "Issue the quote" not in page
    assert "cannot be worked out" in as_alice.get(f"/jobs/{job.pk}/estimate/").content.decode()
    page = as_alice.post(f"/jobs/{job.pk}/quote/", {"issue": "yes"}, follow=True).content.decode()
    assert "Not issued" in page
    assert not Quote.objects.exclude(number="").exists()


def test_a_commission_without_a_design_goes_to_draw_one(as_alice: Browser, studio: Studio) -> None:
    job = CommissionFactory(studio=studio, design=None)
    for part in ("drawing", "estimate", "quote"):
        assert as_alice.get(f"/jobs/{job.pk}/{part}/")["Location"] == f"/designs/new/?job={job.pk}"


def test_a_board_is_measured_in_the_unit_it_is_typed_in(as_alice: Browser, studio: Studio) -> None:
    maple = studio.woods.get(key="maple")
    given = {"wood": maple.pk, "count": "2", "length": "8 ft", "width": "150", "thickness": '1 1/16"'}
    as_alice.post("/rack/new/", {**given, "price": "41.50"})
    board = Board.objects.get()
    assert [float(side) for side in (board.length, board.width, board.thickness)] == pytest.approx(
        [2438.4, 150, 26.9875],  # 8 × 304.8, and 17 × 25.4 / 16
        abs=0.0005001,
    )


def test_a_board_of_no_length_is_refused_and_what_was_typed_stays(as_alice: Browser, studio: Studio) -> None:
    maple = studio.woods.get(key="maple")
    given = {
        "wood": maple.pk,
        "count": "2",
        "length": "a yard",
        "width": "0",
        "thickness": "25",
        "price": "x",
    }
    answer = as_alice.post("/rack/new/", given)
    page = answer.content.decode()
    assert answer.status_code == 400
    assert 'value="a yard"' in page
    assert "is not a length" in page
    assert "Must be at least 0.001 mm" in page
    assert not Board.objects.exists()


def test_saving_an_inch_board_unchanged_changes_nothing(as_alice: Browser, studio: Studio) -> None:
    Studio.objects.update(length_unit="in")
    board = BoardFactory(
        wood=studio.woods.get(key="maple"), length="1234.567", width="88.9", thickness="26.988"
    )
    form = as_alice.get(f"/rack/{board.pk}/change/").context["form"]
    shown = {field.name: field.value() for field in form if field.value() is not None}
    assert shown["width"] == "3 1/2"
    assert as_alice.post(f"/rack/{board.pk}/change/", shown).status_code == 302
    fresh = Board.objects.get(pk=board.pk)
    assert [str(fresh.length), str(fresh.width), str(fresh.thickness)] == ["1234.567", "88.900", "26.988"]


def test_wood_is_priced_by_the_board_foot_where_the_shop_works_in_inches(
    as_alice: Browser, studio: Studio
) -> None:
    Studio.objects.update(length_unit="in")
    maple = studio.woods.get(key="maple")
    form = as_alice.get(f"/rack/woods/{maple.pk}/").context["form"]
    shown = {field.name: field.value() for field in form if field.value() not in (None, False)}
    as_alice.post(f"/rack/woods/{maple.pk}/", {**shown, "price_per_m3": "8.50"})
    # 1 m³ is 423.776 board feet (1 / 0.002359737, NIST SP 811 B.8): 8.50 a board foot is 3602.10 a cubic metre.
    assert float(Wood.objects.get(pk=maple.pk).price_per_m3) == pytest.approx(3602.10, abs=0.01)
    assert as_alice.get(f"/rack/woods/{maple.pk}/").context["form"]["price_per_m3"].value() == "8.5"


def test_a_wood_with_boards_stays_on_the_list(as_alice: Browser, studio: Studio) -> None:
    board = BoardFactory(wood=studio.woods.get(key="maple"))
    page = as_alice.post(f"/rack/woods/{board.wood.pk}/take-away/", follow=True).content.decode()
    assert "Boards of this wood lie on the rack" in page
    assert Wood.objects.filter(pk=board.wood.pk).exists()


def test_two_clients_of_one_name_are_refused(as_alice: Browser, studio: Studio) -> None:
    ClientFactory(studio=studio, name="Harbour Row")
    answer = as_alice.post("/clients/new/", {"kind": "gallery", "name": "Harbour Row", "note": "keep me"})
    assert answer.status_code == 400
    assert "already has a client of this name" in answer.content.decode()
    assert "keep me" in answer.content.decode()
    assert Client.objects.count() == 1


@pytest.mark.parametrize(
    ("form", "groups"), [(ShopForm, SHOP_GROUPS), (PricingForm, PRICING_GROUPS), (StudioForm, STUDIO_GROUPS)]
)
def test_every_setting_stands_on_its_page_once(form: Any, groups: Any) -> None:
    shown = [name for names in groups.values() for name in names]
    assert sorted(shown) == sorted(form.base_fields)


@pytest.mark.parametrize("address", ["/shop/settings/", "/shop/prices/", "/studio/"])
@pytest.mark.parametrize("unit", ["mm", "in"])
def test_settings_saved_unchanged_stay_as_they_were(
    as_alice: Browser, studio: Studio, address: str, unit: str
) -> None:
    Studio.objects.update(length_unit=unit)
    before = as_alice.get(address).context["form"]
    shown = {field.name: field.value() for field in before if field.value() not in (None, False)}
    answer = as_alice.post(address, shown)
    assert answer.status_code == 302, answer.context["form"].errors
    after = as_alice.get(address).context["form"]
    assert {field.name: field.value() for field in after} == {field.name: field.value() for field in before}


def test_a_kerf_wider_than_any_saw_is_refused_and_nothing_is_saved(as_alice: Browser, studio: Studio) -> None:
    form = as_alice.get("/shop/settings/").context["form"]
    shown = {field.name: field.value() for field in form if field.value() not in (None, False)}
    answer = as_alice.post("/shop/settings/", {**shown, "rip_kerf": "2 in", "crosscut_kerf": "1/8 in"})
    assert answer.status_code == 400
    assert "Must be at most 20 mm" in answer.content.decode()
    assert 'value="1/8 in"' in answer.content.decode()
    studio.shop.refresh_from_db()
    assert float(studio.shop.crosscut_kerf) == 2.8


def test_only_the_owner_changes_the_letterhead(as_bob: Browser, alice: User, studio: Studio) -> None:
    page = as_bob.post("/studio/", {"name": "Bob's now"}, follow=True).content.decode()
    assert "Nothing was saved" in page
    studio.refresh_from_db()
    assert studio.name == "Fern Gully Turning"


def test_the_owner_lets_someone_in_and_nobody_else_does(
    as_alice: Browser, as_bob: Browser, studio: Studio
) -> None:
    given = {"username": "dora", "password1": "plane-and-gouge", "password2": "plane-and-gouge"}
    assert as_alice.post("/studio/people/new/", {**given, "password2": "other"}).status_code == 400
    as_bob.post("/studio/people/new/", given)
    assert not User.objects.filter(username="dora").exists()
    as_alice.post("/studio/people/new/", given)
    dora = User.objects.get(username="dora")
    assert (dora.member.studio, dora.member.role) == (studio, "member")
    browser = Browser()
    assert browser.login(username="dora", password="plane-and-gouge")
    assert browser.get("/").status_code == 200
