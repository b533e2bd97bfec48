"""The piece in the round: its page and model for those of the studio, and for no one else."""

import io
from typing import Any

import pytest
import trimesh
from django.test import Client as Browser

from projects.estimates import estimate_design
from projects.models import Design, Studio
from projects.pages.solid import measures, solid_of
from projects.pages.starting import Size, start_design
from projects.services.commissions import commission_create
from projects.services.studios import client_create


@pytest.fixture
def design(studio: Studio) -> Design:
    """A small bowl whose title is no markup."""
    size = Size(height=60, diameter=180, wall=8)
    return start_design(studio=studio, title="Bowl </script><b>", shape="bowl", size=size)


def test_the_page_shows_the_drawing_and_names_the_model(as_alice: Browser, design: Design) -> None:
    page = as_alice.get(f"/designs/{design.pk}/solid/")
    assert page.status_code == 200
    html = page.content.decode()
    assert f'data-solid="/designs/{design.pk}/solid.glb"' in html
    assert "Bowl &lt;/script&gt;&lt;b&gt;" in html
    assert "</script><b>" not in html
    assert "<svg" in html


def test_the_model_is_the_saved_design_turned_or_glued(as_alice: Browser, design: Design) -> None:
    _, estimate = estimate_design(design)
    turned = as_alice.get(f"/designs/{design.pk}/solid.glb")
    assert (turned.status_code, turned["Content-Type"]) == (200, "model/gltf-binary")
    assert turned["Cache-Control"] == "private, no-cache"
    scene = trimesh.load(io.BytesIO(turned.content), file_type="glb")
    volume = 1e9 * sum(mesh.volume for mesh in scene.geometry.values())
    assert volume == pytest.approx(float(estimate.shapes[0].stack.turned.sum()), rel=1e-4)
    glued = as_alice.get(f"/designs/{design.pk}/solid.glb?glued=1").content
    assert glued == solid_of(estimate, studio=design.studio, glued=True)
    assert glued != turned.content


def test_a_commission_shows_its_designs_model_under_its_own_title(
    as_alice: Browser, design: Design, studio: Studio
) -> None:
    client = client_create(studio=studio, kind="gallery", name="Harbour Row")
    job = commission_create(studio=studio, client=client, title="Harbour bowl", design=design)
    page = as_alice.get(f"/jobs/{job.pk}/solid/")
    assert page.status_code == 200
    assert "Harbour bowl: in the round" in page.content.decode()
    bare = commission_create(studio=studio, client=client, title="Not drawn yet")
    assert as_alice.get(f"/jobs/{bare.pk}/solid/")["Location"] == f"/designs/new/?job={bare.pk}"


@pytest.mark.parametrize("address", ["/designs/{}/solid/", "/designs/{}/solid.glb"])
def test_an_outsider_finds_nothing_and_a_stranger_is_shown_the_door(
    as_charlie: Browser, design: Design, address: str
) -> None:
    assert as_charlie.get(address.format(design.pk)).status_code == 404
    assert as_charlie.get(address.format(10**9)).status_code == 404
    stranger = Browser().get(address.format(design.pk))
    assert stranger.status_code == 302
    assert stranger["Location"].startswith("/account/log-in/")


def test_an_outsider_finds_no_commission(as_charlie: Browser, design: Design, studio: Studio) -> None:
    client = client_create(studio=studio, kind="gallery", name="Harbour Row")
    job = commission_create(studio=studio, client=client, title="Harbour bowl", design=design)
    assert as_charlie.get(f"/jobs/{job.pk}/solid/").status_code == 404


def test_a_design_that_does_not_work_out_says_what_is_wrong(
    as_alice: Browser, design: Design, monkeypatch: Any
) -> None:
    from estimating.errors import InvalidInput, InvalidSheet
    from projects.pages import solid

    def refuse(*_: Any, **__: Any) -> None:
        raise InvalidSheet([InvalidInput("bands", "the stack <ends> short")])

    monkeypatch.setattr(solid, "estimate_design", refuse)
    page = as_alice.get(f"/designs/{design.pk}/solid/")
    assert page.status_code == 200
    assert "the stack &lt;ends&gt; short" in page.content.decode()
    model = as_alice.get(f"/designs/{design.pk}/solid.glb")
    assert model.status_code == 422
    assert model.json() == {"errors": [{"place": "bands", "reason": "the stack <ends> short"}]}


def test_measures_are_told_as_the_studio_writes_them(design: Design) -> None:
    studio = design.studio
    studio.length_unit, studio.inch_style = "in", "fraction"
    _, estimate = estimate_design(design)
    told = measures(estimate, studio=studio)
    assert set(told["layers"]) == set(range(1, len(estimate.shapes[0].stack) + 1))
    for layer, of in told["layers"].items():
        assert of["ring"] == estimate.shapes[0].ring_of[layer - 1] + 1
    ring = estimate.shapes[0].rings[0]
    rows = dict(told["rings"][1]["rows"])
    # An inch is 25.4 mm exactly; fractions are to the nearest sixty-fourth.
    sixty_fourths = round(ring.outer_edge / 25.4 * 64)
    whole, _, part = rows["long edge, in"].partition(" ")
    above, _, below = (part or whole).partition("/")
    said = (int(whole) if part or not below else 0) * 64
    said += int(above) * 64 // int(below) if below else 0
    assert said == sixty_fourths
    assert told["rings"][1]["woods"] == [estimate.workshop.woods[key].name for key in ring.pattern]
