"""`manage.py stray_photos [--remove]`: lists photo files that no row names, and takes them away where asked to."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from projects.backup import stray
from projects.backup.databases import BackupRefused


class Command(BaseCommand):
    """A line for each file, and one of how many there are."""

    help = "List photo files that no row names and that are a day old, as a server that was killed may leave them."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Whether they go."""
        parser.add_argument("--remove", action="store_true", help="take them away; make a backup before")

    def handle(self, *args: Any, **options: Any) -> None:
        """List them; remove them only where asked to."""
        media = Path(settings.MEDIA_ROOT)
        try:
            found = stray.stray_in(media, now=timezone.now())
            for one in found:
                if options["remove"]:
                    (media / one.name).unlink(missing_ok=True)
                self.stdout.write(f"{one.name}  {one.size / 1e6:.2f} MB")
        except BackupRefused as refusal:
            raise CommandError(str(refusal)) from refusal
        except OSError as error:
            raise CommandError(f"{error.filename or media}: {error.strerror or error}") from error
        size = sum(one.size for one in found) / 1e6
        if not found:
            self.stdout.write("Every photo is named by a row, or younger than a day.")
        elif options["remove"]:
            self.stdout.write(f"Gone: {len(found)} files that no row named, {size:.1f} MB.")
        else:
            self.stdout.write(
                f"No row names these {len(found)} files, {size:.1f} MB: --remove takes them away."
            )
