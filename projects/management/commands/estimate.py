"""`manage.py estimate SHEET.json [--json]`: the estimate of a piece sheet, for people or for programs."""

import json
from argparse import ArgumentParser
from typing import Any

from projects.management.sheets import SheetCommand


class Command(SheetCommand):
    help = "Estimate a piece sheet: wood, glue, hours and price. `-` reads the sheet from standard input."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("sheet", metavar="SHEET.json", help="the piece sheet, or - for standard input")
        parser.add_argument("--json", action="store_true", help="print the answer as JSON")

    def handle(self, *args: Any, **options: Any) -> None:
        # Imported here so that `manage.py help` and every other command start without numpy.
        from estimating.answer import as_json
        from estimating.report import as_text

        found = self.estimated(options["sheet"])
        if options["json"]:
            self.stdout.write(json.dumps(as_json(found), ensure_ascii=False, indent=1, allow_nan=False))
        else:
            self.stdout.write(as_text(found), ending="")
