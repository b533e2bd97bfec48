"""Every page: members see it, outsiders find nothing there, and a title is shown as the text it is."""

from typing import Any

import pytest
from django.contrib.auth.models import User
from django.test import Client as Browser

from projects.models import Client, Commission, Design, Studio
from projects.services.quotes import quote_draft, quote_issue
from tests.factories import (
    BoardFactory,
    ClientFactory,
    CommissionFactory,
    DesignFactory,
    HoursEntryFactory,
    MoistureReadingFactory,
    RateFactory,
    UserFactory,
)

MARKUP = "<script>alert('x')</script>"
ALONE = [
    *("/", "/jobs/new/", "/designs/", "/designs/new/", "/clients/", "/clients/new/", "/rack/", "/rack/new/"),
    *("/rack/import/", "/hours/", "/hours/import/"),
    *("/rack/woods/", "/rack/woods/new/", "/shop/", "/shop/settings/", "/shop/prices/", "/shop/rates/"),
    *("/shop/rates/new/", "/shop/adhesives/", "/shop/adhesives/new/", "/shop/finishes/"),
    *("/shop/rates/yours/", "/shop/finishes/new/", "/studio/", "/account/password/"),
]
OF_A_ROW = [
    *("/jobs/{job}/", "/jobs/{job}/change/", "/jobs/{job}/agreed/", "/jobs/{job}/drawing/"),
    *("/jobs/{job}/estimate/", "/jobs/{job}/quote/", "/designs/{design}/", "/designs/{design}/estimate/"),
    *("/jobs/{job}/weather/", "/jobs/{job}/woods/", "/designs/{design}/weather/", "/designs/{design}/woods/"),
    *("/clients/{client}/", "/rack/{board}/", "/rack/{board}/change/", "/rack/{board}/cut/"),
    *("/rack/woods/{wood}/", "/shop/adhesives/{adhesive}/", "/hours/{entry}/"),
    *("/shop/finishes/{finish}/", "/shop/rates/{rate}/", "/quotes/{quote}/client/", "/quotes/{quote}/trade/"),
]
WRITES = [
    *("/jobs/{job}/move/", "/jobs/{job}/choose-design/", "/jobs/{job}/take-away/", "/jobs/{job}/hours/"),
    *("/jobs/{job}/drawing/", "/jobs/{job}/change/", "/jobs/{job}/quote/", "/jobs/{job}/estimate/"),
    *("/jobs/{job}/weather/", "/jobs/{job}/readings/", "/readings/{reading}/take-out/"),
    *(
        "/designs/{design}/",
        "/designs/{design}/take-away/",
        "/clients/{client}/",
        "/clients/{client}/take-away/",
    ),
    *("/rack/{board}/change/", "/rack/{board}/cut/", "/rack/{board}/reserve/", "/rack/{board}/release/"),
    *("/rack/{board}/take-away/", "/rack/woods/{wood}/take-away/", "/shop/adhesives/{adhesive}/take-away/"),
    *("/shop/finishes/{finish}/take-away/", "/hours/{entry}/take-out/"),
    *("/hours/{entry}/", "/hours/{entry}/stop/"),
]


@pytest.fixture
def rows(studio: Studio) -> dict[str, int]:
    """One of everything of Alice's studio, by its id."""
    client = ClientFactory(studio=studio, name=f"Gallery {MARKUP}")
    design = DesignFactory(studio=studio, title=f"Design {MARKUP}")
    job = CommissionFactory(studio=studio, client=client, design=design, title=f"Job {MARKUP}")
    quote = quote_issue(quote=quote_draft(commission=job, message=MARKUP))
    wood = studio.woods.get(key="maple")
    return {
        "job": job.pk,
        "design": design.pk,
        "client": client.pk,
        "quote": quote.pk,
        "wood": wood.pk,
        "board": BoardFactory(wood=wood, place=MARKUP).pk,
        "adhesive": studio.adhesives.get(usual=True).pk,
        "finish": studio.finishes.get(usual=True).pk,
        "rate": RateFactory(studio=studio).pk,
        "entry": HoursEntryFactory(commission=job, note=MARKUP).pk,
        "reading": MoistureReadingFactory(commission=job, what=MARKUP, note=MARKUP).pk,
    }


def test_members_see_every_page_and_every_title_as_text(as_bob: Browser, rows: dict[str, int]) -> None:
    for address in [*ALONE, *(page.format(**rows) for page in OF_A_ROW)]:
        answer = as_bob.get(address)
        assert answer.status_code == 200, address
        assert b"<script>alert" not in answer.content, address


def test_titles_with_markup_are_shown_escaped(as_bob: Browser, rows: dict[str, int]) -> None:
    for address in ("/", "/jobs/{job}/", "/jobs/{job}/drawing/", "/jobs/{job}/quote/", "/designs/"):
        assert "&lt;script&gt;alert" in as_bob.get(address.format(**rows)).content.decode(), address


def test_an_outsider_finds_nothing_at_any_page_of_the_studio(
    as_charlie: Browser, rows: dict[str, int]
) -> None:
    for address in OF_A_ROW:
        assert as_charlie.get(address.format(**rows)).status_code == 404, address


def test_an_outsider_changes_nothing(as_charlie: Browser, rows: dict[str, int]) -> None:
    for address in WRITES:
        answer = as_charlie.post(address.format(**rows), {"title": "mine now", "to": "declined"})
        assert answer.status_code == 404, address
    assert Commission.objects.filter(title="mine now").count() == 0
    assert Client.objects.filter(pk=rows["client"]).exists()
    assert Design.objects.filter(pk=rows["design"], title__startswith="Design").exists()


def test_an_outsiders_lists_are_empty_of_the_studios_rows(as_charlie: Browser, rows: dict[str, int]) -> None:
    for address in ("/", "/designs/", "/clients/", "/rack/"):
        assert b"&lt;script" not in as_charlie.get(address).content, address


def test_someone_not_logged_in_is_sent_to_log_in_and_back(
    client: Browser, studio: Studio, alice: User
) -> None:
    answer = client.get("/rack/")
    assert answer.status_code == 302
    assert answer["Location"] == "/account/log-in/?next=/rack/"


def test_a_log_in_without_a_studio_is_sent_to_set_one_up(client: Browser, db: None) -> None:
    client.force_login(UserFactory())
    assert client.get("/")["Location"] == "/account/studio/"
    answer = client.post(
        "/account/studio/",
        {"name": "Elm Turning", "currency": "EUR", "length_unit": "in", "inch_style": "decimal"},
    )
    assert answer["Location"] == "/"
    assert Studio.objects.get(name="Elm Turning").woods.exists()
    assert client.get("/").status_code == 200


def test_setting_up_a_studio_in_no_known_currency_is_refused_and_makes_none(
    client: Browser, db: None
) -> None:
    client.force_login(UserFactory())
    answer = client.post(
        "/account/studio/", {"name": "Elm", "currency": "QQQ", "length_unit": "mm", "inch_style": "decimal"}
    )
    assert answer.status_code == 400
    assert "QQQ is no currency code" in answer.content.decode()
    assert not Studio.objects.exists()


def test_the_first_account_is_offered_while_there_is_none_and_never_again(client: Browser, db: None) -> None:
    assert client.get("/")["Location"] == "/account/first/"
    given = {"username": "maker", "password1": "plane-and-gouge", "password2": "plane-and-gouge"}
    assert client.post("/account/first/", given)["Location"] == "/account/studio/"
    assert User.objects.get().username == "maker"
    other = Browser()
    assert other.get("/account/first/")["Location"] == "/account/log-in/"
    assert other.post("/account/first/", {**given, "username": "thief"})["Location"] == "/account/log-in/"
    assert User.objects.count() == 1


def test_a_first_password_that_is_too_common_is_refused(client: Browser, db: None) -> None:
    answer = client.post(
        "/account/first/", {"username": "maker", "password1": "password", "password2": "password"}
    )
    assert answer.status_code == 400
    assert b"too common" in answer.content
    assert b"passwords have to be typed again" in answer.content
    assert not User.objects.exists()


def test_a_page_that_is_not_there_says_what_is_safe(as_alice: Browser) -> None:
    answer = as_alice.get("/nothing/here/")
    assert answer.status_code == 404
    assert "Nothing of yours was changed" in answer.content.decode()


def test_a_form_without_its_token_says_that_nothing_was_saved(alice: User) -> None:
    strict = Browser(enforce_csrf_checks=True)
    strict.force_login(alice)
    answer = strict.post("/clients/new/", {"kind": "gallery", "name": "Harbour Row"})
    assert answer.status_code == 403
    assert "Nothing was saved" in answer.content.decode()
    assert not Client.objects.exists()


def test_a_fault_of_the_program_says_so_without_a_traceback(as_alice: Browser, monkeypatch: Any) -> None:
    def fails(*args: Any, **kwargs: Any) -> None:
        raise RuntimeError("broken on purpose")

    monkeypatch.setattr("projects.pages.jobs.render", fails)
    as_alice.raise_request_exception = False
    answer = as_alice.get("/")
    assert answer.status_code == 500
    assert "fault of the program" in answer.content.decode()
    assert b"broken on purpose" not in answer.content


def test_no_page_holds_a_script_of_its_own(as_alice: Browser, rows: dict[str, int]) -> None:
    for address in [*ALONE, *(page.format(**rows) for page in OF_A_ROW if "quotes" not in page)]:
        page = as_alice.get(address).content.decode()
        for part in page.split("<script")[1:]:
            assert part.split(">")[0].strip().startswith("src="), address
        assert " onclick=" not in page
        assert "http://" not in page.replace("http://www.w3.org/2000/svg", ""), address
