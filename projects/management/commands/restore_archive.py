"""`manage.py restore_archive FILE [--dry-run]`: puts the studio of an archive in as one more."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from projects.services.archive import Restored, UnreadableArchive, studio_restore


class Command(BaseCommand):
    """All of it or nothing: what is there already is never touched."""

    help = "Put the studio of an archive in, beside whatever is there. Log-ins have no password then until one is set."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """FILE, whether to look only, and what to do with names that are taken."""
        parser.add_argument("file", type=Path, metavar="FILE", help="what `archive` wrote")
        parser.add_argument("--dry-run", action="store_true", help="check everything, and change nothing")
        parser.add_argument(
            "--rename-log-ins",
            action="store_true",
            help="put a number behind log-ins whose names are taken, which is refused otherwise",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        """Check it and put it in, and say how people log in."""
        try:
            with options["file"].open("rb") as file:
                done = studio_restore(file=file, rename=options["rename_log_ins"], dry_run=options["dry_run"])
        except UnreadableArchive as refusal:
            raise CommandError(f"{refusal} Nothing was changed.") from refusal
        except OSError as error:
            why = error.strerror or error
            raise CommandError(f"{error.filename or options['file']}: {why}. Nothing was changed.") from error
        self._tell(done, dry_run=options["dry_run"])

    def _tell(self, done: Restored, *, dry_run: bool) -> None:
        rows = sum(done.counts.values())
        verb = "can be put in" if dry_run else "was put in"
        self.stdout.write(f"{done.studio} {verb}: {rows} rows, {done.files} files.")
        if done.missing:
            self.stdout.write(f"{done.missing} photos were gone from the disk already.")
        if dry_run:
            self.stdout.write("Nothing was changed.")
            return
        for was, name in done.log_ins.items():
            renamed = f" (was {was})" if was != name else ""
            self.stdout.write(f"Log-in {name}{renamed}")
        if not done.with_passwords:
            self.stdout.write("They have no passwords: set each with `manage.py changepassword NAME`.")
        self.stdout.write("Clients' links are revoked, and calendar addresses have to be made anew.")
