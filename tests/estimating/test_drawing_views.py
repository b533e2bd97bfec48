"""The views of a piece, taken apart again and held against the form and the rings by other means."""

from math import asin, cos, degrees, pi, sin
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad
from shapely import LineString, Point, Polygon
from shapely.affinity import rotate

from estimating.picture.elevation import FRONT, LEFT, visible_segments
from estimating.picture.section import blank_spans, cut_of
from estimating.picture.subject import FLATNESS
from estimating.piece import Band
from tests.estimating.drawn import (
    COLOURS,
    PIECES,
    ROUNDED,
    SVG,
    cone,
    draw_elevation,
    draw_piece,
    draw_section,
    layer_paths,
    of_class,
    open_bowl,
    parsed,
    piece,
    points_of,
    polygons,
    subject,
    vase,
)

DRAWN = {name: (make(), parsed(draw_piece(**make()))) for name, make in PIECES.items()}


def radius(of: dict[str, Any], height: float) -> float:
    return float(of["form"].outer.radius(np.array([height]))[0])


def inner_radius(of: dict[str, Any], height: float) -> float:
    return float(of["form"].inner_radius(np.array([height]))[0])


def wood_at(of: dict[str, Any], layer: int, angle: float) -> tuple[str | None, float]:
    """By counting pitches from segment 1: the wood at an angle of a layer, None in a gap, and how near an edge is."""
    ring = of["rings"][of["ring_of_layer"][layer]]
    pitch = 2 * pi / ring.segments
    pitches = (angle - of["stack"].angle[layer]) / pitch
    nearest = round(pitches)
    half = (1 - ring.gap) / 2
    off = abs(pitches - nearest)
    wood = ring.pattern[nearest % ring.segments] if off < half else None
    return wood, min(abs(off - half), abs(off - 0.5)) * pitch


def layer_at(of: dict[str, Any], height: float, margin: float) -> int | None:
    stack = of["stack"]
    inside = (stack.bottom + margin < height) & (height < stack.top - margin)
    return int(np.flatnonzero(inside)[0]) if inside.any() else None


@pytest.mark.parametrize("name", PIECES)
@settings(max_examples=150, deadline=None)
@given(share=st.floats(0.001, 0.999), across=st.floats(-0.999, -0.001))
def test_any_point_of_the_left_half_shows_the_wood_of_the_segment_that_the_turned_surface_meets_there(
    name: str, share: float, across: float
) -> None:
    of, root = DRAWN[name]
    height = of["form"].bottom + share * of["form"].height
    layer = layer_at(of, height, 0.05)
    r = radius(of, height)
    if layer is None or r < 1:
        return
    wood, edge = wood_at(of, layer, asin(across))
    if edge * r * cos(asin(across)) < 4 * FLATNESS:
        return
    point = Point(across * r, of["form"].top - height)
    fills = [
        path.get("fill")
        for number, path in layer_paths(root, "dw-elevation")
        if number == layer + 1 and any(patch.contains(point) for patch in polygons(path))
    ]
    assert fills == ([] if wood is None else [COLOURS[wood]])


@pytest.mark.parametrize("name", ["vase", "cone"])
def test_the_segments_of_a_closed_piece_fill_its_silhouette(name: str) -> None:
    of, root = DRAWN[name]
    patches = [patch for _, path in layer_paths(root, "dw-elevation") for patch in polygons(path)]
    subject_ = subject(of)
    silhouette = sum(
        quad(lambda z: radius(of, z), lower, upper, epsabs=1e-6)[0]
        for lower, upper in zip(subject_.lower, subject_.upper, strict=True)
    )
    rounding = sum(patch.length for patch in patches) * ROUNDED
    assert sum(patch.area for patch in patches) == pytest.approx(
        silhouette, abs=rounding + FLATNESS * of["form"].height
    )
    assert rounding < 0.02 * silhouette


def test_open_segments_leave_their_share_of_the_silhouette_free() -> None:
    of, root = DRAWN["open bowl"]
    for number, share in ((2, None), (5, None)):
        layer = number - 1
        seen = visible_segments(subject(of), layer, LEFT)
        assert len(seen.wood) in (4, 5)
        patches = [p for n, path in layer_paths(root, "dw-elevation") if n == number for p in polygons(path)]
        # Counted over fine steps of the angle instead of from edges.
        angles = (np.arange(20_000) + 0.5) / 20_000 * -pi / 2
        wooden = np.array([wood_at(of, layer, angle)[0] is not None for angle in angles])
        share = float(np.sum(np.cos(angles) * wooden) / np.sum(np.cos(angles)))
        whole = quad(lambda z: radius(of, z), of["stack"].bottom[layer], of["stack"].top[layer])[0]
        assert sum(p.area for p in patches) == pytest.approx(share * whole, rel=2e-3)


@pytest.mark.parametrize("segments", [3, 4, 18, 24, 360])
def test_a_view_draws_each_visible_segment_once_and_no_hidden_one(segments: int) -> None:
    of = piece(outer=[(0, 50), (20, 60)], bands=[Band("b", 2, 10, segments, ("maple",), (0.3,))])
    root = parsed(draw_elevation(**of))
    for layer in (0, 1):
        drawn = sum(len(polygons(path)) for n, path in layer_paths(root, "dw-elevation") if n == layer + 1)
        middles = (np.arange(200_000) + 0.5) / 200_000 * pi - pi / 2
        pitches = (middles - of["stack"].angle[layer]) / (2 * pi / segments)
        assert drawn == len(np.unique(np.round(pitches)))


def test_joints_lie_on_meridians_of_the_turned_surface() -> None:
    of = piece(outer=[(0, 50), (10, 60)], bands=[Band("b", 1, 10, 12, ("maple",))])
    ((_, path),) = layer_paths(parsed(draw_piece(**of)), "dw-elevation")
    expected = []
    for start, end in ((-90, -75), (-75, -45), (-45, -15), (-15, 0)):
        a, b = sin(start * pi / 180), sin(end * pi / 180)
        expected.append([(50 * a, 10), (60 * a, 0), (60 * b, 0), (50 * b, 10)])
    drawn = list(points_of(path.get("d", "")))
    assert np.array(drawn) == pytest.approx(np.array(expected), abs=ROUNDED + 1e-9)


def test_a_positive_offset_carries_segments_to_the_right_as_the_stack_rises() -> None:
    of = piece(outer=[(0, 50), (20, 50)], bands=[Band("b", 2, 10, 12, ("maple",), (0.25,))])
    lower, upper = (visible_segments(subject(of), layer, FRONT) for layer in (0, 1))
    assert degrees(upper.end[3] - lower.end[3]) == pytest.approx(0.25 * 30)


def test_ends_of_segments_show_only_in_gaps_and_only_as_far_as_the_wall_is_thick() -> None:
    of = open_bowl()
    root = parsed(draw_elevation(**of))
    ends = of_class(root, "dw-end")
    assert ends
    patches = {n: [] for n in range(1, 11)}
    for number, path in layer_paths(root, "dw-elevation"):
        patches[number] += polygons(path)
    for layer in of_class(root, "dw-layer"):
        for end in (found for found in layer.iter(f"{SVG}path") if found.get("class") == "dw-end"):
            for shape in polygons(end):
                number = int(layer.get("data-layer", "0"))
                assert sum(shape.intersection(patch).area for patch in patches[number]) < 0.1
                x0, _, x1, _ = shape.bounds
                height = (of["stack"].bottom[number - 1] + of["stack"].top[number - 1]) / 2
                assert x1 - x0 < 110 - inner_radius(of, height)


@pytest.mark.parametrize("side", [1, -1])
@pytest.mark.parametrize("name", PIECES)
def test_the_section_shows_the_segment_that_stands_just_behind_the_plane(name: str, side: int) -> None:
    of, _ = DRAWN[name]
    behind = side * (pi / 2 + 1e-5)
    for layer in range(len(of["stack"])):
        assert cut_of(subject(of), layer, side).wood == wood_at(of, layer, behind)[0]


@pytest.mark.parametrize("name", PIECES)
def test_the_section_is_as_large_as_the_wall_between_both_curves(name: str) -> None:
    of, root = DRAWN[name]
    opening = of["form"].opening
    for number, path in layer_paths(root, "dw-section"):
        layer = number - 1
        lower, upper = float(subject(of).lower[layer]), float(subject(of).upper[layer])
        (cut,) = polygons(path)
        breaks = [opening] if opening is not None and lower < opening < upper else None
        area = quad(lambda z: radius(of, z) - inner_radius(of, z), lower, upper, points=breaks)[0]
        assert cut.area == pytest.approx(area, abs=cut.length * (ROUNDED + FLATNESS))
        assert cut.area > 0.5 * area > 0


def test_gaps_that_fall_on_the_section_show_no_wood() -> None:
    of, root = DRAWN["open bowl"]
    bare = {number for number, path in layer_paths(root, "dw-section") if path.get("fill") == "none"}
    in_gap = {layer + 1 for layer in range(10) if wood_at(of, layer, pi / 2 + 1e-5)[0] is None}
    assert bare == in_gap
    assert in_gap


@pytest.mark.parametrize("side", [1, -1])
@pytest.mark.parametrize("name", PIECES)
def test_blanks_reach_where_the_plane_meets_the_glued_polygon(name: str, side: int) -> None:
    """Against shapely: the segment's trapezoid, turned to its place, met by a ray at the plane's angle."""
    of, _ = DRAWN[name]
    for layer, (_, _, inner, outer) in enumerate(blank_spans(subject(of), side)):
        ring = of["rings"][of["ring_of_layer"][layer]]
        if wood_at(of, layer, side * pi / 2 + side * 1e-5)[0] is None:
            continue
        half, near, far = pi * (1 - ring.gap) / ring.segments, ring.inner_apothem, ring.outer_apothem
        slope = np.tan(half)
        flat = Polygon([(near, -near * slope), (far, -far * slope), (far, far * slope), (near, near * slope)])
        ray = LineString([(0, 0), (0, side * 1000)])
        met = max(
            (
                rotate(
                    flat, degrees(of["stack"].angle[layer] + k * 2 * pi / ring.segments), origin=(0, 0)
                ).intersection(rotate(ray, side * 1e-4, origin=(0, 0)))
                for k in range(ring.segments)
            ),
            key=lambda part: part.length,
        )
        distances = sorted(Point(0, 0).distance(Point(point)) for point in met.coords)
        assert (inner, outer) == pytest.approx((distances[0], distances[-1]), rel=1e-4, abs=1e-6)


def test_blanks_stand_outside_the_turned_section_everywhere() -> None:
    of = vase()
    for layer, (bottom, top, inner, outer) in enumerate(blank_spans(subject(of), 1)):
        heights = np.linspace(max(bottom, of["form"].bottom), min(top, of["form"].top), 21)
        assert outer >= max(radius(of, z) for z in heights) + 3 - 1e-9, layer
        assert inner <= max(min(inner_radius(of, z) for z in heights), 0) + 1e-9, layer


def test_a_section_alone_shows_both_sides_alike_in_size() -> None:
    root = parsed(draw_section(**vase()))
    left, right = (
        [p for path in group.iter(f"{SVG}path") if path.get("data-layer") for p in polygons(path)]
        for group in of_class(root, "dw-section")
    )
    assert [p.area for p in left] == pytest.approx([p.area for p in right], abs=0.1)
    assert max(p.bounds[2] for p in left) <= 0 <= min(p.bounds[0] for p in right)


def test_bond_lines_are_drawn_as_thick_as_they_are() -> None:
    of = piece(
        outer=[(0, 50), (21, 50)],
        bands=[Band("b", 2, 10, 12, ("maple",))],
        bond_line=1.0,
    )
    root = parsed(draw_piece(**of))
    bottoms = sorted(
        {
            round(p.bounds[i], 2)
            for _, path in layer_paths(root, "dw-elevation")
            for p in polygons(path)
            for i in (1, 3)
        }
    )
    assert bottoms == [0, 10, 11, 21]
    glue = [
        path
        for path in of_class(root, "dw-elevation")[0].findall(f"{SVG}path")
        if path.get("fill-opacity") == "0.5"
    ]
    assert [p.area for p in polygons(glue[0])] == pytest.approx([50.0])


def test_the_tip_of_a_cone_is_a_point() -> None:
    root = parsed(draw_piece(**cone()))
    topmost = [
        points
        for number, path in layer_paths(root, "dw-elevation")
        if number == 5
        for points in points_of(path.get("d", ""))
    ]
    assert topmost
    assert all((0.0, 0.0) in points for points in topmost)
