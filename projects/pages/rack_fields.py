"""Fields of the rack's forms: defects as a maker writes them, and the unit that a price is asked for."""

import re
from typing import Any

from django import forms

from projects.models import Studio
from projects.pages.fields import read_length, typed_length

ENTRY = re.compile(r"[;\n]")
SPAN = re.compile(r"(?<=\S)\s*(?:\bto\b|–|—)\s*(?=\S)", re.IGNORECASE)


def written_defects(defects: Any, studio: Studio, *, parted_by: str = "\n", unit: str = "") -> str:
    """Defects as they stand in a field: `300 to 380`, and an area as `300 to 380, 0 to 40`."""
    return parted_by.join(
        ", ".join(
            f"{typed_length(first, studio)}{unit} to {typed_length(last, studio)}{unit}"
            for first, last in zip(defect[::2], defect[1::2], strict=True)
        )
        for defect in defects
    )


def read_defects(text: str, studio: Studio) -> list[list[float]]:
    """Defects in mm from what was typed, one a line or parted by semicolons.

    Errors: ValueError with a sentence that says which entry is wrong and what would be right.
    """
    entries = [entry.strip() for entry in ENTRY.split(text) if entry.strip()]
    return [_read_defect(entry, studio) for entry in entries]


def _read_defect(entry: str, studio: Studio) -> list[float]:
    spans = [SPAN.split(span.strip()) for span in entry.split(",")]
    if len(spans) > 2 or any(len(ends) != 2 for ends in spans):
        raise ValueError(
            f"“{entry[:40]}” is no defect. Write 300 to 380, or 300 to 380, 0 to 40 for an area."
        )
    try:
        return [read_length(end, studio) for ends in spans for end in ends]
    except ValueError as refusal:
        raise ValueError(f"“{entry[:40]}”: {refusal}") from None


class DefectsField(forms.CharField):
    """What of a board is not used, one defect a line."""

    def __init__(self, *, studio: Studio, **options: Any) -> None:
        rows = forms.Textarea(attrs={"rows": 3, "class": "wide"})
        super().__init__(required=False, max_length=4000, widget=rows, **options)
        self.studio = studio

    def prepare_value(self, value: Any) -> Any:
        """Defects from the record; what was typed stays."""
        return written_defects(value, self.studio) if isinstance(value, list) else value

    def clean(self, value: Any) -> Any:
        """A list, mm."""
        text = super().clean(value)
        try:
            return read_defects(text, self.studio)
        except ValueError as refusal:
            raise forms.ValidationError(str(refusal)) from None
