"""The piece in triangles, against the formulas of solids, a mesh library's checks and solids cut by another."""

from itertools import pairwise
from math import cos, pi, sin, tan
from typing import Any

import manifold3d
import numpy as np
import pytest
import trimesh
from hypothesis import given
from hypothesis import strategies as st

from estimating.picture.mesh import Body
from estimating.picture.segments import glued_courses, solids, turned_courses
from estimating.shape.build import Shape
from tests.estimating.modelled import PIECES, band, cone, cylinder, shape_of, sheet_of, sphere, tube, vase
from tests.estimating.sheets import modest

# The volumes of the elementary solids: pi r^2 h, a third of it, 4/3 pi r^3, and the difference of two cylinders.
# Source: Euclid, Elements XII, 10; Archimedes, On the Sphere and Cylinder I, 33-34.
CLOSED_FORMS = {
    "cylinder": (cylinder, pi * 30**2 * 40),
    "cone": (cone, pi * 30**2 * 40 / 3),
    "sphere": (sphere, 4 / 3 * pi * 40**3),
    "tube": (tube, pi * (30**2 - 20**2) * 40),
}


def library_mesh(body: Body) -> Any:
    """The body in a mesh library, its corners welded where they are the same to the last digit."""
    return trimesh.Trimesh(body.vertices, body.faces, process=False)


def turned_volume(shape: Shape, **how: float) -> float:
    return sum(course.bodies.volume for course in turned_courses(shape, **how))


@pytest.mark.parametrize("name", CLOSED_FORMS)
def test_solids_and_segments_have_the_volume_of_the_elementary_solid(name: str) -> None:
    make, volume = CLOSED_FORMS[name]
    (solid,) = solids(make())
    assert solid.volume == pytest.approx(volume, rel=1e-4)
    assert turned_volume(make()) == pytest.approx(volume, rel=1e-4)


@pytest.mark.parametrize("tolerance", [1e-2, 1e-3, 1e-4])
def test_a_coarse_mesh_encloses_the_volume_of_a_fine_one(tolerance: float) -> None:
    # The sphere's poles, where nothing is given back, shrink with the tolerance: 1e-2 leaves them a few thousandths.
    rel = max(1e-4, tolerance)
    assert turned_volume(sphere(), tolerance=tolerance) == pytest.approx(4 / 3 * pi * 40**3, rel=rel)
    shape = vase()
    within = float(np.sum(shape.stack.turned))
    assert turned_volume(shape, tolerance=tolerance) == pytest.approx(within, rel=rel)


@pytest.mark.parametrize("name", PIECES)
def test_every_segment_is_closed_and_faces_outwards(name: str) -> None:
    for course in (*turned_courses(PIECES[name]()), *glued_courses(PIECES[name]())):
        mesh = library_mesh(course.bodies)
        assert mesh.is_watertight
        assert mesh.is_winding_consistent
        parts = mesh.split(only_watertight=True)
        assert len(parts) == len(course.angles)
        assert all(part.volume > 0 for part in parts)


@pytest.mark.parametrize("name", PIECES)
def test_a_piece_closed_all_round_is_one_closed_solid_of_its_own_volume(name: str) -> None:
    shape = PIECES[name]()
    (solid,) = solids(shape)
    mesh = library_mesh(solid)
    assert mesh.is_watertight
    assert mesh.is_winding_consistent
    assert mesh.body_count == 1
    assert mesh.volume == pytest.approx(shape.form.volume, rel=1e-4)
    assert mesh.euler_number == (0 if name == "tube" else 2)


def test_open_gaps_take_their_share_of_the_band_and_leave_closed_segments() -> None:
    bodies = solids(tube(gap=0.25))
    assert len(bodies) == 4 * 8
    assert sum(body.volume for body in bodies) == pytest.approx(0.75 * CLOSED_FORMS["tube"][1], rel=1e-4)
    assert all(library_mesh(body).is_watertight for body in bodies)


def test_closed_bands_below_and_above_an_open_one_are_a_solid_each() -> None:
    shape = vase(gap=0.2)
    bodies = solids(shape)
    assert len(bodies) == 1 + 10 * 24 + 1
    turned = shape.stack.turned
    expected = float(turned[0] + 0.8 * turned[1:11].sum() + turned[11])
    assert sum(body.volume for body in bodies) == pytest.approx(expected, rel=1e-4)


def test_a_glued_ring_has_the_prism_volume_of_its_polygons() -> None:
    # Area of a regular polygon about a circle: n a^2 tan(pi / n); the inner corners lie on the inner circle.
    course = glued_courses(tube())[0]
    inner = 20 * cos(pi / 8)
    assert course.bodies.volume == pytest.approx(8 * tan(pi / 8) * (30**2 - inner**2) * 10, rel=1e-12)
    corner = np.hypot(*course.bodies.vertices[:, :2].T).max()
    assert corner == pytest.approx(30 / cos(pi / 8), rel=1e-12)


def prism(half: float, height: float) -> Any:
    """A wedge through the axis towards the viewer, taller and wider than the piece."""
    outline = [[0, 0], [-200 * sin(half), -200 * cos(half)], [200 * sin(half), -200 * cos(half)]]
    return manifold3d.Manifold.extrude(manifold3d.CrossSection([outline]), height)


@pytest.mark.parametrize("layer", [0, 1, 5, 11])
def test_a_turned_segment_is_the_solid_of_revolution_cut_by_its_prism(layer: int) -> None:
    shape = vase()
    course = turned_courses(shape, tolerance=1e-4)[layer]
    (solid,) = solids(shape, tolerance=1e-4)
    whole = manifold3d.Manifold(
        manifold3d.Mesh(solid.vertices.astype(np.float32), solid.faces.astype(np.uint32))
    )
    half = pi / len(course.angles)
    cut = whole ^ prism(half, course.upper - course.lower).translate([0, 0, course.lower])
    segment = course.bodies.volume / len(course.angles)
    # The library's corners are single precision, 1e-7 of the piece, which is 1e-4 of a thin segment.
    assert cut.volume() == pytest.approx(segment, rel=5e-4)
    low, high = np.array(cut.bounding_box()).reshape(2, 3)
    one = course.skin.vertices
    assert np.allclose(one.min(axis=0), low, atol=0.02)
    assert np.allclose(one.max(axis=0), high, atol=0.02)


def test_segments_stand_where_the_drawings_have_them() -> None:
    course = turned_courses(tube(), tolerance=1e-3)[1]  # turned by half a segment on the first
    first = course.bodies.vertices[: len(course.bodies.vertices) // 8]
    x, y = first[:, :2].mean(axis=0)
    # Anticlockwise from above, from the viewer: a point at angle t stands sin(t) right and cos(t) towards them.
    assert np.arctan2(x, -y) == pytest.approx(pi / 8)


@pytest.mark.parametrize("name", PIECES)
def test_the_skin_is_the_same_surface_with_normals_square_to_it(name: str) -> None:
    for course in turned_courses(PIECES[name]()):
        skin = course.skin
        a, b, c = (skin.vertices[skin.faces[:, corner]] for corner in range(3))
        square = np.cross(b - a, c - a)
        assert np.einsum("ij,ij->", a, np.cross(b, c)) / 6 == pytest.approx(
            course.bodies.volume / len(course.angles), rel=1e-9
        )
        assert np.allclose(np.linalg.norm(skin.normals, axis=1), 1)
        square /= np.linalg.norm(square, axis=1, keepdims=True)
        for corner in range(3):
            towards = np.einsum("ij,ij->i", square, skin.normals[skin.faces[:, corner]])
            assert towards.min() > cos(pi / 6)  # half a chord's angle and half a crease


def test_neighbouring_layers_meet_in_the_same_profile() -> None:
    # Two layers of different segment counts: their arcs are chords of the same circle, within the tolerance.
    courses = turned_courses(vase(), tolerance=1e-3)
    for below, above in pairwise(courses[1:11]):
        top = below.loop.points[np.isclose(below.loop.points[:, 1], below.upper)]
        bottom = above.loop.points[np.isclose(above.loop.points[:, 1], above.lower)]
        assert above.lower - below.upper == pytest.approx(0.08, abs=1e-9)
        assert np.allclose(sorted(top[:, 0]), sorted(bottom[:, 0]), atol=0.15)  # a glue line's height apart


@modest
@given(
    radii=st.lists(st.floats(5, 90), min_size=2, max_size=5),
    wall=st.floats(2, 4),
    segments=st.integers(3, 40),
    curve=st.sampled_from(["straight", "smooth"]),
)
def test_any_piece_is_closed_and_of_its_own_volume(
    radii: list[float], wall: float, segments: int, curve: str
) -> None:
    heights = np.linspace(0, 60, len(radii)).tolist()
    form = {"outer": [list(pair) for pair in zip(heights, radii, strict=True)], "curve": curve}
    form["inside"] = {"kind": "wall", "wall": wall, "floor": 7}
    shape = shape_of(sheet_of(form, [band(layers=6, segments=segments)]))
    (solid,) = solids(shape)
    mesh = library_mesh(solid)
    assert mesh.is_watertight
    assert solid.volume == pytest.approx(shape.form.volume, rel=1e-4)
    courses = turned_courses(shape)
    assert sum(course.bodies.volume for course in courses) == pytest.approx(shape.form.volume, rel=5e-4)
    assert all(library_mesh(course.bodies).is_watertight for course in courses)
