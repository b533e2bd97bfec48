"""`manage.py plan_sawing PK --runner WORD`: seeks a sawing plan further. The plan's page starts it."""

import os
from argparse import ArgumentParser
from threading import Event, Thread
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db import connection

from projects.models import SawingPlan
from projects.services.sawing_search import beat, search, search_go_on

BEAT_SECONDS = 3.0


class Command(BaseCommand):
    help = "Seek a sawing plan further, until it is proven, all is tried, or someone stops it."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("plan", type=int, metavar="PK", help="number of the plan")
        parser.add_argument(
            "--runner", default="", help="what the page claimed the search with; else it is claimed now"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        runner = options["runner"] or self._claimed(options["plan"])
        done = Event()
        heart = Thread(target=_keep_beating, args=(options["plan"], runner, done), daemon=True)
        heart.start()
        try:
            search(plan=options["plan"], runner=runner)
        finally:
            done.set()
            heart.join(timeout=BEAT_SECONDS)

    def _claimed(self, key: int) -> str:
        plan = SawingPlan.objects.filter(pk=key).first()
        if plan is None:
            raise CommandError(f"There is no sawing plan {key}.")
        if not plan.can_go_on:
            raise CommandError(f"Sawing plan {key} is sought already, is proven the best, or all was tried.")
        return search_go_on(plan=plan).runner


def _keep_beating(plan: int, runner: str, done: Event) -> None:
    """Sign that the search lives while the solver is at work; end the process once nobody wants it any more.

    The solver cannot be asked to stop between two answers. Each answer is kept in one transaction, so that
    the process may end at any time.
    """
    try:
        while not done.wait(BEAT_SECONDS):
            if not beat(plan, runner) and not done.is_set():
                os._exit(0)
    finally:
        connection.close()
