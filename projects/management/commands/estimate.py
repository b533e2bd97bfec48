"""`manage.py estimate SHEET.json [--json]`: the estimate of a piece sheet, for people or for programs."""

import json
import sys
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand

MOST_BYTES = 10 * 1024 * 1024


class Command(BaseCommand):
    help = "Estimate a piece sheet: wood, glue, hours and price. `-` reads the sheet from standard input."
    # The arithmetic needs no database and no pages: checking them would take longer than the estimate.
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("sheet", metavar="SHEET.json", help="the piece sheet, or - for standard input")
        parser.add_argument("--json", action="store_true", help="print the answer as JSON")

    def handle(self, *args: Any, **options: Any) -> None:
        # Imported here so that `manage.py help` and every other command start without numpy.
        from estimating.answer import as_json
        from estimating.errors import InvalidSheet
        from estimating.estimate import estimate
        from estimating.reading import read_json
        from estimating.report import as_text
        from estimating.sheet import read_sheet

        try:
            found = estimate(read_sheet(read_json(_read(options["sheet"]))))
        except InvalidSheet as refusal:
            self._refuse(str(refusal))
        except OSError as error:
            self._refuse(f"sheet: cannot be read: {error.strerror or error}")
        if options["json"]:
            self.stdout.write(json.dumps(as_json(found), ensure_ascii=False, indent=1, allow_nan=False))
        else:
            self.stdout.write(as_text(found), ending="")

    def _refuse(self, errors: str) -> None:
        """Every error on a line of standard error, and nothing else there or on standard output."""
        self.stderr.style_func = None
        self.stderr.write(errors)
        sys.exit(2)


def _read(name: str) -> bytes:
    """The sheet's bytes; OSError for what cannot be read or is larger than any sheet."""
    if name == "-":
        read = sys.stdin.buffer.read(MOST_BYTES + 1)
    else:
        with Path(name).open("rb") as file:
            read = file.read(MOST_BYTES + 1)
    if len(read) > MOST_BYTES:
        raise OSError(f"it is larger than {MOST_BYTES:,} bytes, more than any piece sheet")
    return read
