"""Glue cards kept with their steps: of the design as it is until the work begins, and for fewer rings than before."""

import pytest
from django.contrib.auth.models import User
from django.utils import timezone

from estimating.glue.joints import joint_areas
from estimating.glue.mixing import spread_ml
from projects.calendar import estimated
from projects.models import BenchStep, Commission
from projects.pages.starting import Size, start_design
from projects.services.bench_cards import cards_kept, of_rings
from projects.services.commissions import commission_create
from projects.services.studios import client_create, studio_create
from tests.browser.bench import glue_up
from tests.factories import BandFactory


@pytest.fixture
def job(db: None) -> Commission:
    studio = studio_create(name="Larch Bench", owner=User.objects.create_user("lena"))
    design = start_design(
        studio=studio, title="Bowl", shape="bowl", size=Size(height=60, diameter=180, wall=8)
    )
    client = client_create(studio=studio, kind="gallery", name="Harbour Row")
    job = commission_create(studio=studio, client=client, title="Bowl", design=design)
    job.stage = "making"
    job.save()
    return job


@pytest.fixture
def step(job: Commission) -> BenchStep:
    """A glue-up that waits."""
    return glue_up(job)["up"]


def kept(step: BenchStep) -> dict:
    row = BenchStep.objects.select_related("commission__studio", "commission__design").get(pk=step.pk)
    cards_kept(studio=row.commission.studio, steps=[row])
    card: dict = BenchStep.objects.get(pk=step.pk).card
    assert row.card == card
    return card


def test_a_card_follows_the_design_until_the_work_begins_and_then_never_again(
    job: Commission, step: BenchStep
) -> None:
    assert job.design is not None
    first = kept(step)
    assert [course["layer"] for course in first["courses"]] == step.layers
    adhesive = job.studio.adhesives.get(usual=True)
    adhesive.film *= 2
    adhesive.save()
    second = kept(step)
    assert second["needed_ml"] == pytest.approx(2 * first["needed_ml"])
    now = timezone.now()
    BenchStep.objects.filter(pk=step.pk).update(state="running", started_at=now)
    adhesive.film /= 2
    adhesive.save()
    assert kept(step) == second


def test_a_glue_up_that_the_design_no_longer_has_has_no_card(job: Commission, step: BenchStep) -> None:
    assert "courses" in kept(step)
    BenchStep.objects.filter(pk=step.pk).update(layers=[1, 99], card={})
    assert "courses" not in kept(step)
    BenchStep.objects.filter(pk=step.pk).update(glue_up=9999)
    assert "courses" not in kept(step)
    assert job.design is not None
    BandFactory(part=job.design.parts.get(), position=9, layers=500)
    assert "courses" not in kept(step)


def test_the_card_of_fewer_rings_has_the_adhesive_of_their_joints_alone(job: Commission) -> None:
    estimate = estimated(job)
    shop = estimate.sheet.shop
    ends = joint_areas(estimate.shapes, margin=shop.coat_margin).ends
    for card in estimate.cards:
        glue_up = card.glue_up
        if glue_up.kind not in ("half_ring", "ring"):
            continue
        assert of_rings(estimate, card, glue_up.rings).ml == pytest.approx(card.ml)
        for ring, share in zip(glue_up.rings, glue_up.end_shares, strict=True):
            one = of_rings(estimate, card, [ring])
            assert one.ml == pytest.approx(spread_ml(faces=0, ends=float(ends[ring - 1]) * share, shop=shop))
            assert [work.ring for work in one.rings] == [ring]
