"""The studio's own scheme of serial numbers: a pattern, and how far each year's numbers have come."""

import re

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import Q

from projects.models.owned import StudioOwned
from projects.models.studio import Studio

USUAL_PATTERN = "{year}-{number:03}"
LONGEST_SERIAL = 40
_FIELD = re.compile(r"\{(year|yy|number(?::0?[1-9])?)\}")
_PLAIN = re.compile(r"[\w .\-/#]*\Z")


def validate_pattern(pattern: str) -> None:
    """Refuse what is no pattern of serial numbers: letters and figures, {year} or {yy}, and {number} once."""
    fields = _FIELD.findall(pattern)
    rest = _FIELD.sub("", pattern)
    if "{" in rest or "}" in rest:
        raise ValidationError(
            "In braces there may be {year}, {yy}, {number}, or {number:03} for three figures."
        )
    if not _PLAIN.match(rest) or pattern != pattern.strip():
        raise ValidationError("Write letters, figures, and - / . # _ between the fields; no blank at an end.")
    if sum(name.startswith("number") for name in fields) != 1:
        raise ValidationError("The pattern needs {number} once.")


def serial_of(pattern: str, *, year: int, number: int) -> str:
    """The serial number: `{year}-{number:03}` with 2026 and 7 is 2026-007. More figures than asked for are kept."""

    def written(match: re.Match[str]) -> str:
        name, _, figures = match[1].partition(":")
        if name == "year":
            return f"{year:04}"
        return f"{year % 100:02}" if name == "yy" else str(number).zfill(int(figures or 1))

    return _FIELD.sub(written, pattern)


class SerialScheme(StudioOwned):
    """How the studio numbers its pieces. `counts` has how far a year has come by the year, or all of them under "".

    Its row is locked while a number is given out.
    """

    studio = models.OneToOneField(Studio, models.CASCADE, related_name="serial_scheme")
    pattern = models.CharField(
        max_length=30,
        default=USUAL_PATTERN,
        validators=[validate_pattern],
        help_text="{year} is the year a piece was made in, {yy} its last two figures, {number:03} the number in three "
        "figures. With a year in it, each year begins at 1.",
    )
    counts = models.JSONField(default=dict, editable=False)

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="serial_scheme_has_pattern",
                condition=~Q(pattern=""),
                violation_error_message="The pattern must not be empty.",
            ),
        ]

    def __str__(self) -> str:
        return self.pattern

    def series(self, year: int) -> str:
        """Under which key of `counts` a year's pieces are counted."""
        return str(year) if "{y" in self.pattern else ""
