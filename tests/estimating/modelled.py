"""Shapes of small pieces to make solids of."""

from typing import Any

from estimating.shape.build import Shape, build_shapes
from estimating.sheet import read_sheet
from tests.estimating.sheets import bowl

Json = dict[str, Any]


def band(**changes: Any) -> Json:
    """A band of the sheet; two layers of eight unless asked otherwise."""
    usual: Json = {"layers": 2, "thickness": 10, "segments": 8, "woods": ["maple"], "offset": 0.5}
    return {**usual, **changes}


def sheet_of(form: Json, bands: list[Json], **changes: Any) -> Json:
    """A piece sheet with that form and those bands, no wood left on unless asked otherwise."""
    none = {"outside": 0, "inside": 0, "top": 0, "bottom": 0}
    return bowl(form=form, bands=bands, **{"allowance": none, **changes})


def shape_of(sheet: Json) -> Shape:
    """The shape a sheet asks for."""
    read = read_sheet(sheet)
    return build_shapes(read.parts, shop=read.shop)[0]


SOLID = {"kind": "solid"}
STRAIGHT = {"curve": "straight"}


def cylinder(**changes: Any) -> Shape:
    """60 mm across and 40 mm high, four layers of eight."""
    form = {**STRAIGHT, "outer": [[0, 30], [40, 30]], "inside": SOLID}
    return shape_of(sheet_of(form, [band(layers=4, **changes)]))


def cone(segments: int = 8) -> Shape:
    """60 mm across at the foot, ending in a point 40 mm up."""
    form = {**STRAIGHT, "outer": [[0, 30], [40, 0]], "inside": SOLID}
    return shape_of(sheet_of(form, [band(layers=4, segments=segments)]))


def sphere(layers: int = 8) -> Shape:
    """80 mm across."""
    form = {"kind": "sphere", "diameter": 80, "inside": SOLID}
    return shape_of(sheet_of(form, [band(layers=layers, thickness=80 / layers, segments=12)]))


def tube(gap: float = 0.0) -> Shape:
    """60 mm across outside and 40 mm inside, right through, 40 mm high."""
    inside = {"kind": "curve", "inner": [[0, 20], [40, 20]]}
    form = {**STRAIGHT, "outer": [[0, 30], [40, 30]], "inside": inside}
    return shape_of(sheet_of(form, [band(layers=4, gap=gap)]))


def vase(gap: float = 0.0, foot: Json | None = None) -> Shape:
    """Smooth and walled, with a floor inside a layer, allowances and glue lines; its middle open where `gap` says.

    `foot` has more keys for the lowest band.
    """
    form = {
        "outer": [[0, 40], [40, 70], [90, 50], [120, 56]],
        "curve": "smooth",
        "inside": {"kind": "wall", "wall": 6, "floor": 11},
    }
    bands = [
        band(name="foot", layers=1, thickness=14, segments=12, woods=["walnut"], **(foot or {})),
        band(name="side", layers=10, thickness=10, segments=24, woods=["maple", "cherry"], gap=gap),
        band(name="rim", layers=1, thickness=6.1, segments=18, woods=["walnut"]),
    ]
    sheet = sheet_of(form, bands, allowance={"outside": 3, "inside": 3, "top": 1, "bottom": 0})
    sheet["shop"]["bond_line"] = 0.08
    return shape_of(sheet)


PIECES = {"cylinder": cylinder, "cone": cone, "sphere": sphere, "tube": tube, "vase": vase}
