"""`manage.py backup FOLDER`: the database and the photos, copied while the server runs, checked, kept by a rule."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from projects.backup import folders, keeping, server
from projects.backup.databases import BackupRefused

_LISTED = 5


class Command(BaseCommand):
    """Says one line of what was written, and one for each old backup that went."""

    help = "Copy the database and the photos into a folder of their own in FOLDER, while the server runs."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """FOLDER, and which backups there are kept."""
        parser.add_argument("folder", type=Path, metavar="FOLDER", help="where backups are kept")
        parser.add_argument(
            "--keep",
            metavar="RULE",
            help="such as daily=7,weekly=5,monthly=12: the last backup of so many days, weeks and months stays, the "
            "others go; without it all stay",
        )
        parser.add_argument(
            "--dry-run", action="store_true", help="say what would be written and go, and do neither"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        """Write it; old ones go only once it is whole."""
        folder, now = options["folder"], timezone.now()
        rule = _rule(options["keep"])
        if options["dry_run"]:
            self.stdout.write(
                f"Would write {folder / folders.name_of(now)}: {server.as_told(server.counts())}."
            )
            for old in server.goes(folder, rule, with_one_at=now) if rule else ():
                self.stdout.write(f"Would go: {old.folder}")
            return
        try:
            backup = server.back_up(folder, now=now)
            size = sum(one["size"] for one in backup.files.values())
            counted = server.as_told(backup.told["counts"])
            self.stdout.write(f"Wrote and checked {backup.folder}: {counted}, {size / 1e6:.1f} MB.")
            self._tell_lacking(server.lacking(backup))
            for old in server.goes(folder, rule) if rule else ():
                folders.clear(old)
                self.stdout.write(f"Gone: {old.folder}")
        except BackupRefused as refusal:
            raise CommandError(str(refusal)) from refusal
        except OSError as error:
            raise CommandError(f"{error.filename or folder}: {error.strerror or error}") from error

    def _tell_lacking(self, names: list[str]) -> None:
        """A backup cannot have what is gone already, and whoever keeps the last that has it should hear of it."""
        if names:
            more = f" and {len(names) - _LISTED} more" if len(names) > _LISTED else ""
            listed = ", ".join(names[:_LISTED])
            self.stderr.write(
                f"Gone from the disk, and so not in it: {len(names)} ({listed}{more}). An earlier backup may have them."
            )


def _rule(text: str | None) -> keeping.Rule | None:
    try:
        return None if text is None else keeping.rule_of(text)
    except ValueError as refusal:
        raise CommandError(f"--keep: {refusal}") from refusal
