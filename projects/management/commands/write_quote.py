"""`manage.py write_quote FILE`: write an issued quote's papers to files, as they were when it was issued."""

import os
import tempfile
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from projects.demo import STUDIO
from projects.models import Quote
from projects.models.quotes import QuoteState


class Command(BaseCommand):
    """Writes the client's copy to FILE and the trade copy beside it."""

    help = (
        "Write an issued quote's client copy to FILE and its trade copy beside it, its name ending in -trade."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        """FILE, and which quote."""
        parser.add_argument("file", type=Path, metavar="FILE", help="where the client's copy goes, a PDF")
        parser.add_argument(
            "--quote", metavar="NUMBER", help='such as 2026-001 or "2026-001 B"; else the demo\'s'
        )
        parser.add_argument("--studio", help="the studio's name, where several have such a number")

    def handle(self, *args: Any, **options: Any) -> None:
        """Find the quote and write both papers; files that are there are replaced whole or not at all."""
        file: Path = options["file"]
        quote = find_quote(number=options["quote"], studio=options["studio"])
        trade = file.with_name(f"{file.stem}-trade{file.suffix}")
        for path, paper in ((trade, quote.trade_pdf), (file, quote.client_pdf)):
            try:
                write_whole(path, bytes(paper))
            except OSError as error:
                raise CommandError(f"{path}: {error.strerror or error}") from error
        self.stdout.write(f"Quote {quote.reference} is in {file}, its trade copy in {trade}.")


def find_quote(*, number: str | None, studio: str | None) -> Quote:
    """The issued quote of that number, its latest revision unless one is named; the demo's latest without a number.

    Errors: CommandError when there is none, or more than one studio has it.
    """
    quotes = Quote.objects.filter(state=QuoteState.ISSUED).select_related("studio")
    if studio or not number:
        quotes = quotes.filter(studio__name=studio or STUDIO)
    if number:
        bare, _, revision = number.strip().partition(" ")
        quotes = quotes.filter(number=bare, **({"revision": revision.strip()} if revision else {}))
    found = list(quotes.order_by("-issued_at", "-pk"))
    if not found:
        wanted = f"quote {number}" if number else "quote of the demo studio"
        raise CommandError(f"No {wanted} has been issued{f' by {studio}' if studio else ''}.")
    if len({quote.studio_id for quote in found}) > 1:
        names = ", ".join(sorted({quote.studio.name for quote in found}))
        raise CommandError(f"Several studios have a quote {number}: {names}. Say which with --studio.")
    return found[0]


def write_whole(path: Path, content: bytes) -> None:
    """Write beside the file first and put it in its place at once, so that no reader ever sees half of it."""
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
        # A temporary file is its owner's alone; the paper gets the rights any new file would.
        mask = os.umask(0)
        os.umask(mask)
        os.chmod(name, 0o666 & ~mask)
        os.replace(name, path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
