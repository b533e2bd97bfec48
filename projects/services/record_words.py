"""What was copied for a record, in the maker's words: a first draft of what stands beside the copies."""

import datetime
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any

from projects.models import Studio
from projects.models.bench import MishapKind, Verdict
from projects.models.lots import LotPart
from projects.models.saw_settings import RingClosed
from projects.templatetags.turnery import runs
from projects.wording import in_shop_units

LONGEST = 4000
Row = Mapping[str, Any]


def known_words(copies: Mapping[str, Sequence[Row]], studio: Studio) -> dict[str, str]:
    """The fields of words that the copies say something of, lengths in the studio's unit."""
    written: Mapping[str, tuple[str, Callable[[Row], str]]] = {
        "moisture_words": ("moisture", _moisture),
        "adhesive_words": ("adhesive", _adhesive),
        "boards_words": ("boards", _board),
        "saw_words": ("saw", _saw),
        "as_built_words": ("as_built", _as_built),
        "failures": ("mishaps", _mishap),
    }
    said = {
        field: "\n".join(words(row) for row in copies[name])
        for field, (name, words) in written.items()
        if name in copies
    }
    # A lot stays as its label has it, though a length may seem to stand in it.
    return {
        field: (words if field == "adhesive_words" else in_shop_units(words, studio))[:LONGEST]
        for field, words in said.items()
    }


def _joined(parts: Iterable[str], *, by: str = ", ") -> str:
    return by.join(part for part in parts if part)


def said_day(text: str) -> str:
    """`2026-03-05`, or a moment of that day, as 5 March 2026."""
    day = datetime.datetime.fromisoformat(text)
    return f"{day.day} {day:%B %Y}"


def _moisture(row: Row) -> str:
    return _joined([f"{row['what']}: {row['percent']} % on {said_day(row['read_on'])}", row["note"]])


def _adhesive(row: Row) -> str:
    days = [said_day(day) for day in row["mixed_on"]]
    when = f"mixed on {days[0]}" if len(days) == 1 else f"mixed from {days[0]} to {days[-1]}" if days else ""
    return _joined([_joined([row["name"], when]), *map(_lot, row.get("lots", []))], by="\n")


def _lot(lot: Row) -> str:
    """One a line, as the label has it."""
    several = "s" if len(lot["glue_ups"]) > 1 else ""
    return _joined(
        [
            f"{LotPart(lot['part']).label} lot {lot['lot']}",
            f"use by {said_day(lot['use_by'])}" if lot["use_by"] else "",
            f"glue-up{several} {runs(sorted(lot['glue_ups']))}",
        ]
    )


def _board(row: Row) -> str:
    count = f"{row['count']} × " if row["count"] > 1 else ""
    place = f"from {row['place']}" if row["place"] else ""
    return _joined([f"{count}{row['what']}", place, row["note"]])


def _saw(row: Row) -> str:
    tilt = f", tilt {row['tilt_deg']}°" if row["tilt_deg"] != "0" else ""
    ring = f"ring of {row['segments']} {RingClosed(row['closed']).label}"
    gap = f" by {row['gap']} mm" if row["gap"] != "0" else ""
    return f"{row['saw']}: {row['miter_deg']}°{tilt}, shown {row['shown_deg']}°, {ring}{gap}"


def _as_built(row: Row) -> str:
    where = _joined([row["part"], f"after glue-up {row['glue_up']}" if row["glue_up"] else ""])
    measured = _joined(
        [
            f"height {row['height']} mm" if row["height"] else "",
            f"run-out {row['run_out']} mm" if row["run_out"] else "",
            Verdict(row["verdict"]).label if row["verdict"] else "",
        ]
    )
    return _joined([where, measured], by=": ")


def _mishap(row: Row) -> str:
    layers = ", ".join(str(layer) for layer in row["layers"])
    lost = f"layers {layers}" if layers else ""
    return _joined([f"{row['step']}: {MishapKind(row['kind']).label}", lost, row["note"]])
