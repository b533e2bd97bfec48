"""Segments glued up from strips: faces against shapely, wood against solids, cut lists laid out and by hand."""

import math
from typing import Any

import manifold3d
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import affinity
from shapely.geometry import LineString, Polygon, box
from shapely.ops import unary_union

from estimating.errors import InvalidInput
from estimating.piece import Laminate, LaminateKind
from estimating.shape.laminates import (
    check,
    glue_area,
    panel_needed,
    segment_faces,
    shares,
    volumes,
)
from tests.estimating.sheets import modest

Size = dict[str, Any]
"""A segment's length, inner_length, height and width, mm."""

SQUARE = Laminate("stripes", math.radians(45), (("ash", 8.0), ("oak", 8.0)))


def by_wood(faces: Any, wood: str) -> Any:
    return unary_union([Polygon(polygon) for name, polygon in faces if name == wood])


def test_two_strips_across_a_square_share_it_along_its_diagonal() -> None:
    faces = dict(segment_faces(SQUARE, length=10.0, height=10.0))
    half = Polygon([(-5, 0), (5, 0), (-5, 10)])
    assert Polygon(faces["ash"]).symmetric_difference(half).area == pytest.approx(0, abs=1e-9)
    assert shares(SQUARE, length=10.0, height=10.0) == pytest.approx({"ash": 0.5, "oak": 0.5})
    # the joint is the square's diagonal, 4 mm deep in a segment with square ends
    area = glue_area(SQUARE, length=10.0, inner_length=10.0, height=10.0, width=4.0)
    assert area == pytest.approx(10 * math.sqrt(2) * 4)


def test_lying_stripes_are_listed_from_the_bottom() -> None:
    lying = Laminate("stripes", 0.0, (("ash", 4.0), ("oak", 5.0), ("elm", 3.0)))
    faces = segment_faces(lying, length=30.0, height=12.0)
    assert [(wood, Polygon(polygon).bounds) for wood, polygon in faces] == [
        ("ash", pytest.approx((-15, 0, 15, 4))),
        ("oak", pytest.approx((-15, 4, 15, 9))),
        ("elm", pytest.approx((-15, 9, 15, 12))),
    ]
    # two joints, each the segment's plan: (30 + 20) / 2 x 10
    assert glue_area(lying, length=30.0, inner_length=20.0, height=12.0, width=10.0) == pytest.approx(500.0)


def test_upright_stripes_are_listed_from_the_left_and_lose_their_corners_to_the_miter() -> None:
    upright = Laminate("stripes", math.pi / 2, (("ash", 10.0), ("oak", 20.0), ("elm", 10.0)))
    faces = segment_faces(upright, length=40.0, height=12.0)
    assert [Polygon(polygon).bounds for _, polygon in faces] == [
        pytest.approx((-20, 0, -10, 12)), pytest.approx((-10, 0, 10, 12)), pytest.approx((10, 0, 20, 12)),
    ]  # fmt: skip
    held = volumes(upright, length=40.0, inner_length=20.0, height=12.0, width=10.0)
    # the end strips are right-angled triangles in plan, 10 x 10 / 2 x 12 tall; the middle one 20 x 10 x 12
    assert held == pytest.approx({"ash": 600.0, "oak": 2400.0, "elm": 600.0})
    assert glue_area(upright, length=40.0, inner_length=20.0, height=12.0, width=10.0) == pytest.approx(240.0)


def test_diamonds_close_over_the_joint_of_two_segments() -> None:
    """A square of two triangles, mirrored upwards and sideways: the second wood makes one rhombus."""
    diamond = Laminate("diamond", math.radians(45), SQUARE.strips)
    one = by_wood(segment_faces(diamond, length=10.0, height=20.0), "oak")
    two = by_wood(segment_faces(diamond, length=10.0, height=20.0, mirrored=True), "oak")
    rhombus = Polygon([(-5, 10), (5, 0), (15, 10), (5, 20)])
    assert unary_union([one, affinity.translate(two, 10.0)]).symmetric_difference(rhombus).area < 1e-9
    assert [diamond.is_mirrored(k) for k in range(4)] == [False, True, False, True]
    assert not any(SQUARE.is_mirrored(k) for k in range(4))
    # the middle joint 10 x 4, and a diagonal in each half
    area = glue_area(diamond, length=10.0, inner_length=10.0, height=20.0, width=4.0)
    assert area == pytest.approx(40 + 2 * 10 * math.sqrt(2) * 4)


@st.composite
def laid(draw: st.DrawFn, *, angles: st.SearchStrategy[float] | None = None) -> tuple[Laminate, Size]:
    """A laminate just wide enough or wider, and its segment. `angles` in degrees: then of stripes alone."""
    kind: LaminateKind = (
        "stripes" if angles is not None else draw(st.sampled_from(["stripes", "zigzag", "diamond"]))
    )
    slants = (
        st.floats(10, 80) if kind != "stripes" else st.one_of(st.sampled_from([0.0, 90.0]), st.floats(10, 90))
    )
    angle = math.radians(draw(slants if angles is None else angles))
    length = draw(st.floats(15, 80))
    size = {
        "length": length, "inner_length": length * draw(st.one_of(st.just(1.0), st.floats(0, 1))),
        "height": draw(st.floats(5, 30)), "width": draw(st.floats(8, 40)),
    }  # fmt: skip
    strips = draw(
        st.lists(st.tuples(st.sampled_from(["ash", "oak", "elm"]), st.floats(1, 5)), min_size=1, max_size=8)
    )
    narrow = Laminate(kind, angle, tuple(strips))
    wider = draw(st.one_of(st.just(1.0), st.floats(1, 1.6)))
    scale = panel_needed(narrow, length=length, height=size["height"]) * wider / narrow.panel_width
    return Laminate(kind, angle, tuple((wood, width * scale) for wood, width in strips)), size


def face_of(size: Size) -> Size:
    return {"length": size["length"], "height": size["height"]}


def slabs(laminate: Laminate, *, height: float) -> list[tuple[str, bool, float, float]]:
    """Every strip in every part: wood, whether it is the upper half, its two sides from the panel's middle."""
    found = []
    for upper in [False, True][: laminate.parts]:
        low = -laminate.panel_width / 2
        for wood, width in laminate.strips:
            found.append((wood, upper, low, low + width))
            low += width
    return found


def shapely_faces(laminate: Laminate, *, length: float, height: float) -> dict[str, Any]:
    """Long boxes turned to the strips' slant and cut with the segment's rectangle; the upper half turned over."""
    part, found = height / laminate.parts, {wood: Polygon() for wood, _ in laminate.strips}
    for wood, upper, low, high in slabs(laminate, height=height):
        strip = affinity.rotate(
            box(low, -999, high, 999), math.pi / 2 - laminate.angle, (0, 0), use_radians=True
        )
        shown = affinity.translate(strip, 0, part / 2).intersection(box(-length / 2, 0, length / 2, part))
        found[wood] = found[wood].union(affinity.scale(shown, 1, -1, origin=(0, part)) if upper else shown)
    return found


@modest
@given(laid())
def test_faces_and_shares_are_those_shapely_cuts(case: tuple[Laminate, Size]) -> None:
    laminate, size = case
    whole = size["length"] * size["height"]
    faces = segment_faces(laminate, **face_of(size))
    for wood, shown in shapely_faces(laminate, **face_of(size)).items():
        assert by_wood(faces, wood).symmetric_difference(shown).area <= 1e-7 * whole
        assert shares(laminate, **face_of(size))[wood] == pytest.approx(shown.area / whole, abs=1e-9)
    polygons = [Polygon(polygon) for _, polygon in faces]
    assert sum(polygon.area for polygon in polygons) == pytest.approx(whole, rel=1e-9)
    assert unary_union(polygons).area == pytest.approx(whole, rel=1e-7)
    assert sum(shares(laminate, **face_of(size)).values()) == pytest.approx(1.0, rel=1e-12)
    assert all(polygon.exterior.is_ccw for polygon in polygons if polygon.area > 1e-6)


@modest
@given(laid())
def test_a_mirrored_segment_shows_the_mirror_image(case: tuple[Laminate, Size]) -> None:
    laminate, size = case
    plain = segment_faces(laminate, **face_of(size))
    mirrored = segment_faces(laminate, **face_of(size), mirrored=True)
    for (wood, one), (same, two) in zip(plain, mirrored, strict=True):
        assert wood == same
        image = affinity.scale(Polygon(one), -1, 1, origin=(0, 0))
        assert image.symmetric_difference(Polygon(two)).area <= 1e-9
        assert Polygon(two).exterior.is_ccw or Polygon(two).area < 1e-6


@modest
@given(laid())
def test_like_strips_read_either_way_look_the_same_turned_upside_down(
    case: tuple[Laminate, Size],
) -> None:
    laminate, size = case
    both_ways = tuple((wood, width / 2) for wood, width in laminate.strips + laminate.strips[::-1])
    even = Laminate(laminate.kind, laminate.angle, both_ways)
    faces, middle = segment_faces(even, **face_of(size)), (0, size["height"] / 2)
    turn = (1, -1) if laminate.parts > 1 else (-1, -1)  # halves mirror each other; a whole turns half round
    for wood in {wood for wood, _ in faces}:
        shown = by_wood(faces, wood)
        assert affinity.scale(shown, *turn, origin=middle).symmetric_difference(shown).area <= 1e-6


def segment_solid(size: Size, low: float, high: float) -> Any:
    ends = [(size["length"] / 2, 0.0), (size["inner_length"] / 2, size["width"])]
    return manifold3d.Manifold.hull_points(
        np.array([(s * x, y, depth) for x, depth in ends for s in (-1, 1) for y in (low, high)])
    )


@modest
@given(laid())
def test_the_wood_in_a_segment_is_what_the_solids_hold(case: tuple[Laminate, Size]) -> None:
    laminate, size = case
    part = size["height"] / laminate.parts
    found = dict.fromkeys((wood for wood, _ in laminate.strips), 0.0)
    for wood, upper, low, high in slabs(laminate, height=size["height"]):
        up = -1 if upper else 1
        across = np.array([math.sin(laminate.angle), up * math.cos(laminate.angle)])
        along = np.array([across[1], -across[0]])
        middle = np.array([0.0, part / 2 + upper * part])
        corners = [
            (*(middle + v * across + u * along), depth)
            for v in (low, high) for u in (-200, 200) for depth in (-1.0, size["width"] + 1)
        ]  # fmt: skip
        slab = manifold3d.Manifold.hull_points(np.array(corners))
        found[wood] += (slab ^ segment_solid(size, upper * part, (1 + upper) * part)).volume()
    held = volumes(laminate, **size)
    whole = (size["length"] + size["inner_length"]) / 2 * size["width"] * size["height"]
    for wood, volume in found.items():
        assert held[wood] == pytest.approx(volume, abs=1e-9 * whole)
    assert sum(held.values()) == pytest.approx(whole, rel=1e-12)


@modest
@given(laid())
def test_glue_between_strips_is_the_sum_of_its_thin_slices(case: tuple[Laminate, Size]) -> None:
    """The joints' lines clipped by shapely at the segment's length at each of many depths."""
    laminate, size = case
    part, slices, area = size["height"] / laminate.parts, 400, 0.0
    up, right = math.cos(laminate.angle), math.sin(laminate.angle)
    for _, upper, _, at in slabs(laminate, height=size["height"]):
        if (
            upper or at > laminate.panel_width / 2 - 1e-9
        ):  # halves are alike; after the last strip comes no joint
            continue
        joint = LineString([(at * right + u * up, part / 2 + at * up - u * right) for u in (-999, 999)])
        for k in range(slices):
            half = (size["length"] + (size["inner_length"] - size["length"]) * (k + 0.5) / slices) / 2
            shown = joint.intersection(box(-half, 0, half, part)).length
            area += shown * size["width"] / slices * laminate.parts
    middle = (laminate.parts - 1) * (size["length"] + size["inner_length"]) / 2 * size["width"]
    # a joint that runs out at an end does so within one slice, and there no more than its own length is missed
    missed = len(laminate.strips) * laminate.parts * math.hypot(size["length"], part) * size["width"] / slices
    assert glue_area(laminate, **size) == pytest.approx(area + middle, rel=1e-6, abs=missed)


@pytest.mark.parametrize(
    ("laminate", "says"),
    [
        (Laminate("stripes", 0.5, ()), "piece.strips: must be one or more strips"),
        (Laminate("stripes", 0.5, (("ash", 0.0), ("oak", 90.0))), "piece.strips: .* each wider than 0 mm"),
        (Laminate("zigzag", 0.0, (("ash", 90.0),)), "piece.angle: must be more than 0 and less than 90 .* zigzag"),
        (Laminate("diamond", math.pi / 2, (("ash", 90.0),)), "piece.angle: must be more than 0 .* for diamond"),
        (Laminate("stripes", -0.1, (("ash", 90.0),)), "piece.angle: must be from 0 to 90 degrees for stripes"),
        (Laminate("stripes", 1.6, (("ash", 90.0),)), "piece.angle: must be from 0 to 90 degrees for stripes"),
        (Laminate("stripes", 0.0, (("ash", 4.0), ("oak", 5.9))), "piece.strips: are 9.9 mm wide .* needs 10 mm"),
        # 40 / 2 + 10 cos 30 = 28.66; halves of 5 need 20 + 4.33
        (Laminate("zigzag", math.pi / 6, (("ash", 28.0),)), "at 30 degrees needs 28.7 mm: add strips"),
        (Laminate("diamond", math.pi / 6, (("ash", 24.0),)), "at 30 degrees needs 24.4 mm: add strips"),
    ],
)  # fmt: skip
def test_a_laminate_that_cannot_be_made_is_refused(laminate: Laminate, says: str) -> None:
    with pytest.raises(InvalidInput, match=says):
        check(laminate, length=40.0, height=10.0, place="piece.")
    for function in (segment_faces, shares):
        with pytest.raises(InvalidInput, match=says):
            function(laminate, length=40.0, height=10.0, place="piece.")


def test_a_panel_just_wide_enough_is_taken() -> None:
    needed = panel_needed(Laminate("zigzag", math.pi / 6, ()), length=40.0, height=10.0)
    assert needed == pytest.approx(20 + 10 * math.sqrt(3) / 2)
    check(Laminate("zigzag", math.pi / 6, (("ash", needed),)), length=40.0, height=10.0)
