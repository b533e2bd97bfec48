"""API v1: who may do what, what comes back, and that bad input is answered and never falls over."""

import json
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.core.cache import cache
from django.test import Client as Browser
from drf_spectacular.generators import SchemaGenerator
from drf_spectacular.validation import validate_schema
from rest_framework.authtoken.models import Token

from projects.models import Board, Client, Commission, Design, Quote, Studio
from tests.factories import (
    BoardFactory,
    ClientFactory,
    CommissionFactory,
    DesignFactory,
    QuoteFactory,
    UserFactory,
    WoodFactory,
)

pytestmark = pytest.mark.django_db

KINDS = ["woods", "boards", "adhesives", "finishes", "clients", "designs", "commissions", "quotes"]
FORM = {"outer": [[0, 60], [100, 60]], "curve": "straight", "inside": "wall", "wall": "8", "floor": "10"}
BAND = {"layers": 10, "thickness": "9.93", "segments": 12, "woods": ["maple", "walnut"]}


@pytest.fixture
def things(studio: Studio) -> dict[str, Any]:
    """One of each kind in Alice's studio."""
    commission = CommissionFactory(studio=studio)
    return {
        "woods": WoodFactory(studio=studio, key="holly"),
        "boards": BoardFactory(wood=studio.woods.first()),
        "adhesives": studio.adhesives.get(),
        "finishes": studio.finishes.get(),
        "clients": ClientFactory(studio=studio),
        "designs": DesignFactory(studio=studio),
        "commissions": commission,
        "quotes": QuoteFactory(commission=commission),
    }


def _send(browser: Browser, method: str, path: str, data: Any) -> Any:
    return getattr(browser, method)(f"/api/v1/{path}", json.dumps(data), content_type="application/json")


# ---- who


@pytest.mark.parametrize("path", [*(f"{kind}/" for kind in KINDS), "estimate/"])
def test_nobody_gets_in_without_logging_in(client: Browser, path: str) -> None:
    answer = client.post(f"/api/v1/{path}", "{}", content_type="application/json")
    assert answer.status_code == 401
    assert answer.json()["errors"][0].startswith("request: ")


@pytest.mark.parametrize("kind", KINDS)
def test_someone_without_a_studio_is_told_so(client: Browser, kind: str) -> None:
    client.force_login(UserFactory())
    answer = client.get(f"/api/v1/{kind}/")
    assert answer.status_code == 403
    assert "belongs to no studio" in answer.json()["errors"][0]


@pytest.mark.parametrize("kind", KINDS)
def test_a_fellow_member_sees_the_studios_records(as_bob: Browser, things: dict[str, Any], kind: str) -> None:
    listed = as_bob.get(f"/api/v1/{kind}/").json()
    assert things[kind].pk in [row["id"] for row in listed["results"]]
    assert as_bob.get(f"/api/v1/{kind}/{things[kind].pk}/").json()["id"] == things[kind].pk


@pytest.mark.parametrize("kind", KINDS)
def test_an_outsider_finds_nothing_and_changes_nothing(
    as_charlie: Browser, things: dict[str, Any], kind: str
) -> None:
    """Each way to touch one record answers 404, and the record is as it was."""
    before = type(things[kind]).objects.filter(pk=things[kind].pk).values().get()
    path = f"{kind}/{things[kind].pk}/"
    assert things[kind].pk not in [row["id"] for row in as_charlie.get(f"/api/v1/{kind}/").json()["results"]]
    assert as_charlie.get(f"/api/v1/{path}").status_code == 404
    # Quotes have no PUT and no DELETE, designs no PATCH, which says nothing about whether one exists.
    for method in ("put", "patch", "delete"):
        assert _send(as_charlie, method, path, {"title": "mine now"}).status_code in (404, 405)
    assert type(things[kind]).objects.filter(pk=things[kind].pk).values().get() == before


@pytest.mark.parametrize(
    ("method", "kind", "action"),
    [
        ("get", "designs", "sheet"),
        ("get", "designs", "estimate"),
        ("post", "commissions", "move"),
        ("post", "quotes", "issue"),
        ("get", "quotes", "paper"),
    ],
)
def test_an_outsider_finds_no_action_of_anothers_record(
    as_charlie: Browser, things: dict[str, Any], method: str, kind: str, action: str
) -> None:
    path = f"/api/v1/{kind}/{things[kind].pk}/{action}/"
    body = json.dumps({"stage": "declined"}) if method == "post" else None
    assert getattr(as_charlie, method)(path, body, content_type="application/json").status_code == 404
    assert Commission.objects.get().stage == "enquiry"


@pytest.mark.parametrize(
    ("kind", "body"),
    [
        ("boards", {"wood": "holly", "length": 1000, "width": 100, "thickness": 20}),
        ("commissions", {"client": "clients", "title": "x"}),
        ("commissions", {"client": "own", "title": "x", "design": "designs"}),
        ("quotes", {"commission": "commissions"}),
    ],
)
def test_an_outsider_cannot_link_to_anothers_record(
    as_charlie: Browser, other_studio: Studio, things: dict[str, Any], kind: str, body: dict[str, Any]
) -> None:
    own = ClientFactory(studio=other_studio)
    ids = {name: thing.pk for name, thing in things.items()} | {"own": own.pk}
    filled = {key: ids.get(value, value) if isinstance(value, str) else value for key, value in body.items()}
    answer = _send(as_charlie, "post", f"{kind}/", filled)
    assert answer.status_code == 400
    assert "does not exist" in answer.json()["errors"][0]


def test_a_token_is_had_for_a_password_and_opens_the_api(
    client: Browser, alice: User, studio: Studio
) -> None:
    cache.clear()  # the throttle counts tries in it
    answer = _send(client, "post", "token/", {"username": "alice", "password": "plane-and-gouge"})
    assert answer.status_code == 200
    token = answer.json()["token"]
    assert Token.objects.get(key=token).user == alice
    listed = client.get("/api/v1/woods/", headers={"Authorization": f"Token {token}"})
    assert {row["key"] for row in listed.json()["results"]} == {"maple", "walnut"}


def test_guessing_passwords_is_slowed_down(client: Browser, alice: User) -> None:
    cache.clear()
    wrong = {"username": "alice", "password": "gouge-and-plane"}
    codes = [_send(client, "post", "token/", wrong).status_code for _ in range(21)]
    cache.clear()
    assert codes == [400] * 20 + [429]


def test_a_browser_session_needs_its_csrf_token_to_write(alice: User) -> None:
    browser = Browser(enforce_csrf_checks=True)
    browser.force_login(alice)
    answer = _send(browser, "post", "clients/", {"name": "x"})
    assert answer.status_code == 403
    assert not Client.objects.exists()


# ---- reading and writing


def test_woods_boards_and_clients_are_made_changed_and_deleted(as_alice: Browser, studio: Studio) -> None:
    wood = {"key": "holly", "name": "holly", "density": "640", "price_per_m3": "9000"}
    made = _send(as_alice, "post", "woods/", wood)
    assert made.status_code == 201, made.content
    board = {"wood": "holly", "length": "900", "width": "120", "thickness": 25.4, "price": "41.50"}
    placed = _send(as_alice, "post", "boards/", board)
    assert placed.status_code == 201, placed.content
    assert placed.json()["thickness"] == "25.400"
    path = f"boards/{placed.json()['id']}/"
    assert _send(as_alice, "patch", path, {"count": 3}).json()["count"] == 3
    assert (
        as_alice.delete(f"/api/v1/woods/{made.json()['id']}/").status_code == 400
    )  # its board is on the rack
    assert as_alice.delete(f"/api/v1/{path}").status_code == 204
    assert as_alice.get(f"/api/v1/{path}").status_code == 404
    unused = _send(as_alice, "post", "woods/", wood | {"key": "ilex"})
    assert as_alice.delete(f"/api/v1/woods/{unused.json()['id']}/").status_code == 204
    client = _send(as_alice, "post", "clients/", {"kind": "gallery", "name": "Row", "gallery_share": "0.4"})
    assert client.status_code == 201
    assert Client.objects.get().studio == studio
    assert not Board.objects.on_rack().exists()


def test_an_adhesive_and_a_finish_become_the_usual_ones(as_alice: Browser, studio: Studio) -> None:
    glue = _send(as_alice, "post", "adhesives/", {"name": "Slow epoxy", "ratio_a": "2", "usual": True})
    oil = _send(as_alice, "post", "finishes/", {"name": "Oil", "coats": 3, "usual": True})
    assert (glue.status_code, oil.status_code) == (201, 201)
    assert studio.adhesives.get(usual=True).name == "Slow epoxy"
    assert studio.finishes.get(usual=True).name == "Oil"
    kept = as_alice.delete(f"/api/v1/adhesives/{glue.json()['id']}/")
    assert kept.status_code == 400
    assert "usual one" in kept.json()["errors"][0]


def test_a_key_the_studio_has_already_is_refused_with_its_sentence(as_alice: Browser) -> None:
    answer = _send(as_alice, "post", "woods/", {"key": "maple", "name": "x", "density": 700})
    assert answer.status_code == 400
    assert answer.json() == {"errors": ["body: The studio already has a wood with this key."]}


def test_a_design_is_written_whole_and_saved_by_its_revision(as_alice: Browser, studio: Studio) -> None:
    design = {"title": "Pot", "parts": [{"form": FORM, "bands": [BAND, BAND]}]}
    made = _send(as_alice, "post", "designs/", design)
    assert made.status_code == 201, made.content
    path = f"designs/{made.json()['id']}/"
    kept = as_alice.get(f"/api/v1/{path}").json()
    assert [band["woods"] for band in kept["parts"][0]["bands"]] == [["maple", "walnut"]] * 2
    without = _send(as_alice, "put", path, design)
    assert without.json() == {"errors": ["revision: Send the revision that the design was read with."]}
    saved = _send(as_alice, "put", path, design | {"parts": [{"form": FORM, "bands": [BAND]}], "revision": 1})
    assert (saved.status_code, saved.json()["revision"], len(saved.json()["parts"][0]["bands"])) == (
        200,
        2,
        1,
    )
    late = _send(as_alice, "put", path, design | {"revision": 1})
    assert late.status_code == 409
    assert "Their version is safe" in late.json()["errors"][0]
    assert Design.objects.get().revision == 2


def test_matching_is_read_and_written_and_an_unknown_one_refused_in_words(as_alice: Browser) -> None:
    bands = [BAND | {"match": match} for match in ("book", "board", "")]
    made = _send(as_alice, "post", "designs/", {"title": "Pot", "parts": [{"form": FORM, "bands": bands}]})
    assert made.status_code == 201, made.content
    kept = as_alice.get(f"/api/v1/designs/{made.json()['id']}/").json()
    assert [band["match"] for band in kept["parts"][0]["bands"]] == ["book", "board", ""]
    assert [band.match for band in Design.objects.get().parts.get().bands.all()] == ["book", "board", ""]
    wrong = [BAND | {"match": "mirror"}]
    answer = _send(as_alice, "post", "designs/", {"title": "Pot", "parts": [{"form": FORM, "bands": wrong}]})
    assert answer.status_code == 400
    (words,) = answer.json()["errors"]
    assert words.startswith("parts[0].bands[0].match: ")


def test_errors_of_a_design_come_with_their_places(as_alice: Browser) -> None:
    part = {"form": FORM | {"outer": [[0, "wide"]]}, "bands": [BAND, BAND | {"segments": 2}]}
    wrong = {"title": "Pot", "parts": [part]}
    answer = _send(as_alice, "post", "designs/", wrong)
    assert answer.status_code == 400
    places = [error.split(": ")[0] for error in answer.json()["errors"]]
    assert places == ["parts[0].form.outer", "parts[0].bands[1].segments"]
    strange = _send(
        as_alice, "post", "designs/", wrong | {"parts": [{"form": FORM, "bands": [BAND | {"woods": ["x"]}]}]}
    )
    assert strange.json() == {"errors": ["parts[0].bands[0].woods: The studio has no wood called x."]}
    assert not Design.objects.exists()


def test_markup_in_a_title_is_kept_as_text(as_alice: Browser) -> None:
    title = "<script>alert('é')</script> & Co"
    made = _send(as_alice, "post", "designs/", {"title": title, "parts": [{"form": FORM, "bands": []}]})
    assert made.json()["title"] == title
    assert Design.objects.get().title == title


def test_a_commission_is_taken_on_and_moved(as_alice: Browser, studio: Studio) -> None:
    client = ClientFactory(studio=studio)
    made = _send(as_alice, "post", "commissions/", {"client": client.pk, "title": "Bowl", "stage": "closed"})
    assert (made.status_code, made.json()["stage"]) == (201, "enquiry")
    path = f"commissions/{made.json()['id']}/"
    assert _send(as_alice, "post", f"{path}move/", {"stage": "designing"}).json()["stage"] == "designing"
    refused = _send(as_alice, "post", f"{path}move/", {"stage": "closed"})
    assert refused.status_code == 400
    assert refused.json()["errors"][0].startswith("stage: From designing")
    early = _send(as_alice, "patch", path, {"asked_on": "2027-03-02", "promised_on": "2027-03-01"})
    assert early.json() == {"errors": ["promised_on: This lies before the day it was asked for."]}


def test_a_quote_is_drawn_up_with_the_studios_words(as_alice: Browser, studio: Studio) -> None:
    Studio.objects.filter(pk=studio.pk).update(terms="Half now.", care="Keep dry.")
    commission = CommissionFactory(studio=studio)
    made = _send(as_alice, "post", "quotes/", {"commission": commission.pk, "message": "As we said."})
    assert made.status_code == 201, made.content
    assert (made.json()["state"], made.json()["number"]) == ("draft", "")
    assert (made.json()["terms"], made.json()["message"]) == ("Half now.", "As we said.")
    no_paper = as_alice.get(f"/api/v1/quotes/{made.json()['id']}/paper/")
    assert no_paper.status_code == 404
    assert Quote.objects.count() == 1


def test_lists_come_in_pages(as_alice: Browser, studio: Studio) -> None:
    WoodFactory.create_batch(60, studio=studio)
    first = as_alice.get("/api/v1/woods/").json()
    assert (first["count"], len(first["results"])) == (62, 50)
    rest = as_alice.get("/api/v1/woods/?offset=50").json()
    assert len(rest["results"]) == 12
    assert not {row["id"] for row in first["results"]} & {row["id"] for row in rest["results"]}
    assert len(as_alice.get("/api/v1/woods/?limit=100000").json()["results"]) == 62
    far = as_alice.get("/api/v1/woods/?offset=99999999999999999999999")
    assert (far.status_code, far.json()["results"]) == (200, [])


# ---- bad input

BROKEN_BODIES = {
    "an empty body": b"",
    "half a sentence": b'{"title": ',
    "a list": b"[]",
    "a word": b'"a bowl"',
    "a number": b"7",
    "null": b"null",
    "ten thousand brackets": b"[" * 10_000 + b"]" * 10_000,
    "ten thousand open braces": b'{"a":' * 10_000,
    "NaN": b'{"title": NaN}',
    "Infinity": b'{"title": -Infinity}',
    "a number beyond all bounds": b'{"quantity": 1e999}',
    "a whole number of 5,000 digits": b'{"quantity": ' + b"9" * 5_000 + b"}",
    "bytes that are no text": b'{"title": "\xff\xfe"}',
    "half a character": b'{"title": "\\ud800"}',
    "another encoding": '{"title": "Schüssel"}'.encode("utf-16"),
}


@pytest.mark.parametrize("body", BROKEN_BODIES.values(), ids=BROKEN_BODIES.keys())
@pytest.mark.parametrize("path", ["designs/", "woods/", "commissions/", "token/"])
def test_a_body_that_is_no_record_is_refused_with_a_sentence(
    as_alice: Browser, path: str, body: bytes
) -> None:
    cache.clear()
    answer = as_alice.post(f"/api/v1/{path}", body, content_type="application/json")
    assert answer.status_code == 400
    assert answer.json()["errors"]
    assert all(": " in error for error in answer.json()["errors"])


def test_a_body_over_the_limit_is_refused_before_it_is_read(as_alice: Browser, settings: Any) -> None:
    body = b'{"title": "' + b"a" * settings.DATA_UPLOAD_MAX_MEMORY_SIZE + b'"}'
    answer = as_alice.post("/api/v1/designs/", body, content_type="application/json")
    assert answer.status_code == 413
    assert "1,000,000 bytes" in answer.json()["errors"][0]


@pytest.mark.parametrize("content_type", ["text/plain", "application/xml", "multipart/form-data; boundary=x"])
def test_a_body_that_is_not_json_is_refused(as_alice: Browser, content_type: str) -> None:
    answer = as_alice.post("/api/v1/designs/", b"title=Bowl", content_type=content_type)
    assert answer.status_code == 415
    assert answer.json()["errors"]


@pytest.mark.parametrize("field", ["length", "width", "thickness", "price", "count"])
@pytest.mark.parametrize("value", [-1, 0.00001, 1e300, "wide", "", None, [], {}, "NaN", "1e400", "٣" * 2000])
def test_a_board_with_a_figure_that_cannot_be_is_refused_at_its_field(
    as_alice: Browser, field: str, value: Any
) -> None:
    board = {"wood": "maple", "length": 900, "width": 100, "thickness": 25, "price": 1, "count": 1}
    answer = _send(as_alice, "post", "boards/", board | {field: value})
    assert answer.status_code == 400
    assert all(error.startswith(f"{field}: ") for error in answer.json()["errors"])
    assert not Board.objects.exists()


@pytest.mark.parametrize("number", ["0", "999999999999999999", "9" * 40, "x", "1%00"])
def test_a_record_that_cannot_exist_is_not_found(as_alice: Browser, number: str) -> None:
    assert as_alice.get(f"/api/v1/designs/{number}/").status_code == 404


def test_a_nul_in_a_title_is_refused(as_alice: Browser) -> None:
    answer = _send(as_alice, "post", "designs/", {"title": "a\0b", "parts": [{"form": FORM, "bands": []}]})
    assert answer.status_code == 400
    assert answer.json()["errors"][0].startswith("title: ")
    assert not Design.objects.exists()


# ---- schema


def test_the_schema_is_valid_openapi_and_names_every_address(client: Browser) -> None:
    """Held against the OpenAPI 3.0 JSON schema that drf-spectacular carries."""
    schema = SchemaGenerator().get_schema(request=None, public=True)
    validate_schema(schema)
    served = client.get("/api/v1/schema/").json()
    assert set(served["paths"]) == set(schema["paths"])
    for kind in KINDS:
        assert f"/api/v1/{kind}/" in served["paths"]
    assert "post" in served["paths"]["/api/v1/estimate/"]
    assert "delete" not in served["paths"]["/api/v1/quotes/{id}/"]
