"""`manage.py archive STUDIO FILE`: a whole studio as one file, which restore_archive takes in on any server."""

import os
import tempfile
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from projects.models import Studio
from projects.services.archive import UnwritableArchive, studio_archive


class Command(BaseCommand):
    """Writes beside FILE first, and gives it its name once it is whole."""

    help = "Write a studio, with its photos and papers, into one ZIP file that restore_archive takes in."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Which studio, where to, and whether passwords go with it."""
        parser.add_argument("studio", metavar="STUDIO", help="the studio's number or name")
        parser.add_argument("file", type=Path, metavar="FILE", help="the ZIP file to write")
        parser.add_argument(
            "--with-passwords",
            action="store_true",
            help="put in the passwords' hashes; otherwise restored log-ins have none until one is set",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        """Write it, for its owner's eyes alone; a file that is there stays."""
        studio = find_studio(options["studio"])
        file: Path = options["file"]
        if file.exists():
            raise CommandError(f"{file}: is there already. Choose another name.")
        try:
            manifest = _written(studio, file, passwords=options["with_passwords"])
        except UnwritableArchive as refusal:
            raise CommandError(str(refusal)) from refusal
        except OSError as error:
            raise CommandError(f"{file}: {error.strerror or error}") from error
        rows = sum(one["count"] for one in manifest["rows"].values())
        files = sum(name.startswith("files/") for name in manifest["members"])
        self.stdout.write(f"{studio} is in {file}: {rows} rows, {files} files.")
        for name in manifest["missing"]:
            self.stderr.write(f"{name}: the photo is gone from the disk, and is carried as missing.")


def _written(studio: Studio, file: Path, *, passwords: bool) -> dict[str, Any]:
    """The archive under its name, or nothing; its manifest."""
    handle, draft = tempfile.mkstemp(dir=file.parent, prefix=f".{file.name}.")
    try:
        with os.fdopen(handle, "wb") as out:
            manifest = studio_archive(studio=studio, file=out, passwords=passwords)
            out.flush()
            os.fsync(out.fileno())
        _named(draft, file)
        return manifest
    finally:
        Path(draft).unlink(missing_ok=True)


def _named(draft: str, file: Path) -> None:
    """Give it its name, which a link refuses where somebody took that meanwhile; not every disk knows links."""
    try:
        os.link(draft, file)
    except FileExistsError:
        raise
    except OSError:
        os.replace(draft, file)


def find_studio(wanted: str) -> Studio:
    """The studio of that number, or else of that name. Errors: CommandError for none, or for several of one name."""
    if wanted.isdecimal() and (found := Studio.objects.filter(pk=int(wanted[:18])).first()):
        return found
    named = list(Studio.objects.filter(name=wanted))
    if len(named) > 1:
        numbers = ", ".join(str(studio.pk) for studio in named)
        raise CommandError(f"Several studios are called {wanted}. Give the number of one: {numbers}.")
    if not named:
        raise CommandError(f"There is no studio {wanted}.")
    return named[0]
