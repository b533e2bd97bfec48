"""Layers of every kind a second time, in plain loops: what is turned, glued and sawn of discs, bores, plugs and staves.

Written from the written rules alone; nothing here is imported from the code under test. For straight-sided forms whose
inside is a wall and a floor, in mm. Curves and quadrature are those of reference.py, areas are shapely's.
"""

from __future__ import annotations

import math
from typing import Any

from scipy.integrate import quad

from tests.estimating import reference

Json = dict[str, Any]
DISCS = ("solid", "veneer")


def stack(sheet: Json) -> list[Json]:
    """Every layer: its span, radii to cover, the bore through it, and what is turned of it in and beside the bore."""
    written = {**sheet, "form": {"curve": "straight", **sheet["form"]}}
    form, allowance, shop = reference.Form(written), sheet["allowance"], sheet["shop"]
    found: list[Json] = []
    low = form.bottom - allowance["bottom"]
    for index, band in enumerate(sheet["bands"]):
        for place in range(band["layers"]):
            high = low + band["thickness"]
            outer, inner = reference.radii_to_cover(form, low, high)
            outer, inner = outer + allowance["outside"], max(0.0, inner - allowance["inside"])
            bore = bored(band, outer=outer, inner=inner, tip=shop.get("min_tip_edge", 3.0))
            whole = reference.turned(form, low, high)
            core = within(form, low, high, bore / 2) if bore else 0.0
            rows = band.get("chart", {}).get("rows")
            woods = [band["chart"]["legend"][sign] for sign in rows[place]] if rows else band["woods"]
            found.append(
                {"band": index, "low": low, "high": high, "outer": outer, "inner": inner, "bore": bore,
                 "beside": (whole - core) * (1 - band.get("gap", 0)), "core": core, "woods": woods}
            )  # fmt: skip
            low = high + shop["bond_line"]
    return found


def bored(band: Json, *, outer: float, inner: float, tip: float) -> float:
    """Diameter of the hole, 0 without one: tips are `tip` or longer, and what is open wider stays as it is."""
    bore = band.get("bore", 0.0)
    if bore == "auto":
        half = math.pi * (1 - band.get("gap", 0)) / band["segments"]
        bore = next(d for d in range(1, 10_000) if d * math.sin(half) >= tip - 1e-9)
        if bore > 0.8 * 2 * outer:
            return 0.0
    return float(bore) if bore > 2 * inner else 0.0


def within(form: reference.Form, low: float, high: float, radius: float) -> float:
    """Volume of the form nearer to the axis than `radius`."""
    low, high = max(low, form.bottom), min(high, form.top)
    edges = sorted({low, high, *(h for h in form.kinks() if low < h < high)})

    def area(z: float) -> float:
        return min(form.outer_radius(z), radius) ** 2 - min(form.inner_radius(z), radius) ** 2

    # a step where the inside opens is an edge; the crossing of the cap is searched for by quad itself
    parts = [quad(area, a + 1e-9, b - 1e-9, limit=200, epsrel=1e-9)[0] for a, b in zip(edges, edges[1:])]  # noqa: B905, RUF007
    return math.pi * sum(parts)


def plugs(sheet: Json, layers: list[Json]) -> list[Json]:
    """Runs of neighbouring layers of one band bored alike that a plug fills: diameter, length, wood."""
    found: list[Json] = []
    before: Json | None = None
    for layer in layers:
        wood = sheet["bands"][layer["band"]].get("plug")
        if layer["bore"] and wood:
            same = before is not None and (before["band"], before["bore"]) == (layer["band"], layer["bore"])
            if same:
                found[-1]["length"] = layer["high"] - found[-1]["low"]
            else:
                length = layer["high"] - layer["low"]
                found.append({"wood": wood, "diameter": layer["bore"], "length": length, "low": layer["low"]})
        before = layer
    return found
