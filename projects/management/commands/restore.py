"""`manage.py restore BACKUP [--dry-run]`: puts a backup in the place of the database and the photos."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from projects.backup import server
from projects.backup.databases import BackupRefused

_LISTED = 5


class Command(BaseCommand):
    """The present database and photos are set aside first, as a backup of their own."""

    help = "Put a backup in the place of the database and the photos. Stop the server first."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """BACKUP, and whether to look only."""
        parser.add_argument("backup", type=Path, metavar="BACKUP", help="a folder that `backup` wrote")
        parser.add_argument(
            "--dry-run", action="store_true", help="check it, say what it would replace, and stop"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        """Check it, say what changes, and do it."""
        try:
            putting = server.look(options["backup"])
            self._tell(putting)
            if options["dry_run"]:
                self.stdout.write("Nothing was changed.")
                return
            kept = server.put_back(putting, aside=Path(settings.VAR_DIR) / "set-aside")
        except BackupRefused as refusal:
            raise CommandError(str(refusal)) from refusal
        except OSError as error:
            raise CommandError(f"{error.filename or options['backup']}: {error.strerror or error}") from error
        if kept is not None:
            self.stdout.write(f"What was here is set aside in {kept}.")
        self.stdout.write(f"Restored. There are {server.as_told(server.counts())}.")
        if putting.behind:
            self.stdout.write("The backup is of an earlier Turnery: run `manage.py migrate`.")

    def _tell(self, putting: server.Putting) -> None:
        backup = putting.backup
        said = f"The backup of {backup.made_at:%Y-%m-%d %H:%M} UTC is whole"
        self.stdout.write(f"{said}: {server.as_told(backup.told.get('counts', {}))}.")
        self.stdout.write(f"It takes the place of {putting.database}: {server.as_told(putting.counts)}.")
        for words, names in (("come", putting.comes), ("change", putting.changes), ("go", putting.goes)):
            if names:
                more = f" and {len(names) - _LISTED} more" if len(names) > _LISTED else ""
                self.stdout.write(f"Photos that {words}: {len(names)} ({', '.join(names[:_LISTED])}{more}).")
