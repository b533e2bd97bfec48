"""Reading one field of a page after the other: text into numbers, or a sentence at the field."""

import re
from decimal import Decimal, InvalidOperation
from typing import Any

from projects.models import Studio
from projects.pages.fields import read_length

MOST_DIGITS = 12


class Reader:
    """Reads fields one by one; what cannot be read is noted in `errors` and read as None."""

    def __init__(self, studio: Studio, errors: dict[str, list[str]]) -> None:
        self.studio = studio
        self.errors = errors

    def refuse(self, name: str, message: str) -> None:
        """Note an error at a field."""
        self.errors.setdefault(name, []).append(message)

    def length(self, name: str, text: str, *, needed: bool = True) -> float | None:
        """Millimetres."""
        if not text.strip() and not needed:
            return None
        try:
            return read_length(text, self.studio)
        except ValueError as refusal:
            self.refuse(name, str(refusal))
            return None

    def lengths(self, name: str, text: str) -> list[float]:
        """Millimetres, parted by commas; none where nothing is written."""
        parts = [part for part in text.replace(";", ",").split(",") if part.strip()]
        found = [self.length(name, part) for part in parts]
        return [mm for mm in found if mm is not None]

    def thickness(self, name: str, text: str) -> float | None:
        """Millimetres, more than nothing."""
        mm = self.length(name, text)
        if mm == 0:
            self.refuse(name, "Must be more than 0.")
        return mm or None

    def whole(self, name: str, text: str) -> int:
        """A whole number."""
        written = text.strip()
        if re.fullmatch(r"\d{1,9}", written):
            return int(written)
        negative = re.fullmatch(r"[-−]\d+", written)
        self.refuse(
            name, "Write a whole number of 0 or more." if negative else "Write a whole number, such as 12."
        )
        return 0

    def number(self, name: str, text: str) -> Decimal:
        """A plain number."""
        try:
            number = Decimal(text.strip().replace("−", "-"))
        except InvalidOperation:
            number = Decimal("NaN")
        if number.is_finite() and abs(number.adjusted()) < MOST_DIGITS:
            return number
        self.refuse(name, "Write a number, such as 0.5.")
        return Decimal(0)

    def choice(self, name: str, text: str, choices: Any) -> str:
        """One of the choices."""
        if text not in choices.values:
            self.refuse(name, "Choose one of those offered.")
        return text

    def own(self, name: str, text: str, model: Any) -> Any:
        """A row of the studio's, or none."""
        if not text:
            return None
        rows = model.objects.for_studio(self.studio)
        row = rows.filter(pk=int(text)).first() if re.fullmatch(r"\d{1,15}", text) else None
        if row is None:
            self.refuse(name, "Choose one of those offered.")
        return row
