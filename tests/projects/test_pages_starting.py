"""A new design: from a shape chosen by its picture, in the size it is offered in or another, or as a copy."""

import re
from html import unescape

import pytest
from django.test import Client as Browser

from projects.estimates import estimate_design
from projects.models import Commission, Design, Studio
from projects.pages.fields import read_length
from projects.pages.starting import SHAPES, Size, start_design
from tests.factories import CommissionFactory, DesignFactory


@pytest.fixture
def design(studio: Studio) -> Design:
    made: Design = DesignFactory(studio=studio, title="Pot")
    return made


@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize("size", [Size(120, 200, 8), Size(40, 260, 10), Size(350, 90, 5), Size(25, 60, 4)])
def test_every_first_shape_works_out_at_once(studio: Studio, shape: str, size: Size) -> None:
    design = start_design(studio=studio, title="First", shape=shape, size=size)
    _, estimate = estimate_design(design)
    assert estimate.shapes[0].form.height == pytest.approx(size.height)
    assert estimate.shapes[0].form.largest_diameter == pytest.approx(size.diameter)
    assert not [caution for caution in estimate.cautions if caution.code == "stack_difference"]


@pytest.mark.parametrize("unit", ["mm", "in"])
def test_each_shape_is_offered_by_its_picture_in_a_size_that_works_out(
    as_alice: Browser, studio: Studio, unit: str
) -> None:
    Studio.objects.update(length_unit=unit)
    page = unescape(as_alice.get("/designs/new/").content.decode())
    for shape in SHAPES:
        choice = re.search(rf'id="id_start_{shape}" data-height="(.+?)" data-diameter="(.+?)"[^<]*<svg', page)
        assert choice is not None
        size = {"height": choice[1], "diameter": choice[2]}
        given = {"title": shape, "start": shape, "wall": "5/16 in"}
        assert as_alice.post("/designs/new/", given | size).status_code == 302
        studio.refresh_from_db()
        form = Design.objects.get(title=shape).parts.get().form
        assert form.outer[-1][0] == pytest.approx(read_length(size["height"], studio), abs=0.01)


def test_a_copy_of_nothing_is_refused_at_its_field(as_alice: Browser, design: Design) -> None:
    answer = as_alice.post("/designs/new/", {"title": "Second", "start": "copy"})
    assert answer.status_code == 400
    assert "Which of your designs?" in answer.content.decode()
    assert Design.objects.count() == 1


def test_a_new_design_for_a_commission_becomes_its_design(as_alice: Browser, studio: Studio) -> None:
    job: Commission = CommissionFactory(studio=studio, design=None, title="Harbour bowl")
    page = as_alice.get(f"/designs/new/?job={job.pk}").content.decode()
    assert 'value="Harbour bowl"' in page
    given = {"title": "Bowl", "start": "bowl", "height": "3 in", "diameter": "200", "wall": "8"}
    answer = as_alice.post(f"/designs/new/?job={job.pk}", given)
    assert answer["Location"] == f"/jobs/{job.pk}/drawing/"
    job.refresh_from_db()
    assert job.design is not None
    assert job.design.parts.get().form.outer[-1] == [76.2, 100.0]


@pytest.mark.parametrize(
    "wrong", [{"height": ""}, {"height": "0"}, {"diameter": "99999999"}, {"start": "teapot"}]
)
def test_a_new_design_without_usable_measures_is_refused(
    as_alice: Browser, studio: Studio, wrong: dict[str, str]
) -> None:
    given = {"title": "Bowl", "start": "bowl", "height": "80", "diameter": "200", "wall": "8"}
    answer = as_alice.post("/designs/new/", {**given, **wrong})
    assert answer.status_code == 400
    assert not Design.objects.exists()


def test_a_copy_has_the_form_and_the_bands_of_its_original(as_alice: Browser, design: Design) -> None:
    as_alice.post("/designs/new/", {"title": "Second", "start": "copy", "original": design.pk})
    copy = Design.objects.get(title="Second")
    assert copy.parts.get().form.outer == design.parts.get().form.outer
    assert copy.parts.get().bands.count() == 1


def test_another_studios_design_is_not_copied(as_alice: Browser, design: Design) -> None:
    others: Design = DesignFactory(title="Somebody else's")
    page = as_alice.get("/designs/new/").content.decode()
    assert "Pot" in page
    assert "Somebody else" not in page
    given = {"title": "Second", "start": "copy", "original": others.pk}
    assert as_alice.post("/designs/new/", given).status_code == 400
    assert not Design.objects.filter(title="Second").exists()


def test_what_was_typed_stays_when_it_is_refused(as_alice: Browser) -> None:
    given = {"title": "<b>Bowl</b>", "start": "vase", "height": "wide", "diameter": "200", "wall": "8"}
    page = as_alice.post("/designs/new/", given).content.decode()
    assert 'name="height" value="wide"' in page
    assert re.search(r'id="id_start_vase"[^>]* checked>', page)
    assert "<b>Bowl" not in page
    assert "&lt;b&gt;Bowl" in page


def test_a_design_is_kept_as_a_template_and_offered_first(
    as_alice: Browser, studio: Studio, design: Design
) -> None:
    DesignFactory(studio=studio, title="Worked on since")
    page = as_alice.post(f"/designs/{design.pk}/template/", {"keep": "yes"}, follow=True).content.decode()
    assert "Kept as a template: Pot." in page
    assert page.index("<h2>Templates") < page.index(">Pot<") < page.index(">Worked on since<")
    new = as_alice.get("/designs/new/").content.decode()
    assert new.index(">Pot<") < new.index(">Worked on since<")
    design.refresh_from_db()
    assert (design.is_template, design.revision) == (True, 1)  # whoever has it open can still save
    as_alice.post(f"/designs/{design.pk}/template/", {"keep": "no"})
    design.refresh_from_db()
    assert not design.is_template


def test_somebody_elses_design_is_no_template_here(as_alice: Browser) -> None:
    others: Design = DesignFactory(title="Theirs")
    assert as_alice.post(f"/designs/{others.pk}/template/", {"keep": "yes"}).status_code == 404
    others.refresh_from_db()
    assert not others.is_template


def test_the_list_of_designs_shows_each_by_its_outline(as_alice: Browser, design: Design) -> None:
    form = design.parts.get().form
    form.outer = [[0, 20], [30, 50, "corner"], [80, 40]]
    form.save()
    page = as_alice.get("/designs/").content.decode()
    outline = re.search(r'<path d="M(.+?)Z"', page)
    assert outline is not None
    points = [tuple(map(float, point.split(","))) for point in outline[1].split()]
    # 100 mm wide and 80 high: as wide as its square, widest 30 of 80 mm above its foot, which is 40 mm wide.
    assert (50 - 20, 100) in [(x, y) for x, y in points]
    assert min(points)[0] == 0
    assert min(points)[1] == pytest.approx(100 - 30)
