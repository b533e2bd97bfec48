"""Searching the log: by any word in it, in any order, however it is written; on SQLite and PostgreSQL alike."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from projects.models import PieceRecord, Studio
from projects.record_search import folded, search
from projects.services import record_places, records
from projects.services.records import CoatSaid, WoodSaid
from tests.factories import ClientFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def bowl(studio: Studio) -> PieceRecord:
    """A walnut bowl that is lent."""
    woods = [WoodSaid("walnut"), WoodSaid("Épicéa d'Alsace")]
    record = records.record_create(
        studio=studio,
        title="Harbour bowl",
        serial="KH-12/07",
        year=2019,
        form="bowl",
        woods=woods,
        coats=[CoatSaid("Tung oil")],
        lessons="Sand to 220 before stacking",
    )
    gallery = ClientFactory(studio=studio, name="Lantern Row")
    record_places.place_add(record=record, kind="lent", client=gallery, note="back by spring")
    return record


@pytest.fixture
def vase(studio: Studio) -> PieceRecord:
    """A maple vase."""
    woods = [WoodSaid("maple")]
    return records.record_create(studio=studio, title="Reed vase", year=2021, form="vase", woods=woods)


def _found(studio: Studio, text: str) -> list[str]:
    return [record.title for record in search(PieceRecord.objects.for_studio(studio), text).order_by("pk")]


@pytest.mark.parametrize(
    "text",
    [
        *(
            "harbour",
            "HARBOUR bowl",
            "bowl harbour",
            "harb",
            "kh 12",
            "KH-12/07",
            "2019",
            "juglans",
            "black walnut",
        ),
        *("épicéa", "epicea", "alsace", "tung", "220", "lantern row", "lent", "spring", "stacking oil"),
    ],
)
def test_every_word_of_a_record_finds_it(
    studio: Studio, bowl: PieceRecord, vase: PieceRecord, text: str
) -> None:
    assert _found(studio, text) == ["Harbour bowl"]


@pytest.mark.parametrize("text", ["reed walnut", "arbour", "zebra", "--", "harbour 2021"])
def test_what_a_record_does_not_have_finds_nothing(
    studio: Studio, bowl: PieceRecord, vase: PieceRecord, text: str
) -> None:
    assert _found(studio, text) == []


def test_no_words_find_everything(studio: Studio, bowl: PieceRecord, vase: PieceRecord) -> None:
    assert _found(studio, "") == _found(studio, "  ") == ["Harbour bowl", "Reed vase"]


def test_a_change_is_found_by_its_new_words_and_no_more_by_the_old(studio: Studio, bowl: PieceRecord) -> None:
    records.record_update(record=bowl, title="Tide bowl", woods=[WoodSaid("maple")])
    assert _found(studio, "harbour") == _found(studio, "walnut") == []
    assert _found(studio, "tide maple") == ["Tide bowl"]
    bowl.delete()
    assert _found(studio, "tide") == []


def test_another_studios_pieces_are_not_found(
    studio: Studio, other_studio: Studio, bowl: PieceRecord
) -> None:
    assert _found(other_studio, "harbour") == []


@given(text=st.text(max_size=60))
def test_whatever_is_typed_is_searched_for_and_never_run(text: str) -> None:
    """Signs of the databases' own query languages are no more than what parts words."""
    list(search(PieceRecord.objects.all(), text))
    assert all(word.isalnum() for word in folded(text))


@pytest.mark.parametrize(
    "text", ['"', "a* OR b", "NEAR(a b)", "words:x", "' | 'x", "a & !b", "\\", "x':* & 'y", "{", "^a", "a\0b"]
)
def test_the_databases_own_signs_do_no_harm(studio: Studio, bowl: PieceRecord, text: str) -> None:
    _found(studio, text)
