"""What commands over a piece sheet share: reading and estimating it, and refusing in one way."""

import sys
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

from django.core.management.base import BaseCommand

if TYPE_CHECKING:
    from estimating.estimate import Estimate

MOST_BYTES = 10 * 1024 * 1024


class SheetCommand(BaseCommand):
    """A command over a piece sheet. Every refusal ends it with code 2."""

    # The arithmetic needs no database and no pages: checking them would take longer than the answer.
    requires_system_checks: list[str] = []

    def estimated(self, name: str) -> "Estimate":
        """The estimate of the sheet in a file, or of standard input where the name is `-`."""
        # Imported here so that `manage.py help` and every other command start without numpy.
        from estimating.errors import InvalidSheet
        from estimating.estimate import estimate
        from estimating.reading import read_json
        from estimating.sheet import read_sheet

        try:
            return estimate(read_sheet(read_json(read_bytes(name))))
        except InvalidSheet as refusal:
            self.refuse(str(refusal))
        except OSError as error:
            self.refuse(f"sheet: cannot be read: {error.strerror or error}")

    def refuse(self, errors: str) -> NoReturn:
        """Every error on a line of standard error, and nothing else there or on standard output."""
        self.stderr.style_func = None
        self.stderr.write(errors)
        sys.exit(2)


def read_bytes(name: str) -> bytes:
    """The sheet's bytes; OSError for what cannot be read or is larger than any sheet."""
    if name == "-":
        read = sys.stdin.buffer.read(MOST_BYTES + 1)
    else:
        with Path(name).open("rb") as file:
            read = file.read(MOST_BYTES + 1)
    if len(read) > MOST_BYTES:
        raise OSError(f"it is larger than {MOST_BYTES:,} bytes, more than any piece sheet")
    return read
