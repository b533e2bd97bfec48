"""Piece sheets for the tests: one with everything written out, changes to it, and random ones."""

from __future__ import annotations

import copy
from itertools import accumulate
from typing import Any

from hypothesis import HealthCheck, settings
from hypothesis import strategies as st

from estimating.answer import as_json
from estimating.errors import InvalidSheet
from estimating.estimate import estimate
from estimating.sheet import read_sheet

Json = dict[str, Any]
MM = {"mm": 1.0, "cm": 10.0, "in": 25.4}

modest = settings(
    max_examples=15, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck)
)  # the same sheets at every run, so that a red run can be run again

SHOP: Json = {
    "bond_line": 0, "rip_kerf": 3, "crosscut_kerf": 2.8, "slice_kerf": 1.2, "slice_hold": 8, "slice_sanding": 0.5,
    "flatten": 0.5, "extra_ring": 0, "board_end_trim": 25, "board_edge_trim": 4, "keep_length": 300, "keep_width": 40,
    "strip_hold": 75, "strip_lies": "either", "safe_segment_length": 20, "film": 0.1, "end_grain_factor": 1.5,
    "squeeze_out": 0.25, "mix_loss_ml": 5, "cup_ml": 80, "cup_mark_ml": 2.5, "mix_ratio": [1, 1], "coat_stack_min": 2,
    "working_share": 0.7, "layers_per_glue_up": 12, "pot_life_min": 30, "pot_life_at_c": 21, "temperature_c": 21,
}  # fmt: skip
PRICING: Json = {
    "currency": "USD", "labour_rate": "30.00", "margin": 0.15, "gallery_share": 0.4, "tax": 0.0,
    "tax_inclusive": False, "deposit_share": 0.5, "overhead_rate": "0.00", "failure_share": 0.0,
    "adhesive_per_ml": "0.00", "consumables": "0.00",
}  # fmt: skip


def bowl(**changes: Any) -> Json:
    """A small straight-sided bowl: a foot of one layer and a wall of three, in two woods."""
    sheet: Json = {
        "title": "Small bowl",
        "unit": "mm",
        "quantity": 1,
        "form": {"outer": [[0, 40], [40, 60]], "curve": "straight", "inside": {"kind": "solid"}},
        "allowance": {"outside": 3, "inside": 3, "top": 0, "bottom": 0},
        "bands": [
            {"name": "foot", "layers": 1, "thickness": 10, "segments": 12, "woods": ["walnut"],
             "offset": 0.5, "gap": 0, "made": "cut"},
            {"name": "side", "layers": 3, "thickness": 10, "segments": 12, "woods": ["maple", "cherry"],
             "offset": 0.5, "gap": 0, "made": "cut"},
        ],
        "shop": dict(SHOP),
        "boards": [],
        "pricing": dict(PRICING),
    }  # fmt: skip
    return copy.deepcopy({**sheet, **changes})


def changed(sheet: Json, path: list[str | int], value: Any) -> Json:
    """A copy of the sheet with one value set; objects on the way are made where they are missing."""
    result = copy.deepcopy(sheet)
    there: Any = result
    for step in path[:-1]:
        there = there.setdefault(step, {}) if isinstance(there, dict) else there[step]
    there[path[-1]] = value
    return result


def without(sheet: Json, path: list[str | int]) -> Json:
    """A copy of the sheet with one key left out."""
    result = copy.deepcopy(sheet)
    there: Any = result
    for step in path[:-1]:
        there = there[step]
    del there[path[-1]]
    return result


def answer(sheet: Any) -> Json:
    return as_json(estimate(read_sheet(sheet)))


def errors_of(sheet: Any) -> list[str]:
    """The error lines that a sheet earns, none where it is estimated."""
    try:
        estimate(read_sheet(sheet))
    except InvalidSheet as refusal:
        return str(refusal).split("\n")
    return []


def places_of(sheet: Any) -> list[str]:
    return [line.split(": ", 1)[0] for line in errors_of(sheet)]


def round_to(low: float, high: float, *, places: int = 2) -> st.SearchStrategy[float]:
    return st.floats(low, high).map(lambda value: round(value, places))


@st.composite
def shops(draw: st.DrawFn) -> Json:
    """Shop settings in mm, one kind of hold or another, inside what a shop could have."""
    return {
        **SHOP,
        "bond_line": draw(st.sampled_from([0.0, 0.08, 0.15])),
        "rip_kerf": draw(round_to(1, 4)),
        "crosscut_kerf": draw(round_to(0, 4)),
        "slice_kerf": draw(round_to(0.8, 2.5)),
        "slice_hold": draw(st.sampled_from([0.0, 3.0, 8.0])),
        "slice_sanding": draw(round_to(0, 1)),
        "flatten": draw(round_to(0, 1)),
        "extra_ring": draw(st.sampled_from([0, 0, 5_000, 200_000])),
        "board_edge_trim": draw(st.sampled_from([0.0, 4.0])),
        "strip_hold": draw(st.sampled_from([0.0, 75.0])),
        "strip_lies": draw(st.sampled_from(["either", "flat", "on_edge"])),
        "film": draw(round_to(0.05, 0.2)),
        "end_grain_factor": draw(round_to(1, 2)),
        "squeeze_out": draw(round_to(0, 0.5)),
        "mix_loss_ml": draw(round_to(0, 6)),
        "mix_ratio": draw(st.sampled_from([[1, 1], [2, 1], [1, 0.5], [3, 1], [5, 2]])),
        "layers_per_glue_up": draw(st.integers(2, 12)),
        "temperature_c": draw(st.sampled_from([16, 21, 27])),
    }


@st.composite
def bands_of(draw: st.DrawFn, *, most_layers: int) -> Json:
    """One band, lengths in mm."""
    segments = draw(st.sampled_from([3, 4, 6, 8, 12, 16, 18, 24]))
    counts = [n for n in (1, 2, 3, 4) if segments % n == 0]
    woods = st.sampled_from(["maple", "walnut", "cherry"])
    count = draw(st.sampled_from(counts))
    offset = draw(
        st.one_of(
            st.sampled_from([0, 0.5, -0.5, 1]),
            round_to(-3, 3),
            st.lists(st.sampled_from([0.5, -0.5, 0.25, 1.3]), min_size=1, max_size=3),
        )
    )
    made = draw(st.sampled_from(["cut", "sliced"]))
    band = {
        "name": draw(st.sampled_from(["", "foot", "swirl", "rim <b>"])),
        "layers": draw(st.integers(1, most_layers)),
        "thickness": draw(round_to(2, 14)),
        "segments": segments,
        "woods": draw(st.lists(woods, min_size=count, max_size=count)),
        "offset": offset,
        "gap": draw(st.sampled_from([0, 0, 0.1, 0.35])),
        "made": made,
    }
    if made == "sliced":
        band["ring_height"] = draw(round_to(32, 60))
    return band


@st.composite
def sheets(draw: st.DrawFn, *, most_layers: int = 6, boards: bool = False) -> Json:
    """A whole sheet whose layers add up to its form."""
    unit = draw(st.sampled_from(["mm", "mm", "cm", "in"]))
    shop = draw(shops())
    bands = draw(st.lists(bands_of(most_layers=most_layers), min_size=1, max_size=3))
    if sum(band["layers"] * band["thickness"] for band in bands) < 30:
        bands[0]["layers"], bands[0]["thickness"] = max(2, bands[0]["layers"]), 16.0
    allowance = {
        "outside": draw(st.sampled_from([0, 2.5])),
        "inside": draw(st.sampled_from([0, 3])),
        "top": draw(st.sampled_from([0, 1.5])),
        "bottom": draw(st.sampled_from([0, 2])),
    }
    lines = sum(band["layers"] for band in bands) - 1
    stack = sum(band["layers"] * band["thickness"] for band in bands) + lines * shop["bond_line"]
    over = draw(st.sampled_from([0.0, 0.0, 0.4])) * bands[-1]["thickness"]
    height = stack - over - allowance["top"] - allowance["bottom"]
    form = draw(forms_of(height=height))
    scale = 1 / MM[unit]
    return {
        "title": "Random <piece>",
        "unit": unit,
        "quantity": draw(st.sampled_from([1, 1, 3])),
        "form": _form_in(form, scale),
        "allowance": {key: value * scale for key, value in allowance.items()},
        "bands": [
            {k: v * scale if k in ("thickness", "ring_height") else v for k, v in band.items()}
            for band in bands
        ],
        "shop": {k: v * scale if k in _LENGTHS else v for k, v in shop.items()},
        "boards": draw(racks(scale)) if boards else [],
        "pricing": draw(pricings()),
    }


_LENGTHS = {
    "bond_line", "rip_kerf", "crosscut_kerf", "slice_kerf", "slice_hold", "slice_sanding", "flatten",
    "board_end_trim", "board_edge_trim", "keep_length", "keep_width", "strip_hold", "safe_segment_length", "film",
}  # fmt: skip


def _form_in(form: Json, scale: float) -> Json:
    def points(given: list[list[float]]) -> list[list[float]]:
        return [[h * scale, r * scale] for h, r in given]

    inside = {
        key: value if key == "kind" else points(value) if key == "inner" else value * scale
        for key, value in form["inside"].items()
    }
    return {"outer": points(form["outer"]), "curve": form["curve"], "inside": inside}


@st.composite
def forms_of(draw: st.DrawFn, *, height: float) -> Json:
    """A form of that height, mm, its inside well within it."""
    count = draw(st.integers(2, 5))
    steps = draw(st.lists(st.floats(0.2, 1), min_size=count - 1, max_size=count - 1))
    start = draw(st.sampled_from([0.0, 12.5]))
    heights = [start, *(start + height * part / sum(steps) for part in accumulate(steps))]
    radii = draw(st.lists(round_to(25, 110), min_size=count, max_size=count))
    kind = draw(st.sampled_from(["solid", "wall", "curve"]))
    inside: Json = {"kind": kind}
    if kind == "wall":
        inside |= {"wall": draw(round_to(3, 9)), "floor": draw(st.sampled_from([0.0, 3.0, 0.25 * height]))}
    if kind == "curve":
        floor = draw(st.sampled_from([0.0, 0.2, 0.4])) * height
        middle = floor + (height - floor) * draw(st.floats(0.2, 0.8))
        shares = draw(st.lists(st.floats(0.1, 0.9), min_size=3, max_size=3))
        within = min(radii)
        inner = zip((floor, middle, height), shares, strict=True)
        inside["inner"] = [[start + h, share * within] for h, share in inner]
        inside["inner"][-1][0] = heights[-1]
    points = [[h, r] for h, r in zip(heights, radii, strict=True)]
    return {"outer": points, "curve": draw(st.sampled_from(["straight", "smooth"])), "inside": inside}


@st.composite
def racks(draw: st.DrawFn, scale: float) -> list[Json]:
    """Boards of the woods the random sheets use, some too small to help."""
    return [
        {
            "wood": draw(st.sampled_from(["maple", "walnut", "cherry"])),
            "length": draw(round_to(300, 1500)) * scale,
            "width": draw(round_to(60, 220)) * scale,
            "thickness": draw(round_to(15, 60)) * scale,
            "count": draw(st.integers(1, 3)),
            "price": draw(st.sampled_from(["0", "12.50", "38.00"])),
        }
        for _ in range(draw(st.integers(0, 4)))
    ]


@st.composite
def pricings(draw: st.DrawFn) -> Json:
    amount = st.decimals(0, 80, places=2).map(str)
    share = st.integers(0, 60).map(lambda n: n / 100)
    return {
        "currency": draw(st.sampled_from(["USD", "EUR", "JPY", "KWD"])),
        "labour_rate": draw(amount),
        "margin": draw(share),
        "gallery_share": draw(share),
        "tax": draw(st.sampled_from([0.0, 0.0825, 0.2])),
        "tax_inclusive": draw(st.booleans()),
        "deposit_share": draw(share),
        "overhead_rate": draw(amount),
        "failure_share": draw(st.sampled_from([0.0, 0.05, 0.3])),
        "adhesive_per_ml": draw(st.sampled_from(["0", "0.04"])),
        "consumables": draw(amount),
    }
