"""Sheets with layers of every kind of making: discs, veneer, staves, bores and plugs, charts, laminates, parts."""

from __future__ import annotations

import copy
from typing import Any

from hypothesis import strategies as st

from tests.estimating.sheets import SHOP, Json, bowl, round_to

WALL = {"kind": "wall", "wall": 8, "floor": 12}
ZIGZAG = {
    "kind": "zigzag",
    "angle": 45,
    "strips": [
        {"wood": "maple", "width": 30},
        {"wood": "walnut", "width": 6},
        {"wood": "cherry", "width": 40},
    ],
}
BODY = ("form", "allowance", "bands")


def built(*bands: Json, form: Json | None = None, **changes: Any) -> Json:
    """A straight-sided hollow piece as tall as its bands, or of the form given."""
    height = sum(band["layers"] * band["thickness"] for band in bands)
    shape = form or {"outer": [[0, 40], [height, 60]], "inside": dict(WALL)}
    return bowl(**{"form": shape, "bands": [dict(band) for band in bands], **changes})


def cut(**changes: Any) -> Json:
    """Cut segments; a chart given stands in place of the woods."""
    band = {"layers": 1, "thickness": 10, "segments": 12, "woods": ["maple"], **changes}
    if "chart" in band:
        del band["woods"]
    return band


def disc(**changes: Any) -> Json:
    return {"layers": 1, "thickness": 12, "made": "solid", "woods": ["walnut"], **changes}


def veneer(**changes: Any) -> Json:
    return {"layers": 1, "thickness": 0.6, "made": "veneer", "woods": ["cherry"], **changes}


def staves(**changes: Any) -> Json:
    return {
        "layers": 1,
        "thickness": 60,
        "segments": 16,
        "made": "staves",
        "woods": ["maple", "cherry"],
        **changes,
    }


def in_parts(*parts: Json, **changes: Any) -> Json:
    """Whole sheets made parts of one: each brings its form, allowance and bands, and keys of its own."""
    sheet = {key: value for key, value in bowl(**changes).items() if key not in BODY}
    sheet["parts"] = [copy.deepcopy(part) for part in parts]
    return sheet


def part(name: str, sheet: Json, **keys: Any) -> Json:
    """The part that a whole sheet is."""
    return {"name": name, **{key: copy.deepcopy(sheet[key]) for key in BODY}, **keys}


@st.composite
def kinds(draw: st.DrawFn) -> Json:
    """A hollow piece with a foot of one kind or another, and a wall of every other."""
    bore = st.sampled_from(
        [{}, {"bore": "auto"}, {"bore": "auto", "plug": "cherry"}, {"bore": 18.5, "plug": "walnut"}]
    )
    feet = st.sampled_from([disc(), disc(bore=20, plug="maple"), disc(bore=9), cut(), cut(segments=24)])
    foot = draw(feet) if draw(st.booleans()) else cut(thickness=14, **draw(bore))
    walls = draw(
        st.lists(
            st.sampled_from(
                [
                    veneer(),
                    staves(),
                    staves(thickness=35, segments=8),
                    cut(layers=3, woods=["maple", "walnut"], offset=0.5),
                    cut(layers=2, gap=0.2, offset=[0.5, -0.5]),
                    cut(layers=2, chart={"legend": {"a": "maple", "b": "padauk"}, "rows": ["aab", "ab"]}),
                    cut(woods=["zig"], thickness=14),
                    cut(woods=["zig", "walnut", "maple"], thickness=14),
                    cut(layers=6, thickness=3, made="sliced", ring_height=40),
                ]
            ),
            min_size=1,
            max_size=4,
        ).filter(
            lambda walls: any(band.get("made") != "veneer" for band in walls)
        )  # veneer alone is all floor
    )
    sheet = built(foot, *walls, laminates={"zig": ZIGZAG}, quantity=draw(st.sampled_from([1, 3])))
    sheet["shop"] = {
        **SHOP,
        "spare_segments": draw(st.sampled_from([0, 0.05])),
        "flatten": draw(round_to(0, 1)),
        "strip_hold": draw(st.sampled_from([0.0, 75.0])),
    }
    return sheet
