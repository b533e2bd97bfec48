"""A whole small piece against solids: the form cut with every segment's prism, by manifold3d through trimesh."""

import math
from collections import defaultdict
from typing import Any

import numpy as np
import pytest
import trimesh
from shapely.geometry import Polygon

from tests.estimating import reference
from tests.estimating.sheets import Json, answer, bowl

FACETS = 240
"""Sides of the revolved form's polygon; its area is short of the circle's by 1 - sin(2 pi/N)/(2 pi/N)."""

SHORT = 1 - math.sin(2 * math.pi / FACETS) / (2 * math.pi / FACETS)  # 1.1e-4


def small_piece(*, gap: float = 0.0) -> Json:
    sheet = bowl(
        form={"outer": [[0, 25], [12, 40], [30, 33]], "curve": "straight"},
        allowance={"outside": 2, "inside": 2},
    )
    sheet["form"]["inside"] = {"kind": "curve", "inner": [[8, 15], [30, 28]]}
    sheet["bands"] = [
        {
            "layers": 3,
            "thickness": 10,
            "segments": 6,
            "woods": ["maple", "walnut", "ash"],
            "offset": 0.5,
            "gap": gap,
        }
    ]
    return sheet


def revolved(points: list[list[float]]) -> Any:
    """The solid swept by a profile of [height, radius], axis and back, closed."""
    profile = [[r, z] for z, r in points]
    return trimesh.creation.revolve(np.array(profile), sections=FACETS)


def turned_form() -> Any:
    return revolved([[0, 0], [0, 25], [12, 40], [30, 33], [30, 28], [8, 15], [8, 0]])


def segments_of(found: Json, *, gap: float) -> list[tuple[str, Any]]:
    """Every segment as a prism with its wood, placed by its layer's height and angle as the answer gives them."""
    prisms = []
    for layer in found["layers"]:
        ring = found["rings"][layer["ring"] - 1]
        phi = math.pi * (1 - gap) / ring["segments"]
        outer, inner = layer["outer_radius"] / math.cos(phi), layer["inner_radius"]
        for k, wood in enumerate(ring["pattern"]):
            middle = math.radians(layer["offset_deg"]) + k * 2 * math.pi / ring["segments"]
            polar = [(outer, -phi), (outer, phi), (inner, phi), (inner, -phi)][: 4 if inner else 3]
            face = Polygon([(r * math.cos(middle + a), r * math.sin(middle + a)) for r, a in polar])
            prism = trimesh.creation.extrude_polygon(face, layer["thickness"])
            prism.apply_translation([0, 0, layer["bottom"]])
            prisms.append((wood, prism))
    return prisms


@pytest.mark.parametrize("gap", [0.0, 0.3])
def test_what_is_turned_of_each_wood_is_the_form_cut_with_its_segments(gap: float) -> None:
    found = answer(small_piece(gap=gap))
    form = turned_form()
    volumes: dict[str, float] = defaultdict(float)
    for wood, prism in segments_of(found, gap=gap):
        volumes[wood] += trimesh.boolean.intersection([form, prism], engine="manifold").volume
    for wood, account in found["wood"].items():
        # The facets of outside and inside cut each angle alike but where the prisms' flats fall between them: the
        # shortfall of the polygon is a fraction of the outer solid, the inner one taken off again.
        assert volumes[wood] == pytest.approx(account["turned"], rel=3 * SHORT)
        assert volumes[wood] < account["turned"]


def test_the_form_is_the_solid_of_trimesh() -> None:
    found = answer(small_piece())["form"]
    solid = turned_form()
    assert solid.is_watertight
    assert found["volume"] * (1 - SHORT) == pytest.approx(
        solid.volume, rel=1e-9
    )  # each frustum is short alike


def test_the_form_lies_inside_the_glued_segments() -> None:
    """All that is turned is there as wood: the radii to cover do cover."""
    form = turned_form()
    found = answer(small_piece())
    inside = [
        trimesh.boolean.intersection([form, prism], engine="manifold").volume
        for _, prism in segments_of(found, gap=0.0)
    ]
    assert sum(inside) == pytest.approx(form.volume, rel=1e-6)  # booleans on facets round each corner to 1e-7


def test_blanks_of_the_rings_are_the_prisms_of_trimesh() -> None:
    sheet = small_piece()
    found = answer(sheet)
    account = found["wood"]["maple"]
    prisms = [prism.volume for wood, prism in segments_of(found, gap=0.0) if wood == "maple"]
    assert sum(prisms) == pytest.approx(account["turned"] + account["turning_waste"], rel=1e-9)
    flattened = 1.0 / 10  # half a millimetre off each face of a layer 10 thick
    assert account["slicing_waste"] == pytest.approx(sum(prisms) * flattened, rel=1e-9)
    stack = reference.layers({**sheet, "allowance": {"outside": 2, "inside": 2, "top": 0, "bottom": 0}})
    assert [layer["number"] for layer in stack] == [1, 2, 3]
