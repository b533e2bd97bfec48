"""Pages that hand out papers of finished pieces: they work, wrong input is said, an outsider gets 404."""

from typing import Any

import pytest
from django.test import Client as Browser

from projects.models import Studio
from projects.pages import piece_papers
from tests.factories import StudioFactory
from tests.factories_records import RecordFactory
from tests.projects.frozen import text_of

pytestmark = pytest.mark.django_db


def test_a_certificate_is_handed_out_to_its_studio_alone(
    as_alice: Browser, as_charlie: Browser, studio: Studio
) -> None:
    record = RecordFactory(studio=studio, serial="KH-7", title="Harbour bowl")
    address = f"/log/{record.pk}/certificate.pdf"
    assert address in as_alice.get(f"/log/{record.pk}/").content.decode()
    answer = as_alice.get(address)
    assert answer["Content-Type"] == "application/pdf"
    assert answer["Content-Disposition"] == 'inline; filename="certificate-kh-7.pdf"'
    assert "Harbour bowl" in text_of(answer.content)
    assert as_charlie.get(address).status_code == 404


def test_a_catalogue_is_of_what_is_ticked_or_of_all_that_is_shown(as_alice: Browser, studio: Studio) -> None:
    walnut, maple, _ = (
        RecordFactory(studio=studio, title=title, form=form)
        for title, form in (("Harbour bowl", "bowl"), ("Tide jar", "jar"), ("Reed bowl", "bowl"))
    )
    assert 'name="of" value="ticked"' in as_alice.get("/log/table/").content.decode()
    asked = {"of": "ticked", "piece": [walnut.pk, maple.pk], "title": "Autumn show", "prices": "on"}
    answer = as_alice.get("/log/catalogue.pdf", asked)
    assert answer["Content-Disposition"] == 'inline; filename="catalogue-autumn-show.pdf"'
    text = text_of(answer.content)
    assert [title in text for title in ("Harbour bowl", "Tide jar", "Reed bowl")] == [True, True, False]
    text = text_of(as_alice.get("/log/catalogue.pdf", {"of": "all", "form": "bowl"}).content)
    assert [title in text for title in ("Harbour bowl", "Tide jar", "Reed bowl")] == [True, False, True]
    assert f"Pieces by {studio.name}" in text


def test_what_is_wrong_with_a_catalogue_is_said_and_what_was_chosen_stays(
    as_alice: Browser, studio: Studio, monkeypatch: Any
) -> None:
    pieces = [RecordFactory(studio=studio, form="bowl") for _ in range(3)]
    page = as_alice.get("/log/catalogue.pdf", {"of": "ticked", "form": "bowl", "title": "<b>"}, follow=True)
    text = page.content.decode()
    assert "Tick the pieces first" in text
    assert 'value="&lt;b&gt;"' in text
    assert 'name="form" value="bowl"' in text
    asked = {"of": "ticked", "piece": [pieces[0].pk], "title": "x" * 121, "a_page": "3"}
    text = as_alice.get("/log/catalogue.pdf", asked, follow=True).content.decode()
    assert "at most 120 characters" in text
    assert text.count(" checked>") == 1
    assert '<option value="3" selected>' in text
    monkeypatch.setattr(piece_papers, "MOST_PIECES", 2)
    text = as_alice.get("/log/catalogue.pdf", {"of": "all"}, follow=True).content.decode()
    assert "2 pieces at most" in text


def test_nobody_elses_piece_comes_into_a_catalogue(as_alice: Browser, studio: Studio) -> None:
    own, foreign = RecordFactory(studio=studio), RecordFactory(studio=StudioFactory())
    for key in (foreign.pk, "x", "9" * 40, "-1"):
        asked = {"of": "ticked", "piece": [own.pk, key]}
        assert as_alice.get("/log/catalogue.pdf", asked).status_code == 404, key
