"""The studio's archive from its page: for the owner alone, and of that studio alone."""

import io
from pathlib import Path
from typing import Any

import pytest
from django.test import Client as Browser
from django.urls import reverse

from projects.models import HoursEntry, Studio
from projects.pages import archive
from tests.factories import CommissionFactory, HoursEntryFactory, MemberFactory
from tests.projects.archived import manifest_of, members_of

pytestmark = pytest.mark.django_db
WAY = "/studio/archive/"


@pytest.fixture(autouse=True)
def _folder(settings: Any, tmp_path: Path) -> None:
    settings.MEDIA_ROOT = tmp_path


def test_the_owner_downloads_the_studio_as_one_file(studio: Studio, as_alice: Browser) -> None:
    CommissionFactory(studio=studio, title="Low bowl")
    assert WAY in as_alice.get(reverse("studio")).content.decode()
    answer = as_alice.get(WAY)
    assert answer.streaming
    assert answer["Content-Type"] == "application/zip"
    assert answer["Cache-Control"] == "no-store"
    assert answer["Content-Disposition"].startswith('attachment; filename="fern-gully-turning-20')
    file = io.BytesIO(b"".join(answer.streaming_content))
    assert manifest_of(file)["studio"] == "Fern Gully Turning"
    assert b"Low bowl" in members_of(file)["rows/commission.jsonl"]


def test_one_who_only_works_there_is_told_so_and_gets_nothing(as_bob: Browser) -> None:
    assert WAY not in as_bob.get(reverse("studio")).content.decode()
    answer = as_bob.get(WAY, follow=True)
    assert "Only the studio’s owner" in answer.content.decode().replace("&#x27;", "’")
    assert answer.redirect_chain == [("/studio/", 302)]


def test_another_studio_s_owner_gets_their_own_and_a_stranger_the_log_in(
    studio: Studio, as_charlie: Browser, client: Browser
) -> None:
    CommissionFactory(studio=studio, title="Low bowl")
    content = b"".join(as_charlie.get(WAY).streaming_content)
    assert manifest_of(io.BytesIO(content))["studio"] == "Salt Marsh Bowls"
    assert b"Low bowl" not in b"".join(members_of(io.BytesIO(content)).values())
    assert client.get(WAY)["Location"].startswith("/account/log-in/")


def test_a_name_of_markup_and_quotes_makes_a_plain_file_name(studio: Studio, as_alice: Browser) -> None:
    Studio.objects.filter(pk=studio.pk).update(name='"><script>alert(1)</script>\r\nX: y')
    answer = as_alice.get(WAY)
    assert "<" not in answer["Content-Disposition"]
    assert 'filename="scriptalert1script-x-y-20' in answer["Content-Disposition"]


def test_what_cannot_be_written_down_is_said_on_the_page(studio: Studio, as_alice: Browser) -> None:
    HoursEntryFactory(commission__studio=studio)
    HoursEntry.objects.for_studio(studio).update(member=MemberFactory())
    answer = as_alice.get(WAY, follow=True)
    assert "refers to a row of another studio" in answer.content.decode()


def test_a_disk_that_is_full_is_said_on_the_page(as_alice: Browser, monkeypatch: Any) -> None:
    def full(**options: Any) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(archive, "studio_archive", full)
    answer = as_alice.get(WAY, follow=True)
    assert "The archive could not be written. No space left on device" in answer.content.decode()
