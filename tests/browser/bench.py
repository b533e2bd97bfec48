"""A bench for the browser's tests: a glue-up with its waits, and a server that can be killed."""

import datetime
import os
import signal
import socket
import subprocess
import sys
import time
from dataclasses import dataclass
from http.client import HTTPConnection
from pathlib import Path
from typing import Any
from urllib.parse import quote

from django.conf import settings
from django.db import connection
from django.utils import timezone

from projects.calendar import estimated
from projects.models import BenchStep, Commission

PATIENCE = 60.0
SET, CURE = 45, 720
"""Minutes that the glue-up waits."""

MIX, COAT, DOWN = "mix adhesive", "coat, stack and align layers", "take down, check run-out, true joint face"


def glue_up(job: Commission) -> dict[str, BenchStep]:
    """Steps planned for today: the job's first stack, which sets and cures by itself, and the taking down after it."""
    number, layers = first_stack(job)
    what = f"layers {layers[0]} to {layers[-1]}"
    rows: list[tuple[str, str, str, int, dict[str, Any]]] = [
        ("up", f"Glue {what}", "hands_on", 25, {"shares": {MIX: [6, 1], COAT: [19, len(layers)]}}),
        ("up.set", f"Set: {what}", "set", SET, {"after": ["up"], "at_once_after": "up"}),
        ("up.cure", f"Cure: {what}", "cure", CURE, {"after": ["up.set"]}),
        ("up.down", f"Take down: {what}", "hands_on", 12, {"after": ["up.cure"], "shares": {DOWN: [12, 1]}}),
    ]
    now = timezone.now().replace(microsecond=0)
    made = {}
    for position, (key, name, kind, minutes, more) in enumerate(rows):
        start = now + datetime.timedelta(seconds=position)
        made[key] = BenchStep.objects.create(
            commission=job,
            key=key,
            name=name,
            kind=kind,
            minutes=minutes,
            position=position,
            glue_up=number,
            layers=layers,
            part="body",
            planned_start=start,
            planned_end=start + datetime.timedelta(minutes=minutes),
            **more,
        )
    return made


def first_stack(job: Commission) -> tuple[int, list[int]]:
    """Number and layers of the first glue-up that stacks layers."""
    stack = next(one for one in estimated(job).glue_ups if one.kind == "stack")
    return stack.number, list(stack.layers)


def database_url() -> str:
    """This test's database, for another process."""
    at = connection.settings_dict
    if connection.vendor == "sqlite":
        return f"sqlite:///{at['NAME']}"
    user, password, name = (quote(str(at[key]), safe="") for key in ("USER", "PASSWORD", "NAME"))
    return f"postgresql://{user}:{password}@{at['HOST']}:{at['PORT']}/{name}"


@dataclass
class Served:
    """The site in a process of its own, on this test's database."""

    media: Path
    port: int = 0
    process: subprocess.Popen[bytes] | None = None

    @property
    def url(self) -> str:
        """Where it is."""
        return f"http://127.0.0.1:{self.port}"

    def start(self) -> None:
        """Start it, and wait until it answers; on the same port as before."""
        self.port = self.port or _free_port()
        environment = {
            **os.environ, "DATABASE_URL": database_url(), "DEBUG": "", "TURNERY_MEDIA": str(self.media),
        }  # fmt: skip
        command = [sys.executable, "-m", "gunicorn", "--threads", "4", "--bind", f"127.0.0.1:{self.port}"]
        self.process = subprocess.Popen(
            [*command, "turnery.wsgi"],
            cwd=settings.BASE_DIR,
            env=environment,
            start_new_session=True,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        until = time.monotonic() + PATIENCE
        while time.monotonic() < until:
            assert self.process.poll() is None, "the server ended by itself"
            try:
                asked = HTTPConnection("127.0.0.1", self.port, timeout=5)
                asked.request("GET", "/bench/sw.js")
                if asked.getresponse().status == 200:
                    return
            except OSError:
                time.sleep(0.1)
        raise AssertionError("the server does not answer")

    def kill(self) -> None:
        """Kill it and its workers with SIGKILL: it cannot write anything any more."""
        if self.process is not None:
            os.killpg(self.process.pid, signal.SIGKILL)
            self.process.wait(timeout=30)
            self.process = None


def _free_port() -> int:
    with socket.socket() as door:
        door.bind(("127.0.0.1", 0))
        port: int = door.getsockname()[1]
        return port
