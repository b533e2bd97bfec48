"""From a piece to what came of it: said when it is made, told on the piece's page and in the design's family."""

from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.test import Client as Browser
from django.urls import reverse

from projects.again import Asked, start_of_design, starts_of_piece, worked_out
from projects.family import Piece, family_of
from projects.models import Commission, Design, MadeFrom, PieceRecord, Studio
from projects.services.again import again_make
from projects.services.designs import design_copy
from projects.services.record_out import record_take_out
from tests.factories import ClientFactory, DesignFactory
from tests.factories_records import MadeFromFactory, RecordFactory
from tests.projects.agreed_orders import accepted_order

pytestmark = pytest.mark.django_db


@pytest.fixture
def record(studio: Studio) -> PieceRecord:
    design = DesignFactory(studio=studio, title="Bowl")
    piece: PieceRecord = RecordFactory(studio=studio, serial="2026-007", title="First bowl", design=design)
    return piece


def made(record: PieceRecord, asked: Asked = Asked(factor=1.25), **more: Any) -> Any:  # noqa: B008  # frozen
    start = next(iter(starts_of_piece(record).values()))
    client = more.get("client")
    job = None
    if client is not None:
        job = Commission(studio=record.studio, client=client, title=start.design.title)
    mark = worked_out(start, asked, commission=job).mark
    return again_make(start=start, asked=asked, title="Larger <i>bowl</i>", seen=mark, **more)


def test_a_design_made_from_a_piece_says_which_and_what_it_grew_from(record: PieceRecord) -> None:
    design = made(record).design
    assert (design.made_from.record, design.grown_from) == (record, record.design)
    assert [one.design for one in record.made_again.all()] == [design]


def test_one_made_as_it_was_agreed_says_so_too(studio: Studio) -> None:
    record = RecordFactory(studio=studio, commission=accepted_order(studio))
    assert made(record, Asked(woods={"cherry": "maple"})).design.made_from.record == record


def test_a_design_made_from_a_design_or_copied_came_from_no_piece(
    studio: Studio, record: PieceRecord
) -> None:
    start, asked = start_of_design(record.design), Asked(factor=1.25)
    plain = again_make(start=start, asked=asked, title="plain", seen=worked_out(start, asked).mark).design
    copy = design_copy(design=made(record).design, title="copy")
    assert not MadeFrom.objects.filter(design__in=[plain, copy]).exists()


def test_the_family_says_from_which_piece(record: PieceRecord, studio: Studio) -> None:
    design = made(record).design
    of_it = {one.title: one.piece for one in family_of(design)}
    assert of_it == {"Bowl": None, "Larger <i>bowl</i>": Piece(record.pk, "2026-007", in_log=True)}
    alone = DesignFactory(studio=studio, title="by itself", shaped=False)
    assert family_of(alone) == []
    MadeFromFactory(design=alone, record=record)
    assert [(one.title, one.piece.serial) for one in family_of(alone)] == [("by itself", "2026-007")]


def test_the_piece_and_the_design_lead_to_one_another(as_alice: Browser, record: PieceRecord) -> None:
    client = ClientFactory(studio=record.studio, name="Harbour <b>Row</b>")
    new = made(record, client=client)
    page = as_alice.get(reverse("piece", args=[record.pk])).content.decode()
    assert "Made from this piece" in page
    assert f'href="{reverse("design", args=[new.design.pk])}"' in page
    assert f'href="{reverse("job", args=[new.commission.pk])}"' in page
    assert "Larger &lt;i&gt;bowl" in page
    assert "Harbour &lt;b&gt;Row" in page
    board = as_alice.get(reverse("design", args=[new.design.pk])).content.decode()
    assert f'<a href="{reverse("piece", args=[record.pk])}">piece 2026-007</a>' in board


def test_a_piece_of_which_nothing_came_says_nothing_of_it(as_alice: Browser, record: PieceRecord) -> None:
    assert "Made from this piece" not in as_alice.get(reverse("piece", args=[record.pk])).content.decode()


def test_a_piece_taken_out_is_named_and_not_linked(as_alice: Browser, record: PieceRecord) -> None:
    design = made(record).design
    record_take_out(record=record, reason="twice")
    board = as_alice.get(reverse("design", args=[design.pk])).content.decode()
    assert "piece 2026-007, taken out of the log" in board
    assert reverse("piece", args=[record.pk]) not in board


def test_the_design_outlives_the_piece_and_the_piece_the_design(record: PieceRecord, studio: Studio) -> None:
    design = made(record).design
    other = MadeFromFactory(record=record, design=DesignFactory(studio=studio, shaped=False)).design
    other.delete()
    assert [one.design for one in record.made_again.all()] == [design]
    record.delete()
    assert Design.objects.filter(pk=design.pk).exists()
    assert not MadeFrom.objects.exists()


def test_another_studios_piece_is_refused(record: PieceRecord, other_studio: Studio) -> None:
    link = MadeFrom(design=record.design, record=RecordFactory(studio=other_studio))
    with pytest.raises(ValidationError, match="Choose a piece of this studio"):
        link.full_clean()
