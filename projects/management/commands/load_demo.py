"""`manage.py load_demo`: put the demo studio in, once, and say how to log in."""

from typing import Any

from django.core.management.base import BaseCommand

from projects.demo import LOG_IN, PASSWORD, STUDIO, load_demo


class Command(BaseCommand):
    """Loads the demo studio where it is missing; whatever is there already stays as it is."""

    help = "Put the demo studio in, once, and print its log-in."

    def handle(self, *args: Any, **options: Any) -> None:
        """Load it, or find it loaded."""
        load_demo()
        self.stdout.write(f"The demo studio is {STUDIO}. Log in as {LOG_IN}, password {PASSWORD}.")
