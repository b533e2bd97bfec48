"""A search in a process of its own, as a page starts it: it writes what it finds, and may be stopped or die."""

import os
import signal
import subprocess
import sys
import time
from typing import Any
from urllib.parse import quote

import pytest
from django.conf import settings
from django.db import connection

from projects.models import SawingPlan
from projects.models.sawing import PlanState
from projects.services.sawing import plan_create
from projects.services.sawing_search import search_start, search_stop
from tests.factories import BoardFactory, CommissionFactory, StudioFactory

pytestmark = pytest.mark.django_db(transaction=True)
PATIENCE = 90.0


@pytest.fixture(autouse=True)
def same_database(monkeypatch: Any) -> None:
    """The other process is told of this test's database."""
    at = connection.settings_dict
    if connection.vendor == "sqlite":
        url = f"sqlite:///{at['NAME']}"
    else:
        user, password, name = (quote(str(at[key]), safe="") for key in ("USER", "PASSWORD", "NAME"))
        url = f"postgresql://{user}:{password}@{at['HOST']}:{at['PORT']}/{name}"
    monkeypatch.setenv("DATABASE_URL", url)


@pytest.fixture
def plan() -> SawingPlan:
    """A plan with more to be sought."""
    studio = StudioFactory()
    for key in ("maple", "walnut"):
        BoardFactory(wood=studio.woods.get(key=key), length=1700, width=170, thickness=27, count=2)
        BoardFactory(wood=studio.woods.get(key=key), length=1100, width=140, thickness=27, count=2)
    made = plan_create(studio=studio, commissions=[CommissionFactory(studio=studio, quantity=2)])
    assert made.state == PlanState.SEARCHING
    return made


def _until_ended(plan: SawingPlan) -> SawingPlan:
    until = time.monotonic() + PATIENCE
    while time.monotonic() < until:
        plan.refresh_from_db()
        if plan.state != PlanState.SEARCHING:
            return plan
        time.sleep(0.2)
    raise AssertionError(f"still {plan.state}: {plan.progress}")


def test_a_search_runs_in_a_process_of_its_own_and_writes_each_answer(plan: SawingPlan) -> None:
    search_start(plan)
    found = _until_ended(plan)
    assert found.state == PlanState.READY
    assert found.trouble == ""
    assert len(found.steps) > 1
    assert all(step["seconds"] is not None for step in found.steps[1:])


def test_a_search_that_is_asked_to_stop_ends_by_itself(plan: SawingPlan) -> None:
    search_stop(plan=plan)
    search_start(plan)
    found = _until_ended(plan)
    assert (found.state, found.effort) == (PlanState.READY, 0)
    assert "Stopped" in found.progress


def test_a_search_that_was_killed_leaves_the_plan_readable_and_still_its_own(plan: SawingPlan) -> None:
    manage = settings.BASE_DIR / "manage.py"
    killed = subprocess.Popen([sys.executable, manage, "plan_sawing", str(plan.pk), "--runner", plan.runner])
    os.kill(killed.pid, signal.SIGKILL)
    assert killed.wait(timeout=30) == -signal.SIGKILL
    before = plan.plan
    plan.refresh_from_db()
    assert plan.state == PlanState.SEARCHING
    assert plan.plan == before
    # Nobody took it over, so that the same search may simply be started again.
    search_start(plan)
    assert _until_ended(plan).state == PlanState.READY
