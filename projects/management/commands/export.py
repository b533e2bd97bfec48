"""`manage.py export SHEET.json OUT`: a piece sheet as a model or a drawing, of the kind that OUT ends in."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from estimating.errors import InvalidInput
from projects.exports import FILE_KINDS, export
from projects.management.sheets import SheetCommand

KINDS = {f".{ending}": kind.words for ending, kind in FILE_KINDS.items()}
GLUED = tuple(f".{ending}" for ending, kind in FILE_KINDS.items() if kind.may_be_glued)


class Command(SheetCommand):
    help = "Write a piece sheet as " + "; ".join(f"{suffix}, {kind}" for suffix, kind in KINDS.items()) + "."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("sheet", metavar="SHEET.json", help="the piece sheet, or - for standard input")
        parser.add_argument("out", metavar="OUT", help=f"the file to write; it ends in {_listed(KINDS)}")
        parser.add_argument(
            "--glued", action="store_true", help=f"the stack as glued, before turning ({_listed(GLUED)})"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        out = Path(options["out"])
        suffix = out.suffix.lower()
        if suffix not in KINDS:
            self.refuse(f"out: must end in {_listed(KINDS)}, not {out.suffix or out.name!r}")
        if options["glued"] and suffix not in GLUED:
            self.refuse(f"glued: is for {_listed(GLUED)} only; a {suffix} has both in one drawing")
        found = self.estimated(options["sheet"])
        try:
            out.write_bytes(export(found, suffix[1:], glued=options["glued"]))
        except InvalidInput as refusal:
            self.refuse(f"{refusal.place}: {refusal.reason}")
        except OSError as error:
            self.refuse(f"out: cannot be written: {error.strerror or error}")


def _listed(words: Any) -> str:
    """`.glb, .stl or .svg`."""
    *first, last = words
    return f"{', '.join(first)} or {last}"
