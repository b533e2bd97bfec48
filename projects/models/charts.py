"""What says the woods of a band: a list round the ring, or a chart of the piece unrolled."""

from typing import Any

from django.core.exceptions import ValidationError

MOST_WOODS = 360
MOST_ROWS = 5000


def _is_key(value: Any) -> bool:
    return isinstance(value, str) and 0 < len(value) <= 40


def validate_wood_keys(value: Any) -> None:
    """Refuse what is no list of wood keys; whether it may be empty is the band's to say."""
    usable = isinstance(value, list) and len(value) <= MOST_WOODS
    if not usable or not all(map(_is_key, value)):
        raise ValidationError(f"Name one to {MOST_WOODS} woods by their keys.")


def validate_chart(value: Any) -> None:
    """Refuse what is no chart: {"legend": {"m": "maple"}, "rows": ["mm"]}, every letter of a row in the legend."""
    if not isinstance(value, dict) or set(value) != {"legend", "rows"}:
        raise ValidationError("A chart needs a legend and rows.")
    legend, rows = value["legend"], value["rows"]
    if not isinstance(legend, dict) or not 0 < len(legend) <= MOST_WOODS:
        raise ValidationError("The chart's legend must say which wood each letter is.")
    for letter, key in legend.items():
        if len(letter) != 1 or letter.isspace() or not _is_key(key):
            raise ValidationError("The chart's legend must give a wood's key to each single letter.")
    if not isinstance(rows, list) or not 0 < len(rows) <= MOST_ROWS:
        raise ValidationError(f"A chart has one to {MOST_ROWS} rows.")
    for number, row in enumerate(rows, start=1):
        if not isinstance(row, str) or not 0 < len(row) <= MOST_WOODS:
            raise ValidationError(f"Row {number} of the chart must be 1 to {MOST_WOODS} letters.")
        if strangers := sorted(set(row) - set(legend)):
            raise ValidationError(
                f"Row {number} of the chart has {strangers[0]!r}, which is not in its legend."
            )


def chart_problem(chart: Any, *, segments: Any) -> str:
    """What keeps a chart from going round a ring of so many segments; nothing where nothing does.

    Whether its rows fit the layers is the estimate's to say, since a design that does not work out yet may be kept.
    """
    if not isinstance(segments, int) or not isinstance(chart, dict):
        return ""
    for number, row in enumerate(chart.get("rows") or [], start=1):
        if isinstance(row, str) and row and segments % len(row):
            return f"Row {number} of the chart has {len(row)} cells, which do not divide {segments} segments."
    return ""


def chart_woods(chart: Any) -> list[str]:
    """The keys that the rows of a chart use, each once."""
    used = {letter for row in chart["rows"] for letter in row}
    return list(dict.fromkeys(key for letter, key in chart["legend"].items() if letter in used))
