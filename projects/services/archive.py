"""A studio out of the database as one file, and in again: the door to `projects.archive`."""

from typing import IO, Any

from projects.archive.reading import open_archive
from projects.archive.restoring import Restored, restore
from projects.archive.schema import UnreadableArchive, UnwritableArchive
from projects.archive.writing import write_archive
from projects.models import Studio

__all__ = ["Restored", "UnreadableArchive", "UnwritableArchive", "studio_archive", "studio_restore"]


def studio_archive(*, studio: Studio, file: IO[bytes], passwords: bool = False) -> dict[str, Any]:
    """Write a studio into an open file, and return the archive's manifest.

    People come without their passwords' hashes unless `passwords`.
    Errors: UnwritableArchive.
    """
    return write_archive(studio, file, passwords=passwords)


def studio_restore(*, file: IO[bytes], rename: bool = False, dry_run: bool = False) -> Restored:
    """Put the studio of an archive in as one more, exactly as it was; with `dry_run` look only.

    Log-ins have no password then, unless the archive has its hash; `rename` gives those whose names are taken another.
    Errors: UnreadableArchive with the place of what is wrong, and nothing is changed.
    """
    return restore(open_archive(file), rename=rename, dry_run=dry_run)
