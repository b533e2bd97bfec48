"""Discs, staves, bores and plugs in triangles, against the formulas of solids and a mesh library's checks."""

from math import pi, tan
from typing import Any

import numpy as np
import pytest
import trimesh
from hypothesis import given
from hypothesis import strategies as st

from estimating.picture.mesh import Body
from estimating.picture.segments import glued_courses, solids, turned_courses
from estimating.shape.build import Shape
from tests.estimating.modelled import SOLID, STRAIGHT, band, cone, cylinder, shape_of, sheet_of, vase
from tests.estimating.sheets import modest

CYLINDER = pi * 30**2 * 40


def watertight(body: Body) -> bool:
    mesh = trimesh.Trimesh(body.vertices, body.faces, process=False)
    return bool(mesh.is_watertight and mesh.is_winding_consistent and mesh.volume > 0)


def volumes(shape: Shape, **how: Any) -> tuple[float, float]:
    """Volume of the segments and discs, and of the plugs, as turned."""
    courses = turned_courses(shape, **how)
    return (
        sum(course.bodies.volume for course in courses if not course.is_plug),
        sum(course.bodies.volume for course in courses if course.is_plug),
    )


def disc(made: str = "solid", **changes: Any) -> Any:
    """A band of discs."""
    found = band(made=made, **changes)
    del found["segments"], found["offset"]
    return found


@pytest.mark.parametrize("made", ["solid", "veneer"])
def test_a_disc_is_one_round_body_turned_and_glued(made: str) -> None:
    form = {**STRAIGHT, "outer": [[0, 30], [40, 30]], "inside": SOLID}
    bands = [band(layers=1, thickness=39), disc(made, layers=1, thickness=1)]
    shape = shape_of(sheet_of(form, bands, allowance={"outside": 3, "inside": 0, "top": 0, "bottom": 0}))
    *_, turned = turned_courses(shape)
    assert turned.woods == ("maple",)
    assert turned.bodies.volume == pytest.approx(pi * 30**2 * 1, rel=1e-9)
    *_, glued = glued_courses(shape)
    assert glued.bodies.volume == pytest.approx(pi * 33**2 * 1, rel=1e-9)
    for course in (turned, glued):
        assert len(course.angles) == 1
        assert watertight(course.bodies)
        assert trimesh.Trimesh(course.bodies.vertices, course.bodies.faces).euler_number == 2


def test_an_open_bore_goes_through_segments_and_solid() -> None:
    shape = cylinder(bore=20)
    assert volumes(shape) == (pytest.approx(CYLINDER - pi * 10**2 * 40, rel=1e-9), 0)
    (solid,) = solids(shape)
    assert solid.volume == pytest.approx(CYLINDER - pi * 10**2 * 40, rel=1e-9)
    assert watertight(solid)
    assert trimesh.Trimesh(solid.vertices, solid.faces).euler_number == 0


def test_a_plug_fills_its_bore_and_the_solid_is_whole_again() -> None:
    shape = cylinder(bore=20, plug="walnut")
    ring, plug = volumes(shape)
    assert ring == pytest.approx(CYLINDER - pi * 10**2 * 40, rel=1e-9)
    assert plug == pytest.approx(pi * 10**2 * 40, rel=1e-9)
    plugs = [course for course in turned_courses(shape) if course.is_plug]
    assert {course.woods for course in plugs} == {("walnut",)}
    assert [course.layer for course in plugs] == [1, 2, 3, 4]
    (solid,) = solids(shape)
    assert solid.volume == pytest.approx(CYLINDER, rel=1e-9)


def test_a_bore_wider_than_the_turned_tip_takes_the_tip_away() -> None:
    form = {**STRAIGHT, "outer": [[0, 30], [40, 0]], "inside": SOLID}
    shape = shape_of(sheet_of(form, [band(layers=4, bore=12)]))
    # Outside the bore: the cone up to where its radius is 6, less the hole. Frustum: pi h (R^2 + R r + r^2) / 3.
    height = 40 * (30 - 6) / 30
    left = pi * height * (30**2 + 30 * 6 + 6**2) / 3 - pi * 6**2 * height
    assert volumes(shape)[0] == pytest.approx(left, rel=1e-9)
    (solid,) = solids(shape)
    assert solid.volume == pytest.approx(left, rel=1e-9)
    assert watertight(solid)
    plugged = shape_of(sheet_of(form, [band(layers=4, bore=12, plug="walnut")]))
    assert sum(volumes(plugged)) == pytest.approx(pi * 30**2 * 40 / 3, rel=1e-9)


@pytest.mark.parametrize("plug", [None, "walnut"])
def test_a_bore_through_the_floor_of_a_vase_takes_what_the_shape_says(plug: str | None) -> None:
    foot: dict[str, Any] = {"bore": 30}
    if plug:
        foot["plug"] = plug
    shape = vase(foot=foot)
    assert shape.bore[0] == 30
    ring, filled = volumes(shape)
    core = float(shape.core.sum())
    # The floor is 11 mm thick; above it the hollow is wider than the bore.
    assert core == pytest.approx(pi * 15**2 * 11, rel=1e-9)
    assert ring == pytest.approx(float(shape.stack.turned.sum()) - core, rel=1e-4)
    assert filled == (pytest.approx(core, rel=1e-6) if plug else 0)
    bodies = solids(shape)
    assert len(bodies) == 1
    assert bodies[0].volume == pytest.approx(shape.form.volume - (0 if plug else core), rel=1e-4)
    assert watertight(bodies[0])
    assert all(watertight(course.bodies) for course in turned_courses(shape))


def test_staves_lean_as_glued_and_are_turned_to_the_form() -> None:
    form = {
        **STRAIGHT,
        "outer": [[0, 60], [100, 40]],
        "inside": {"kind": "wall", "wall": 6, "floor": 0},
    }
    staves = {
        "name": "side",
        "made": "staves",
        "layers": 1,
        "thickness": 100,
        "segments": 12,
        "woods": ["maple", "walnut"],
    }
    shape = shape_of(sheet_of(form, [staves], allowance={"outside": 2, "inside": 2, "top": 0, "bottom": 0}))
    (turned,), (glued,) = turned_courses(shape), glued_courses(shape)
    assert turned.bodies.volume == pytest.approx(shape.form.volume, rel=1e-4)
    assert watertight(turned.bodies)
    assert watertight(glued.bodies)
    # Frustum of a pyramid over a regular polygon of n sides: n tan(pi / n) h (a^2 + a b + b^2) / 3.
    ring = shape.rings[0]
    (outer, inner), (outer_top, inner_top) = ring.face(), ring.face(top=True)
    assert outer > outer_top

    def frustum(a: float, b: float) -> float:
        return 12 * tan(pi / 12) * 100 * (a * a + a * b + b * b) / 3

    expected = frustum(outer, outer_top) - frustum(inner, inner_top)
    assert glued.bodies.volume == pytest.approx(expected, rel=1e-9)


@modest
@given(
    bore=st.floats(4, 50),
    radii=st.lists(st.floats(28, 60), min_size=2, max_size=4),
    gap=st.sampled_from([0, 0.2]),
)
def test_whatever_is_bored_is_closed_and_loses_its_core(bore: float, radii: list[float], gap: float) -> None:
    form = {
        "outer": [list(point) for point in zip(np.linspace(0, 40, len(radii)).tolist(), radii, strict=True)],
        "curve": "smooth",
        "inside": {"kind": "wall", "wall": 5, "floor": 12},
    }
    shape = shape_of(sheet_of(form, [band(layers=4, bore=bore, gap=gap)]))
    courses = turned_courses(shape, tolerance=1 / 5000)
    assert all(watertight(course.bodies) for course in courses)
    left = float(shape.stack.turned.sum() - shape.core.sum()) * (1 - gap)
    assert sum(course.bodies.volume for course in courses) == pytest.approx(left, rel=1e-4)
    bodies = solids(shape)
    assert sum(body.volume for body in bodies) == pytest.approx(left, rel=1e-4)
    assert all(watertight(body) for body in bodies)


def test_layers_keep_their_numbers_in_a_second_part() -> None:
    body = cone()
    later = Shape(
        **{
            **{name: getattr(body, name) for name in body.__dataclass_fields__},
            "first_layer": 10,
            "base": 40.0,
        }
    )
    assert [course.layer for course in turned_courses(later)] == [11, 12, 13, 14]
    assert [course.layer for course in glued_courses(later)] == [11, 12, 13, 14]
