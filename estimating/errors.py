"""The ways an input is refused: each error names the place and says what would be right."""

from collections.abc import Iterable


class InvalidInput(ValueError):
    """One thing wrong, at one place (`bands[2].thickness`), with what would be right."""

    def __init__(self, place: str, reason: str) -> None:
        super().__init__(place, reason)
        self.place = place
        self.reason = reason

    def __str__(self) -> str:
        return f"{self.place}: {self.reason}"


class InvalidSheet(ValueError):
    """Everything wrong with a piece sheet, in the order it is read."""

    def __init__(self, errors: Iterable[InvalidInput]) -> None:
        self.errors = tuple(errors)
        super().__init__(self.errors)

    def __str__(self) -> str:
        return "\n".join(str(error) for error in self.errors)


def shown(text: str, *, most: int = 60) -> str:
    """Text safe to print in an error: on one line, writable in UTF-8, no longer than a few words."""
    printable = "".join(
        c if c.isprintable() and not "\ud800" <= c <= "\udfff" else "\ufffd" for c in text[:most]
    )
    return printable if len(text) <= most else f"{printable}..."
