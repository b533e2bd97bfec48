"""What a maker is told of a stack as measured: its verdict is kept, and the rest is made to meet the rim."""

from typing import Any
from uuid import uuid4

import pytest

from projects.models import AsBuilt, BenchStep, Commission, Member, Studio
from projects.services.bench import bench_tap
from tests.factories import BenchStepFactory, CommissionFactory, DesignFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def maker(alice: Any) -> Member:
    return alice.member


@pytest.fixture
def job(studio: Studio) -> Commission:
    return CommissionFactory(studio=studio, stage="making", design=DesignFactory(studio=studio))


@pytest.fixture
def stack(job: Commission) -> BenchStep:
    """The step that stacks the design's layers."""
    from projects.calendar import estimated

    glue_up = next(one for one in estimated(job).glue_ups if one.kind == "stack")
    return BenchStepFactory(commission=job, key="s", glue_up=glue_up.number, layers=list(glue_up.layers))


def planned(job: Commission, layers: list[int]) -> float:
    from projects.calendar import estimated

    stack = estimated(job).shapes[0].stack
    return float(stack.top[layers[-1] - 1] - stack.bottom[layers[0] - 1])


def measured(maker: Member, step: BenchStep, **payload: float) -> str:
    tap = bench_tap(member=maker, uuid=uuid4(), act="measure", step=step, payload=payload)
    assert tap.accepted
    return tap.outcome


def test_a_stack_that_runs_true_may_stay_and_one_that_misses_the_form_may_not(
    maker: Member, stack: BenchStep
) -> None:
    assert "good" in measured(maker, stack, run_out_mm=0.1)
    assert "make it again" in measured(maker, stack, run_out_mm=60)
    assert sorted(AsBuilt.objects.values_list("verdict", flat=True)) == ["good", "remake"]


def test_a_height_is_held_against_the_drawing(maker: Member, stack: BenchStep, job: Commission) -> None:
    height = planned(job, stack.layers)
    assert measured(maker, stack, height_mm=round(height, 3)) == "Measured. Height: as drawn."
    told = measured(maker, stack, height_mm=round(height + 2, 3))
    assert "too tall" in told
    assert "misses the rim by" in told
    assert "move the form" in told.lower()
    assert set(AsBuilt.objects.values_list("verdict", flat=True)) == {""}


def test_a_step_that_stacks_nothing_is_measured_without_a_word(maker: Member, stack: BenchStep) -> None:
    stack.layers = [1]
    stack.save()
    assert measured(maker, stack, run_out_mm=0.2) == "Measured."
    stack.glue_up = None
    stack.save()
    assert measured(maker, stack, run_out_mm=0.2) == "Measured."
