"""Timers run by stored times alone: a process that is killed loses none, and the next one goes on with them."""

import datetime
import os
import signal
import subprocess
import sys
import time
from typing import Any
from urllib.parse import quote
from uuid import uuid4

import pytest
from django.conf import settings
from django.db import connection
from django.utils import timezone

from projects.models import BenchStep, CalendarPlan, HoursEntry
from projects.services.bench import bench_tap
from projects.services.calendar import calendar_plan
from projects.services.calendar_search import calendar_seek, search_start
from tests.factories import BenchStepFactory, CommissionFactory, MemberFactory

pytestmark = pytest.mark.django_db(transaction=True)
MINUTE = datetime.timedelta(minutes=1)
PATIENCE = 120.0

SETTLE = """
import datetime, sys
from projects.models import Studio
from projects.services.bench import settle
settle(studio=Studio.objects.get(), now=datetime.datetime.fromisoformat(sys.argv[1]))
"""
TAP_AND_HANG = """
import sys, time, uuid
from projects.models import BenchStep, Member
from projects.services.bench import bench_tap
bench_tap(member=Member.objects.get(), uuid=uuid.UUID(sys.argv[1]), act="end", step=BenchStep.objects.get(key="g"))
print("tapped", flush=True)
time.sleep(600)
"""
START = "import os, sys, django; sys.path.insert(0, os.getcwd()); django.setup()\n"


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
    monkeypatch.setenv("DJANGO_SETTINGS_MODULE", "turnery.settings")


def _process(code: str, *told: str) -> "subprocess.Popen[str]":
    return subprocess.Popen(
        [sys.executable, "-c", START + code, *told], cwd=settings.BASE_DIR, stdout=subprocess.PIPE, text=True
    )


def test_a_cure_goes_on_through_a_process_that_is_killed_and_ends_by_the_clock() -> None:
    maker = MemberFactory()
    step = BenchStepFactory(commission__studio=maker.studio, key="g", position=1)
    cure = BenchStepFactory(
        commission=step.commission, key="g.cure", kind="cure", minutes=720, after=["g"], position=2, shares={}
    )
    bench_tap(member=maker, uuid=uuid4(), act="start", step=step, at=timezone.now() - 30 * MINUTE)
    once = uuid4()
    tapped = _process(TAP_AND_HANG, str(once))
    assert tapped.stdout is not None
    assert tapped.stdout.readline() == "tapped\n"
    os.kill(tapped.pid, signal.SIGKILL)
    assert tapped.wait(timeout=30) == -signal.SIGKILL
    cure.refresh_from_db()
    assert cure.state == "running"
    began, ends = cure.started_at, cure.ends_at
    assert ends == began + 720 * MINUTE
    # The device heard no answer and sends the tap again: nothing is logged twice.
    assert bench_tap(member=maker, uuid=once, act="end", step=step).accepted
    assert HoursEntry.objects.count() == 1
    for at, state in ((ends - MINUTE, "running"), (ends + MINUTE, "done")):
        assert _process(SETTLE, at.isoformat()).wait(timeout=60) == 0
        cure.refresh_from_db()
        assert (cure.state, cure.started_at) == (state, began)
    assert cure.ended_at == ends, "when it was over, not when somebody looked"


def test_a_longer_search_runs_in_a_process_of_its_own() -> None:
    studio = MemberFactory().studio
    job = CommissionFactory(studio=studio, stage="making")
    first = calendar_plan(studio=studio)
    CalendarPlan.objects.update(proven=False)  # what is proven at once would not be sought any further
    search_start(calendar_seek(studio=studio))
    until = time.monotonic() + PATIENCE
    while time.monotonic() < until:
        first.refresh_from_db()
        if not first.runner:
            break
        time.sleep(0.3)
    assert first.runner == ""
    assert first.trouble == ""
    assert first.proven or first.effort > 0
    assert BenchStep.objects.filter(commission=job, planned_start=None).live().count() == 0
