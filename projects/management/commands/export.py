"""`manage.py export SHEET.json OUT`: a piece sheet as a model or a drawing, of the kind that OUT ends in."""

import sys
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand

from projects.exports import FILE_KINDS, export
from projects.management.commands.estimate import _read

KINDS = {f".{ending}": kind.words for ending, kind in FILE_KINDS.items()}
GLUED = tuple(f".{ending}" for ending, kind in FILE_KINDS.items() if kind.may_be_glued)


class Command(BaseCommand):
    help = "Write a piece sheet as " + "; ".join(f"{suffix}, {kind}" for suffix, kind in KINDS.items()) + "."
    # The arithmetic needs no database and no pages: checking them would take longer than the drawing.
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("sheet", metavar="SHEET.json", help="the piece sheet, or - for standard input")
        parser.add_argument("out", metavar="OUT", help=f"the file to write; it ends in {_listed(KINDS)}")
        parser.add_argument(
            "--glued", action="store_true", help=f"the stack as glued, before turning ({_listed(GLUED)})"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        # Imported here so that `manage.py help` and every other command start without numpy.
        from estimating.errors import InvalidInput, InvalidSheet
        from estimating.estimate import estimate
        from estimating.reading import read_json
        from estimating.sheet import read_sheet

        out = Path(options["out"])
        suffix = out.suffix.lower()
        if suffix not in KINDS:
            self._refuse(f"out: must end in {_listed(KINDS)}, not {out.suffix or out.name!r}")
        if options["glued"] and suffix not in GLUED:
            self._refuse(f"glued: is for {_listed(GLUED)} only; a {suffix} has both in one drawing")
        try:
            found = estimate(read_sheet(read_json(_read(options["sheet"]))))
        except InvalidSheet as refusal:
            self._refuse(str(refusal))
        except OSError as error:
            self._refuse(f"sheet: cannot be read: {error.strerror or error}")
        try:
            out.write_bytes(export(found, suffix[1:], glued=options["glued"]))
        except InvalidInput as refusal:
            self._refuse(f"{refusal.place}: {refusal.reason}")
        except OSError as error:
            self._refuse(f"out: cannot be written: {error.strerror or error}")

    def _refuse(self, errors: str) -> None:
        """Every error on a line of standard error, and nothing else there or on standard output."""
        self.stderr.style_func = None
        self.stderr.write(errors)
        sys.exit(2)


def _listed(words: Any) -> str:
    """`.glb, .stl or .svg`."""
    *first, last = words
    return f"{', '.join(first)} or {last}"
