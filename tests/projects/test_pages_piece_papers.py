"""Pages that hand out papers of finished pieces: they work, wrong input is said, an outsider gets 404."""

import pytest
from django.test import Client as Browser

from projects.models import Studio
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


def test_a_care_sheet_is_handed_out_to_its_studio_alone(
    as_alice: Browser, as_charlie: Browser, studio: Studio
) -> None:
    record = RecordFactory(studio=studio, serial="KH-7", title="Harbour <b>bowl</b>", care="Keep it dry.")
    address = f"/log/{record.pk}/care.pdf"
    assert address in as_alice.get(f"/log/{record.pk}/").content.decode()
    answer = as_alice.get(address)
    assert answer["Content-Type"] == "application/pdf"
    assert answer["Content-Disposition"] == 'inline; filename="care-kh-7.pdf"'
    assert "Harbour <b>bowl</b>" in text_of(answer.content)
    assert "Keep it dry." in text_of(answer.content)
    assert as_charlie.get(address).status_code == 404
