"""The bench page: what it shows, taps as plain forms and from its script, refusals, and who may see it."""

import datetime
import io
import re
from typing import Any
from uuid import uuid4

import pytest
from django.contrib.auth.models import User
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.utils import timezone
from PIL import Image

from projects.models import AsBuilt, BenchStep, BenchTap, Commission, HoursEntry, StepNote, Studio
from projects.pages.starting import Size, start_design
from projects.services.commissions import commission_create
from projects.services.studios import client_create, studio_create
from tests.browser.bench import glue_up
from tests.factories import StepNoteFactory

JSON = {"HTTP_ACCEPT": "application/json", "HTTP_HX_REQUEST": "true"}


@pytest.fixture(autouse=True)
def photos(settings: Any, tmp_path: Any) -> None:
    """Photos go where they are thrown away."""
    settings.MEDIA_ROOT = tmp_path


@pytest.fixture
def studio(db: None) -> Studio:
    return studio_create(name="Larch Bench", owner=User.objects.create_user("lena"))


@pytest.fixture
def job(studio: Studio) -> Commission:
    gallery = client_create(studio=studio, kind="gallery", name="Harbour Row")
    design = start_design(
        studio=studio, title="Bowl", shape="bowl", size=Size(height=60, diameter=180, wall=8)
    )
    job = commission_create(studio=studio, client=gallery, title="<i>Harbour</i> bowl", design=design)
    job.stage = "making"
    job.save()
    return job


@pytest.fixture
def steps(job: Commission) -> dict[str, BenchStep]:
    return glue_up(job)


@pytest.fixture
def lena(client: Client, studio: Studio) -> Client:
    client.force_login(User.objects.get(username="lena"))
    return client


@pytest.fixture
def stranger(studio: Studio) -> Client:
    studio_create(name="Elsewhere", owner=User.objects.create_user("otto"))
    client = Client()
    client.force_login(User.objects.get(username="otto"))
    return client


def tap(step: BenchStep, act: str, **more: Any) -> dict[str, Any]:
    return {"uuid": str(uuid4()), "act": act, "step": step.pk, **more}


def again(step: BenchStep) -> BenchStep:
    return BenchStep.objects.get(pk=step.pk)


def text_of(answer: Any) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", answer.content.decode()))


def photo() -> SimpleUploadedFile:
    kept = io.BytesIO()
    Image.new("RGB", (30, 20), "tan").save(kept, "JPEG")
    return SimpleUploadedFile("rim.jpg", kept.getvalue(), "image/jpeg")


def test_the_page_says_what_is_next_and_shows_the_card_of_a_glue_up(
    lena: Client, steps: dict[str, BenchStep]
) -> None:
    said = text_of(lena.get("/bench/"))
    assert f"2 steps left today. Next: {steps['up'].name}" in said
    card = again(steps["up"]).card
    for mix in card["mixes"]:
        assert f"{mix['part_a_ml']:.1f}".removesuffix(".0") + " ml" in said
    for course in card["courses"][1:]:
        assert f"{abs(course['turn_deg']):.2f}°" in said or not course["turn_deg"]
    assert "The adhesive’s label, its safety data sheet and local rules come first." in said


@pytest.mark.parametrize(
    ("operation", "words"),
    [
        ("rip strips", "Nothing under 20 mm is held by hand"),
        ("turn outside", "Face shield on."),
        ("flatten ring face", "Extraction on and a mask worn"),
        ("apply finish coat and rub down", "Oily rags catch fire by themselves."),
        ("take down, check run-out, true joint face", "Let clamps, band and press off slowly"),
        ("photograph, record, pack, paperwork", ""),
    ],
)
def test_a_step_shows_the_cautions_of_its_own_work(
    lena: Client, steps: dict[str, BenchStep], operation: str, words: str
) -> None:
    BenchStep.objects.exclude(pk=steps["up"].pk).delete()
    BenchStep.objects.update(shares={operation: [20, 1]}, glue_up=None)
    said = text_of(lena.get("/bench/"))
    every = ("held by hand", "Face shield", "mask worn", "Oily rags", "slowly and by turns", "data sheet")
    assert words in said
    if not words:
        assert not any(one in said for one in every)


def test_an_empty_bench_says_what_to_do_first(lena: Client) -> None:
    said = text_of(lena.get("/bench/"))
    assert "Nothing left for today." in said
    assert "Steps appear here once a job is agreed" in said


def test_a_tap_from_the_script_is_done_once_however_often_it_is_sent(
    lena: Client, steps: dict[str, BenchStep]
) -> None:
    at = timezone.now() - datetime.timedelta(minutes=30)
    start = tap(steps["up"], "start", at=at.isoformat())
    answers = [lena.post("/bench/taps/", start, **JSON) for _ in range(3)]
    assert {answer.status_code for answer in answers} == {200}
    assert len({answer.json()["words"] for answer in answers}) == 1
    assert (again(steps["up"]).state, again(steps["up"]).started_at) == ("running", at)
    end = tap(steps["up"], "end", at=(at + datetime.timedelta(minutes=25)).isoformat())
    for _ in range(2):
        assert "25 min logged" in lena.post("/bench/taps/", end, **JSON).json()["words"]
    assert sum(entry.minutes for entry in HoursEntry.objects.all()) == 25
    assert BenchTap.objects.count() == 2


def test_plain_forms_do_the_same_and_come_back_to_the_step(lena: Client, steps: dict[str, BenchStep]) -> None:
    answer = lena.post("/bench/taps/", tap(steps["up"], "start"))
    assert answer["Location"] == f"/bench/#step-{steps['up'].pk}"
    lena.post("/bench/taps/", tap(steps["up"], "mixed"))
    said = text_of(lena.get("/bench/"))
    assert "Last: mixed" in said
    assert "pot life until" in said
    mixed = BenchTap.objects.get(act="mixed")
    lena.post("/bench/taps/", tap(steps["up"], "undo", tap=str(mixed.uuid)))
    assert again(steps["up"]).mixed_at is None


def test_measures_are_read_in_the_studio_s_unit_and_answered_with_what_to_do(
    lena: Client, steps: dict[str, BenchStep]
) -> None:
    lena.post("/bench/taps/", tap(steps["up"], "start"))
    told = lena.post("/bench/taps/", tap(steps["up"], "measure", height="1 1/2 in", run_out="0.04"), **JSON)
    built = AsBuilt.objects.get()
    assert (float(built.height), float(built.run_out)) == (38.1, 0.04)
    # Two hundredths off the axis are within any allowance; forty millimetres are within none.
    assert built.verdict == "good"
    assert "Run-out: good" in told.json()["words"]
    assert "Height: " in told.json()["words"]
    said = text_of(lena.get("/bench/"))
    assert re.search(r"height 38\.1 mm, run-out 0\.04 mm ?: ?good", said), said
    assert "Run-out: good" in said
    far = lena.post("/bench/taps/", tap(steps["up"], "measure", run_out="80"), **JSON)
    assert "make it again" in far.json()["words"]


@pytest.mark.parametrize(
    ("sent", "status", "words"),
    [
        ({"act": "measure", "height": "tall <b>"}, 422, ""),
        ({"act": "note", "text": "   "}, 422, "Write something."),
        ({"act": "photo"}, 422, "Take a photo."),
        ({"act": "wrong", "kind": "fell", "note": "<u>why</u>"}, 422, "Say what went wrong."),
        ({"act": "mixed"}, 409, "Start the glue-up before the mix."),
        ({"act": "dance"}, 422, "This is nothing that can be tapped."),
        ({"act": "start", "at": "2999-01-01T00:00:00Z"}, 422, "This lies in the future."),
        ({"act": "start", "at": "yesterday"}, 422, "This time cannot be read."),
        ({"act": "start", "uuid": "1"}, 422, "This tap has no number of its own."),
        (
            {"act": "wrong", "kind": "slipped", "layers": ["1", "-2"]},
            422,
            "Choose from those that are shown.",
        ),
    ],
)
def test_wrong_input_changes_nothing_and_keeps_what_was_typed(
    lena: Client, steps: dict[str, BenchStep], sent: dict[str, Any], status: int, words: str
) -> None:
    by_script = lena.post("/bench/taps/", {**tap(steps["up"], ""), **sent}, **JSON)
    assert by_script.status_code == status
    assert words in by_script.json()["reason"]
    answer = lena.post("/bench/taps/", {**tap(steps["up"], ""), **sent})
    page = answer.content.decode()
    assert answer.status_code == status
    assert f"Not done: {words}" in page
    for typed in ("height", "note"):
        if typed in sent:
            assert sent[typed].replace("<", "&lt;").replace(">", "&gt;") in page
    assert again(steps["up"]).state == "waiting"
    assert not AsBuilt.objects.exists()
    assert not StepNote.objects.exists()
    assert not HoursEntry.objects.exists()


def test_names_and_notes_are_shown_escaped(lena: Client, steps: dict[str, BenchStep]) -> None:
    BenchStep.objects.filter(pk=steps["up"].pk).update(name='Glue <b>"all"</b>')
    StepNoteFactory(step=steps["up"], member=steps["up"].commission.studio.members.get(), text="<u>thin</u>")
    page = lena.get("/bench/").content.decode()
    assert "&lt;u&gt;thin" in page
    assert not re.search(r"<(u>thin|b>&quot;|b>\"all|i>Harbour)", page)


def test_an_outsider_sees_and_taps_nothing(
    stranger: Client, lena: Client, steps: dict[str, BenchStep]
) -> None:
    lena.post("/bench/taps/", tap(steps["up"], "photo", photo=photo()))
    note = StepNote.objects.get()
    assert steps["up"].name not in stranger.get("/bench/").content.decode()
    assert stranger.post("/bench/taps/", tap(steps["up"], "start")).status_code == 404
    assert stranger.post("/bench/taps/", tap(steps["up"], "start"), **JSON).status_code == 404
    assert stranger.get(f"/bench/photos/{note.pk}/").status_code == 404
    for address in ("/bench/", "/bench/state/", f"/bench/photos/{note.pk}/"):
        assert Client().get(address).status_code == 302, address
    assert Client().post("/bench/taps/", tap(steps["up"], "start"), **JSON).status_code == 401
    assert again(steps["up"]).state == "waiting"


def test_a_tap_without_its_token_is_not_taken(studio: Studio, steps: dict[str, BenchStep]) -> None:
    strict = Client(enforce_csrf_checks=True)
    strict.force_login(User.objects.get(username="lena"))
    assert strict.post("/bench/taps/", tap(steps["up"], "start"), **JSON).status_code == 403
    strict.get("/bench/state/")
    token = strict.cookies["csrftoken"].value
    answer = strict.post("/bench/taps/", tap(steps["up"], "start"), HTTP_X_CSRFTOKEN=token, **JSON)
    assert answer.status_code == 200


def test_what_somebody_else_tapped_on_this_device_is_not_taken_for_ours(
    lena: Client, steps: dict[str, BenchStep]
) -> None:
    assert lena.post("/bench/taps/", tap(steps["up"], "start", who="1-999"), **JSON).status_code == 401
    assert again(steps["up"]).state == "waiting"


def test_a_photo_is_the_studio_s_alone_and_nothing_but_a_picture(
    lena: Client, steps: dict[str, BenchStep]
) -> None:
    assert lena.post("/bench/taps/", tap(steps["up"], "photo", photo=photo()), **JSON).status_code == 200
    note = StepNote.objects.get()
    answer = lena.get(f"/bench/photos/{note.pk}/")
    assert Image.open(io.BytesIO(answer.content)).size == (30, 20)
    assert answer["Content-Type"] == "image/jpeg"
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert "private" in answer["Cache-Control"]
    note.photo.delete(save=False)
    assert lena.get(f"/bench/photos/{note.pk}/").status_code == 404
    bare = StepNoteFactory(step=steps["up"], member=note.member)
    assert lena.get(f"/bench/photos/{bare.pk}/").status_code == 404
    refused = lena.post(
        "/bench/taps/", tap(steps["up"], "photo", photo=SimpleUploadedFile("x.jpg", b"<script>")), **JSON
    )
    assert refused.status_code == 422


def test_the_state_tells_the_time_and_whether_the_plan_is_still_the_same(
    lena: Client, steps: dict[str, BenchStep]
) -> None:
    page = lena.get("/bench/")
    told = lena.get("/bench/state/").json()
    assert told["mark"] == page.context["mark"]
    assert abs(datetime.datetime.fromisoformat(told["now"]) - timezone.now()) < datetime.timedelta(seconds=30)
    for change in ({"name": "Glue them"}, {"planned_start": timezone.now()}, {"state": "dropped"}):
        before = lena.get("/bench/state/").json()["mark"]
        BenchStep.objects.filter(pk=steps["up"].pk).update(**change)
        assert lena.get("/bench/state/").json()["mark"] != before, change


def test_what_has_set_and_cured_is_done_though_nobody_has_looked(
    lena: Client, steps: dict[str, BenchStep]
) -> None:
    long_ago = timezone.now() - datetime.timedelta(hours=20)
    lena.post("/bench/taps/", tap(steps["up"], "start", at=long_ago.isoformat()))
    lena.post("/bench/taps/", tap(steps["up"], "end", at=long_ago.isoformat()))
    lena.get("/bench/")
    sets, cures = again(steps["up.set"]), again(steps["up.cure"])
    assert (sets.state, cures.state) == ("done", "done")
    assert cures.started_at == sets.ended_at == long_ago + datetime.timedelta(minutes=sets.minutes)


def test_the_service_worker_is_everybody_s_and_never_answers_a_post(client: Client) -> None:
    answer = client.get("/bench/sw.js")
    script = answer.content.decode()
    assert answer["Content-Type"].startswith("text/javascript")
    assert answer["Cache-Control"] == "no-cache"
    assert 'request.method !== "GET"' in script
    for address in re.findall(r'"(/static/[^"]+\.(?:js|css|svg|woff2))"', script):
        assert client.get(address).status_code == 200, address
