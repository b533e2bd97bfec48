"""Which design came from which: told from the first down, set once, and never round in a ring."""

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.test import Client as Browser
from django.urls import reverse

from projects.again import Asked, start_of_design, starts_of_piece, worked_out
from projects.family import MOST, family_of
from projects.models import Design, Studio
from projects.services.again import again_make
from projects.services.designs import design_copy, design_delete, design_save
from tests.factories import DesignFactory
from tests.factories_records import RecordFactory
from tests.projects.agreed_orders import accepted_order

pytestmark = pytest.mark.django_db


def bare(studio: Studio, title: str, parent: Design | None = None) -> Design:
    return DesignFactory(studio=studio, title=title, grown_from=parent, shaped=False)


def lines(design: Design) -> list[tuple[str, int, str]]:
    return [(one.title, one.depth, one.parent) for one in family_of(design)]


def test_a_family_is_told_alike_from_each_of_its_designs(studio: Studio) -> None:
    first = bare(studio, "first")
    second, third = bare(studio, "second", first), bare(studio, "third", first)
    fourth = bare(studio, "fourth", second)
    bare(studio, "alone")
    whole = [("first", 0, ""), ("second", 1, "first"), ("fourth", 2, "second"), ("third", 1, "first")]
    for design in (first, second, third, fourth):
        assert lines(design) == whole
        assert [one.pk for one in family_of(design) if one.is_this] == [design.pk]


def test_a_design_by_itself_has_no_family(studio: Studio) -> None:
    alone = bare(studio, "alone")
    # Not even one of another studio that was forced on it.
    Design.objects.filter(pk=DesignFactory(shaped=False).pk).update(grown_from=alone)
    assert family_of(alone) == []


def test_a_copy_and_a_piece_made_again_say_what_they_came_from(studio: Studio) -> None:
    design = DesignFactory(studio=studio)
    assert design_copy(design=design, title="copy").grown_from == design
    start, asked = start_of_design(design), Asked(factor=1.25)
    mark = worked_out(start, asked).mark
    made = again_make(start=start, asked=asked, title="larger", seen=mark).design
    assert made.grown_from == design
    job = accepted_order(studio)
    agreed = starts_of_piece(RecordFactory(studio=studio, commission=job))["agreed"]
    asked = Asked(woods={"cherry": "maple"})
    mark = worked_out(agreed, asked).mark
    assert again_make(start=agreed, asked=asked, title="as agreed", seen=mark).design.grown_from == job.design


def test_a_family_is_no_ring(studio: Studio) -> None:
    first = bare(studio, "first")
    second = bare(studio, "second", first)
    first.grown_from = second
    with pytest.raises(ValidationError, match="came from the other"):
        first.full_clean()
    with pytest.raises(TypeError, match="grown_from"):
        design_save(design=second, expected_revision=1, parts=[], grown_from=second)
    with pytest.raises(IntegrityError), transaction.atomic():
        Design.objects.filter(pk=first.pk).update(grown_from=first)
    # Even one that was forced round is told, each design once.
    Design.objects.filter(pk=first.pk).update(grown_from=second)
    assert sorted(one.title for one in family_of(Design.objects.get(pk=first.pk))) == ["first", "second"]


def test_a_design_of_another_studio_is_no_origin(studio: Studio) -> None:
    design = bare(studio, "mine")
    design.grown_from = DesignFactory(shaped=False)
    with pytest.raises(ValidationError, match="of this studio"):
        design.full_clean()


def test_what_came_from_a_design_outlives_it(studio: Studio) -> None:
    first = bare(studio, "first")
    second = bare(studio, "second", first)
    design_delete(design=first)
    second.refresh_from_db()
    assert second.grown_from is None


def test_a_large_family_is_told_by_the_line_of_the_design(studio: Studio) -> None:
    first = bare(studio, "first")
    for number in range(MOST + 5):
        bare(studio, f"cousin {number}", first)
    own = bare(studio, "own", first)
    child = bare(studio, "child", own)
    assert lines(child) == [("first", 0, ""), ("own", 1, "first"), ("child", 2, "own")]
    assert len(family_of(first)) == MOST


def test_the_design_page_shows_it(as_alice: Browser, as_charlie: Browser, studio: Studio) -> None:
    first = DesignFactory(studio=studio, title="First <b>")
    second = design_copy(design=first, title="Second")
    address = reverse("design", args=[second.pk])
    text = as_alice.get(address).content.decode()
    assert "Where it comes from" in text
    assert "from First &lt;b&gt;" in text
    assert f"/designs/compare/?a={first.pk}&amp;b={second.pk}" in text
    assert "First <b>" not in text
    assert as_charlie.get(address).status_code == 404
    first.grown.update(grown_from=None)
    assert "Where it comes from" not in as_alice.get(address).content.decode()
