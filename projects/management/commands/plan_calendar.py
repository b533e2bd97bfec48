"""`manage.py plan_calendar PK [--runner WORD] [--anew]`: seeks a studio's calendar further. Its page starts it."""

import os
from argparse import ArgumentParser
from threading import Event, Thread
from typing import Any

from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError
from django.db import connection

from projects.models import Studio
from projects.services.calendar import calendar_plan
from projects.services.calendar_search import beat, calendar_seek, first_answer, search

BEAT_SECONDS = 5.0


class Command(BaseCommand):
    help = "Plan a studio's calendar, and seek further until it is proven the earliest or all is tried."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("studio", type=int, metavar="PK", help="number of the studio")
        parser.add_argument(
            "--runner",
            default="",
            help="what the page claimed the search with; else it is planned and claimed now",
        )

        parser.add_argument(
            "--anew", action="store_true", help="no further than the first answer, as the page claimed it"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        studio = Studio.objects.filter(pk=options["studio"]).first()
        if studio is None:
            raise CommandError(f"There is no studio {options['studio']}.")
        runner = options["runner"] or self._claimed(studio)
        if not runner:
            return
        done = Event()
        heart = Thread(target=_keep_beating, args=(studio, runner, done), daemon=True)
        heart.start()
        try:
            (first_answer if options["anew"] else search)(studio=studio, runner=runner)
        finally:
            done.set()
            heart.join(timeout=BEAT_SECONDS)

    def _claimed(self, studio: Studio) -> str:
        try:
            if calendar_plan(studio=studio).proven:
                return ""
            return calendar_seek(studio=studio).runner
        except ValidationError as refusal:
            raise CommandError(" ".join(refusal.messages)) from refusal


def _keep_beating(studio: Studio, runner: str, done: Event) -> None:
    """Sign that the search lives while the solver is at work; end the process once nobody wants it any more.

    The solver cannot be asked to stop between two answers. Each answer is kept in one transaction, so that
    the process may end at any time.
    """
    try:
        while not done.wait(BEAT_SECONDS):
            if not beat(studio, runner) and not done.is_set():
                os._exit(0)
    finally:
        connection.close()
