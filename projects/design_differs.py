"""How the piece of one sheet differs from that of another: what its owner would see, nothing of how it is made.

Compared are: the number of pieces; the finish (its name where the sheet's `finish` has one, and its coats); and of each
part, bottom up, its outside and inside, how it sits on another, a recess left under its foot, and every layer: way of
making, thickness, segments, woods all round, turn on the layer below, gaps, bore, plug, and whether its segments match.
Layers and not bands: a band split in two alike is the same piece. Laminated segments are compared by their names and
what they are glued up from.

Left out, since they change no piece: its title, the client, prices and terms, boards, the shop's settings, adhesive and
climate, wood left on for turning, how the foot is held where nothing of that stays, where a hollow form is joined, how
thick the rings are that layers are sawn from, and the names of bands and parts.

A sheet here is one as `projects.estimates` writes it, in mm. Lengths count to a thousandth of that.
"""

import hashlib
import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import accumulate, chain
from typing import Any, Literal

Kind = Literal["length", "share", "woods", "plain"]
Said = str | int | float | tuple[str, ...] | None

_PLACES = 3
_DISCS = ("solid", "veneer")
# What a layer is, in the order it is told: its key here, its name in words, how it is written.
_OF_A_LAYER: tuple[tuple[str, str, Kind], ...] = (
    ("made", "way of making", "plain"),
    ("thickness", "layer thickness", "length"),
    ("segments", "segments", "plain"),
    ("woods", "wood", "woods"),
    ("offset", "turn on the layer below", "plain"),
    ("gap", "gaps", "share"),
    ("bore", "bore", "length"),
    ("plug", "plug", "woods"),
    ("match", "matching of segments", "plain"),
)
_NOT_SHORT = ("offset", "match")
"""What is told by its name alone."""


@dataclass(frozen=True, slots=True)
class Difference:
    """One thing that is other: `what` in words ("wood of band 3"), what it `was`, and what it is `now`.

    `kind` says what the two are: lengths in mm, shares, keys of woods in the order of their places, or plain words and
    numbers. Both are None where there is no short way to say them.
    """

    what: str
    kind: Kind = "plain"
    was: Said = None
    now: Said = None


def fingerprint(sheet: Mapping[str, Any]) -> str:
    """SHA-256, in hex, of all that is compared: alike exactly where `differences` finds none."""
    text = json.dumps(_piece(sheet), sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return hashlib.sha256(text.encode()).hexdigest()


def differences(before: Mapping[str, Any], after: Mapping[str, Any]) -> tuple[Difference, ...]:
    """What is other about the second sheet's piece, from the whole of it to its details; none where nothing is."""
    was, now = _piece(before), _piece(after)
    if was == now:
        return ()
    return tuple(
        chain(
            _one("number of pieces", was["quantity"], now["quantity"]),
            _of_parts(was["parts"], now["parts"]),
            _of_laminates(was["laminates"], now["laminates"]),
            _one("finish", was["finish"]["name"] or "not said", now["finish"]["name"] or "not said"),
            _one("coats of finish", was["finish"]["coats"], now["finish"]["coats"]),
        )
    )


# What is compared


def _piece(sheet: Mapping[str, Any]) -> dict[str, Any]:
    """All that is compared, written in one way."""
    parts = sheet.get("parts") or [sheet]
    names = [part.get("name", "") for part in parts]
    finish = sheet.get("finish") or {}
    piece = {
        "quantity": sheet.get("quantity", 1),
        "finish": {"name": finish.get("name", ""), "coats": finish.get("coats")},
        "parts": [_part(part, names) for part in parts],
    }
    used = {key for part in piece["parts"] for layer in part["layers"] for key in layer["woods"]}
    laminates = sheet.get("laminates") or {}
    piece["laminates"] = {key: _exact(one) for key, one in laminates.items() if key in used}
    return piece


class _Part(dict[str, Any]):
    """A part as it is compared; `name` and `bands` are how it is spoken of, and count for nothing."""

    name = ""
    bands: Sequence[tuple[str, int]] = ()


def _part(part: Mapping[str, Any], names: Sequence[str]) -> _Part:
    bands = part.get("bands") or []
    layers = [layer for band in bands for layer in _layers(band)]
    if layers:
        layers[0]["offset"] = 0.0  # there is nothing below that it is turned on
    form = {"curve": "straight", "inside": {"kind": "solid"}, **(part.get("form") or {})}
    holding = part.get("holding") or {}
    made = _Part(
        form=_exact(form),
        sits=_sits(part.get("sits") or {}, names),
        recess=_exact(holding.get("depth")) if holding.get("by") == "recess" else None,
        layers=layers,
    )
    made.name = part.get("name", "")
    made.bands = [(band.get("name", ""), int(band.get("layers", 0))) for band in bands]
    return made


def _sits(sits: Mapping[str, Any], names: Sequence[str]) -> dict[str, Any]:
    """By the place of the part below, since its name counts for nothing."""
    how = next((key for key in ("on", "in") if key in sits), "")
    if not how:
        return {}
    place = names.index(sits[how]) if sits[how] in names else None
    return {
        "how": how,
        "place": place,
        "flange": _exact(sits.get("flange")),
        "clearance": _exact(sits.get("clearance")),
    }


def _layers(band: Mapping[str, Any]) -> list[dict[str, Any]]:
    made = band.get("made", "cut")
    count, segments = int(band.get("layers", 0)), int(band.get("segments") or 1)
    offset = band.get("offset", 0.0)
    offsets = (offset or [0.0]) if isinstance(offset, list) else [offset]
    is_disc = made in _DISCS
    alike = {
        "made": made,
        "thickness": _exact(band.get("thickness")),
        "segments": segments,
        "gap": _exact(band.get("gap") or 0.0),
        "bore": _exact(band.get("bore")),
        "plug": band.get("plug"),
        "match": band.get("match") or "",
    }
    return [
        {
            **alike,
            "woods": _pattern(_row(band, number)),
            "offset": 0.0 if is_disc else _exact(offsets[number % len(offsets)]),
        }
        for number in range(count)
    ]


def _row(band: Mapping[str, Any], number: int) -> list[str]:
    chart = band.get("chart")
    if not chart:
        return list(band.get("woods") or ())
    rows, legend = chart["rows"], chart["legend"]
    return [legend.get(letter, letter) for letter in (rows[number] if number < len(rows) else "")]


def _pattern(row: list[str]) -> list[str]:
    """The shortest row that goes round to the same ring: how often it is written out counts for nothing."""
    count = len(row)
    return next((row[:n] for n in range(1, count) if count % n == 0 and row[:n] * (count // n) == row), row)


def _exact(value: Any) -> Any:
    """Numbers to the thousandth and of one kind, however deep they lie."""
    if isinstance(value, bool):
        return value
    if isinstance(value, int | float):
        return round(float(value), _PLACES) + 0.0
    if isinstance(value, list | tuple):
        return [_exact(one) for one in value]
    if isinstance(value, Mapping):
        return {key: _exact(one) for key, one in value.items()}
    return value


# What is told


def _one(what: str, was: Any, now: Any, kind: Kind = "plain") -> Iterator[Difference]:
    if was != now:
        yield Difference(what, kind, was, now)


def _of_parts(was: Sequence[_Part], now: Sequence[_Part]) -> Iterator[Difference]:
    if len(was) != len(now):
        yield Difference(
            "parts", "plain", *(", ".join(part.name or "body" for part in all_) for all_ in (was, now))
        )
        return
    for before, after in zip(was, now, strict=True):
        of = f" of the {after.name or before.name}" if len(now) > 1 else ""
        yield from _of_form(before["form"], after["form"], of)
        yield from _of_sitting(before["sits"], after["sits"], of)
        yield from _one(f"recess under the foot{of}", before["recess"], after["recess"], "length")
        if before["layers"] != after["layers"]:
            yield from _of_layers(before, after, of)


def _of_form(was: Mapping[str, Any], now: Mapping[str, Any], of: str) -> Iterator[Difference]:
    shape = [{key: value for key, value in form.items() if key != "inside"} for form in (was, now)]
    if shape[0] != shape[1]:
        yield from _one(f"height{of}", _height(was), _height(now), "length")
        yield Difference(f"outside curve{of}")
    inside, hollow = was["inside"], now["inside"]
    yield from _one(f"inside{of}", inside.get("kind"), hollow.get("kind"))
    if inside.get("kind") != hollow.get("kind"):
        return
    yield from _one(f"wall{of}", inside.get("wall"), hollow.get("wall"), "length")
    yield from _one(f"floor{of}", inside.get("floor"), hollow.get("floor"), "length")
    if inside.get("inner") != hollow.get("inner"):
        yield Difference(f"inside curve{of}")


def _height(form: Mapping[str, Any]) -> Any:
    points = form.get("outer") or ()
    return points[-1][0] - points[0][0] if points else form.get("height")


def _of_sitting(was: Mapping[str, Any], now: Mapping[str, Any], of: str) -> Iterator[Difference]:
    if [was.get(key) for key in ("how", "place")] != [now.get(key) for key in ("how", "place")]:
        yield Difference(f"seat{of}")
        return
    for name in ("flange", "clearance"):
        yield from _one(f"{name}{of}", was.get(name), now.get(name), "length")


def _of_layers(was: _Part, now: _Part, of: str) -> Iterator[Difference]:
    """Band by band where there are as many; else layer by layer where there are as many; else how many there are."""
    layers, others = was["layers"], now["layers"]
    if len(was.bands) == len(now.bands):
        told = list(_by_bands(was, now, of))
    elif len(layers) == len(others):
        told = list(_by_runs(layers, others, of))
    else:
        told = []
    yield from told or [Difference(f"layers{of}", "plain", _count(was), _count(now))]


def _count(part: _Part) -> str:
    layers, bands = len(part["layers"]), len(part.bands)
    return f"{layers} in {bands} band{'' if bands == 1 else 's'}"


def _by_bands(was: _Part, now: _Part, of: str) -> Iterator[Difference]:
    for number, (before, after) in enumerate(zip(_grouped(was), _grouped(now), strict=True), start=1):
        name = now.bands[number - 1][0]
        band = f" of band {number}{f' ({name})' if name and name != f'band {number}' else ''}{of}"
        yield from _one(f"number of layers{band}", len(before), len(after))
        common = list(zip(before, after, strict=False))
        for key, words, kind in _OF_A_LAYER:
            pair = next(((low, high) for low, high in common if low[key] != high[key]), None)
            if pair is not None:
                yield _told(f"{words}{band}", key, kind, *pair)


def _grouped(part: _Part) -> list[list[dict[str, Any]]]:
    ends = list(accumulate(count for _, count in part.bands))
    return [part["layers"][end - count : end] for end, (_, count) in zip(ends, part.bands, strict=True)]


def _by_runs(was: Sequence[Any], now: Sequence[Any], of: str) -> Iterator[Difference]:
    for key, words, kind in _OF_A_LAYER:
        others = [number for number in range(len(was)) if was[number][key] != now[number][key]]
        if others:
            first, last = others[0], others[-1]
            where = f"layer {first + 1}" if first == last else f"layers {first + 1} to {last + 1}"
            yield _told(f"{words} of {where}{of}", key, kind, was[first], now[first])


def _told(what: str, key: str, kind: Kind, was: Mapping[str, Any], now: Mapping[str, Any]) -> Difference:
    if key in _NOT_SHORT:
        return Difference(what)
    if kind != "woods":
        return Difference(what, kind, was[key], now[key])
    before, after = _woods(was[key]), _woods(now[key])
    # The same woods in other places: naming them twice would say nothing.
    return Difference(what) if set(before) == set(after) else Difference(what, kind, before, after)


def _woods(value: Any) -> tuple[str, ...]:
    """Each wood once, in the order of their places."""
    return tuple(dict.fromkeys([value] if isinstance(value, str) else value or ()))


def _of_laminates(was: Mapping[str, Any], now: Mapping[str, Any]) -> Iterator[Difference]:
    """Those that stand in both; one that came or went has changed the wood of its bands."""
    for key in sorted(was.keys() & now.keys()):
        if was[key] != now[key]:
            yield Difference(f"laminated segment {key}")
