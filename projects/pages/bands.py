"""What can be done with a typed band: split, merged with the one above, copied, mirrored."""

import json
from collections.abc import Callable, Sequence
from dataclasses import replace
from string import ascii_letters
from typing import Any

from projects.pages.draft import BandText, chart_text

# What must be alike in two bands for them to become one, and what it is called.
ALIKE = {
    "thickness": "layer thickness",
    "segments": "segments",
    "made": "way of making",
    "gap": "gap",
    "ring_height": "thick ring's height",
    "bored": "bore",
    "bore": "bore",
    "plug": "plug",
    "match": "choice of boards",
}


class Refused(Exception):
    """What cannot be done with a band, and what would mend it."""


def layers_of(band: BandText) -> int:
    """Its number of layers. Errors: Refused where it is not written."""
    text = band.layers.strip()
    if not (text.isdecimal() and len(text) < 5 and int(text)):
        raise Refused(f"Write the number of layers of {called(band)} first.")
    return int(text)


def called(band: BandText) -> str:
    """The band in a sentence."""
    return f"“{band.name.strip()}”" if band.name.strip() else "the band"


def woods_of(band: BandText) -> list[str]:
    """The woods it names, in its list or its chart."""
    if band.woods or not band.chart:
        return list(band.woods)
    return list(_chart(band)["legend"].values())


def _chart(band: BandText) -> dict[str, Any]:
    try:
        chart = json.loads(band.chart)
        legend, rows = dict(chart["legend"]), [str(row) for row in chart["rows"]]
    except (ValueError, TypeError, KeyError, RecursionError):
        raise Refused(f"The chart of {called(band)} cannot be read.") from None
    return {"legend": legend, "rows": rows}


def _with_rows(band: BandText, legend: dict[str, str], rows: Sequence[str]) -> BandText:
    return replace(band, chart=chart_text({"legend": legend, "rows": list(rows)}))


def _offsets(band: BandText) -> list[str]:
    return [part for part in band.offsets.replace(";", ",").replace(",", " ").split() if part] or ["0"]


def _shifted(offsets: list[str], by: int) -> str:
    by %= len(offsets)
    return ", ".join([*offsets[by:], *offsets[:by]])


def split(bands: list[BandText], index: int) -> None:
    """Two bands of half the layers each, the larger half below; together they are what the one was."""
    band = bands[index]
    layers = layers_of(band)
    if band.made == "staves" or layers < 2:
        raise Refused(f"There is nothing to split: {called(band)} has one layer.")
    below = (layers + 1) // 2
    bands[index : index + 1] = cut_at(band, below)


def cut_at(band: BandText, below: int) -> list[BandText]:
    """A band in two above so many of its layers, which go on as they did: turns, and rows of the chart."""
    lower = replace(band, layers=str(below))
    upper = replace(band, layers=str(layers_of(band) - below), offsets=_shifted(_offsets(band), below))
    if band.chart:
        chart = _chart(band)
        lower = _with_rows(lower, chart["legend"], chart["rows"][:below])
        upper = _with_rows(upper, chart["legend"], chart["rows"][below:])
    return [lower, upper]


def charted(band: BandText, layers: int) -> BandText:
    """A band whose chart, if it has one, has a row for each of so many layers: begun again, or cut short."""
    if not band.chart:
        return band
    chart = _chart(band)
    rows = chart["rows"]
    return _with_rows(
        band, chart["legend"], [rows[layer % len(rows)] for layer in range(layers)] if rows else rows
    )


def merge(bands: list[BandText], index: int) -> None:
    """One band of this one and the one above, if they are made alike; woods that differ become a chart."""
    if index + 1 >= len(bands):
        raise Refused("There is no band above to merge it with.")
    lower, upper = bands[index], bands[index + 1]
    for field, words in ALIKE.items():
        if getattr(lower, field).strip() != getattr(upper, field).strip():
            raise Refused(
                f"{_start(lower)} and the band above differ in their {words}; make it the same first."
            )
    counts = layers_of(lower), layers_of(upper)
    if lower.made == "staves":
        raise Refused("Two courses of staves cannot become one; make one band taller instead.")
    merged = replace(lower, layers=str(sum(counts)), offsets=_joined(lower, upper, counts))
    if lower.woods != upper.woods or lower.chart or upper.chart:
        merged = _charted(merged, lower, upper, counts)
    bands[index : index + 2] = [merged]


def _start(band: BandText) -> str:
    words = called(band)
    return f"{words[:1].upper()}{words[1:]}"


def _joined(lower: BandText, upper: BandText, counts: tuple[int, int]) -> str:
    """The turns of all layers, as the shortest sequence that repeats to them."""
    turns = [
        offsets[layer % len(offsets)]
        for band, count in zip((lower, upper), counts, strict=True)
        for offsets in [_offsets(band)]
        for layer in range(count)
    ]
    period = next(
        length
        for length in range(1, len(turns) + 1)
        if all(turns[i] == turns[i % length] for i in range(len(turns)))
    )
    return ", ".join(turns[:period])


def _charted(merged: BandText, lower: BandText, upper: BandText, counts: tuple[int, int]) -> BandText:
    if merged.made != "cut":
        raise Refused("Only cut layers may differ in their woods; give both bands the same woods first.")
    letters: dict[str, str] = {}
    rows: list[str] = []
    for band, count in zip((lower, upper), counts, strict=True):
        rows += _rows_of(band, count, letters)
    return _with_rows(
        replace(merged, woods=lower.woods), {letter: key for key, letter in letters.items()}, rows
    )


def _rows_of(band: BandText, count: int, letters: dict[str, str]) -> list[str]:
    """The rows of a band's layers in the letters of a common legend, which grows by its woods."""
    if band.chart:
        chart = _chart(band)
        patterns = [[chart["legend"].get(letter, "") for letter in row] for row in chart["rows"]]
    else:
        patterns = [list(band.woods)] * count
    return ["".join(_letter(key, letters) for key in pattern) for pattern in patterns]


def _letter(key: str, letters: dict[str, str]) -> str:
    """The letter of a wood: one it begins with where that is free, else any that is."""
    if key not in letters:
        taken = set(letters.values())
        free = (letter for letter in (*key, *ascii_letters) if letter.isalpha() and letter not in taken)
        letters[key] = next(free, "") or next(
            chr(code) for code in range(0x3B1, 0x1000) if chr(code) not in taken
        )
    return letters[key]


def copy(bands: list[BandText], index: int) -> None:
    """The same band once more, above it."""
    bands.insert(index + 1, bands[index])


def mirror(bands: list[BandText], index: int) -> None:
    """As a looking-glass beside the piece shows it: turns the other way, woods the other way round the ring.

    The first segment of each layer stays where it is. What stands above or below keeps its place on the band.
    """
    band = bands[index]
    offsets = ", ".join(_negated(offset) for offset in _offsets(band))
    mirrored = replace(band, offsets=offsets, woods=(*band.woods[:1], *reversed(band.woods[1:])))
    if band.chart:
        chart = _chart(band)
        mirrored = _with_rows(mirrored, chart["legend"], [row[:1] + row[:0:-1] for row in chart["rows"]])
    bands[index] = mirrored


def _negated(offset: str) -> str:
    if offset.strip("0.") in ("", "-", "+"):
        return offset
    return offset.lstrip("-−") if offset.startswith(("-", "−")) else f"-{offset.removeprefix('+')}"


TOOLS: dict[str, Callable[[list[BandText], int], None]] = {
    "split": split,
    "merge": merge,
    "copy": copy,
    "mirror": mirror,
}
