"""Profiles from DXF files that ezdxf made: arcs against circles, splines against ezdxf's own points, refusals."""

import math
from collections.abc import Callable
from io import StringIO
from typing import Any

import ezdxf
import numpy as np
import pytest
from ezdxf import units
from ezdxf.layouts import Modelspace
from hypothesis import given
from hypothesis import strategies as st

from estimating.errors import InvalidInput
from estimating.profile.reading import Profile, read_profile
from tests.estimating.profiles import TOLERANCE, apart, curve_of, plain
from tests.estimating.sheets import modest

BOWL = [(30, 0), (45, 10), (60, 60)]


def dxf(draw: Callable[[Modelspace], Any], *, unit: int = units.MM, version: str = "R2010") -> bytes:
    document = ezdxf.new(version, units=unit)
    draw(document.modelspace())
    text = StringIO()
    document.write(text)
    return text.getvalue().encode()


def read(draw: Callable[[Modelspace], Any], *, unit: int = units.MM, **options: str) -> Profile:
    return read_profile(dxf(draw, unit=unit), "bowl.dxf", **options)


def polyline(space: Modelspace) -> None:
    space.add_lwpolyline(BOWL)


# --- entities -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "draw",
    [
        polyline,
        lambda space: space.add_polyline2d(BOWL),
        lambda space: space.add_polyline3d([(x, y, 7) for x, y in BOWL]),
        lambda space: [space.add_line(BOWL[1], BOWL[2]), space.add_line(BOWL[1], BOWL[0])],
        lambda space: space.add_lwpolyline([(130, 0), (145, 10), (160, 60), (100, 60), (100, 0)], close=True),
    ],
)  # fmt: skip
def test_straight_profiles_are_read_from_every_way_of_drawing_them(draw: Callable[[Modelspace], Any]) -> None:
    assert plain(read(draw).outer) == [(0, 30, False), (10, 45, True), (60, 60, False)]


@modest
@given(st.floats(10, 300), st.floats(20, 90), st.sampled_from([1, -1]))
def test_a_bulge_is_the_arc_it_stands_for(radius: float, degrees: float, way: int) -> None:
    """A bulge is the tangent of a quarter of the arc's angle (DXF reference, LWPOLYLINE group 42)."""
    angle = math.radians(degrees)
    centre = 400.0
    # an arc about (400, 0) on the right (anticlockwise, upwards) or the left side of it
    ends = [(centre + way * radius * math.cos(a), radius * math.sin(a)) for a in (-angle / 2, angle / 2)]
    bulge = way * math.tan(angle / 4)
    profile = read(lambda space: space.add_lwpolyline([(*ends[0], bulge), (*ends[1], 0)], format="xyb"))
    line = np.array(curve_of(profile.outer).coords)
    off = np.hypot(line[:, 0] - centre, line[:, 1] - radius * math.sin(angle / 2))
    assert off == pytest.approx(radius, abs=TOLERANCE)


def test_an_arc_seen_from_behind_is_mirrored() -> None:
    """Extrusion (0, 0, -1) turns x round: the arc about -100 stands about 100 (DXF reference, object coordinates)."""
    profile = read(
        lambda space: space.add_arc(
            (-100, 0), 40, start_angle=-60, end_angle=60, dxfattribs={"extrusion": (0, 0, -1)}
        )
    )
    line = np.array(curve_of(profile.outer).coords)
    assert np.hypot(line[:, 0] - 100, line[:, 1] - 40 * math.sin(math.radians(60))) == pytest.approx(
        40, abs=TOLERANCE
    )
    assert line[:, 0].max() <= 80 + TOLERANCE


def test_half_an_ellipse_is_read_as_one() -> None:
    profile = read(
        lambda space: space.add_ellipse(
            (0, 0), major_axis=(0, 70), ratio=0.5, start_param=math.pi, end_param=2 * math.pi
        )
    )
    line = np.array(curve_of(profile.outer).coords)
    assert np.hypot(line[:, 0] / 35, (line[:, 1] - 70) / 70) == pytest.approx(1, abs=TOLERANCE / 35)


@modest
@given(st.lists(st.floats(20, 100), min_size=4, max_size=8), st.integers(2, 5), st.booleans())
def test_splines_of_any_degree_are_followed_as_ezdxf_draws_them(
    radii: list[float], degree: int, rational: bool
) -> None:
    degree = min(degree, len(radii) - 1)
    control = [(radius, 25.0 * n) for n, radius in enumerate(radii)]
    weights = [1 + n % 3 for n in range(len(radii))]

    def draw(space: Modelspace) -> None:
        if rational:
            space.add_rational_spline(control, weights, degree=degree)
        else:
            space.add_open_spline(control, degree=degree)

    tool = ezdxf.math.BSpline(control, order=degree + 1, weights=weights if rational else None)
    drawn = [(point.x, point.y) for point in tool.approximate(2000)]
    assert apart(read(draw).outer, drawn) <= TOLERANCE


def test_a_spline_given_by_the_points_it_goes_through_is_read() -> None:
    through = [(30, 0), (50, 20), (55, 50), (40, 90)]
    profile = read(lambda space: space.add_spline(through))
    line = np.array(curve_of(profile.outer).coords)
    for radius, height in through:
        assert (
            np.hypot(line[:, 0] - radius, line[:, 1] - height).min() <= TOLERANCE + 0.3
        )  # steps between samples


def test_lines_arcs_and_splines_are_put_end_to_end_in_whatever_order_they_stand() -> None:
    def draw(space: Modelspace) -> None:
        space.add_line((50, 60), (50, 20))
        space.add_open_spline([(70, 80), (80, 90), (80, 100), (75, 110)])
        space.add_arc((70, 60), 20, start_angle=90, end_angle=180)
        space.add_line((30, 0), (50, 20))

    profile = read(draw)
    assert [(h, r) for h, r, corner in plain(profile.outer) if corner] == [(20, 50), (60, 50), (80, 70)]
    arc = [(70 + 20 * math.cos(a), 60 + 20 * math.sin(a)) for a in np.linspace(math.pi, math.pi / 2, 200)]
    spline = ezdxf.math.BSpline([(70, 80), (80, 90), (80, 100), (75, 110)])
    drawn = [(30, 0), (50, 20), *arc, *((p.x, p.y) for p in spline.approximate(500))]
    assert apart(profile.outer, drawn) <= TOLERANCE


def test_a_closed_wall_section_gives_outside_and_inside() -> None:
    section = [(0, 0), (30, 0), (60, 80), (54, 80), (22, 8), (0, 8)]
    profile = read(lambda space: space.add_lwpolyline(section, close=True))
    assert plain(profile.outer) == [(0, 30, False), (80, 60, False)]
    assert plain(profile.inner) == [(8, 22, False), (80, 54, False)]


def test_a_separate_upright_line_is_the_axis() -> None:
    def draw(space: Modelspace) -> None:
        space.add_line((-12, -20), (-12, 99))
        space.add_lwpolyline(BOWL)

    assert [(h, r) for h, r, _ in plain(read(draw).outer)] == [(0, 42), (10, 57), (60, 72)]


# --- units --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("unit", "mm"), [(units.MM, 1), (units.CM, 10), (units.IN, 25.4), (units.M, 1000)])
def test_lengths_are_in_the_unit_of_the_file(unit: int, mm: float) -> None:
    profile = read(lambda space: space.add_lwpolyline([(0.3, 0), (0.6, 0.8)]), unit=unit)
    assert plain(profile.outer) == [
        (0, round(0.3 * mm, 6), False),
        (round(0.8 * mm, 6), round(0.6 * mm, 6), False),
    ]


def test_a_file_without_a_unit_is_in_the_one_asked_for_and_says_so() -> None:
    data = dxf(lambda space: space.add_lwpolyline([(1, 0), (2, 4)]), unit=0)
    profile = read_profile(data, "bowl.dxf", unit="in")
    assert plain(profile.outer) == [(0, 25.4, False), (101.6, 50.8, False)]
    assert "The file names no unit, so its lengths are taken as in." in profile.notes


@pytest.mark.parametrize("version", ["R12", "R2000", "R2018"])
def test_every_usual_version_is_read(version: str) -> None:
    data = dxf(lambda space: space.add_polyline2d(BOWL), version=version)
    assert len(read_profile(data, "bowl.dxf").outer) == 3


# --- refusals -----------------------------------------------------------------------------------------------------


def block(space: Modelspace) -> None:
    space.doc.blocks.new("B").add_line((0, 0), (1, 1))
    space.add_blockref("B", (0, 0))


@pytest.mark.parametrize(
    ("draw", "says"),
    [
        (lambda space: None, "has no line in its model space"),
        (lambda space: space.add_text("bowl"), "has no line in its model space"),
        (lambda space: [space.add_line((9 * n, 0), (9 * n + 5, 50)) for n in range(1, 4)], "has 3 separate lines"),
        (lambda space: [space.add_line((9, 0), (n, 50)) for n in (20, 30, 40)], "branches: 3 ends meet at x = 9"),
        (lambda space: space.add_open_spline([(30, n) for n in range(1001)]), "a spline of more than 1000 points"),
        (block, "has an element INSERT; explode it into lines"),
        (lambda space: space.add_circle((0, 0), 30), "crosses the axis"),
        (lambda space: space.add_lwpolyline([(30, 0), (60, 50), (50, 40), (60, 80)]), "turns back in height at 50 mm"),
        (lambda space: space.add_lwpolyline([(30, 0), (60, math.nan)]), "not a finite number|cannot be read"),
        (lambda space: [space.add_line((9, n), (9, n + 1)) for n in range(2001)], "more than 2000 elements"),
    ],
)  # fmt: skip
def test_what_is_no_profile_is_refused_with_a_plain_reason(
    draw: Callable[[Modelspace], Any], says: str
) -> None:
    with pytest.raises(InvalidInput, match=says) as refusal:
        read(draw)
    assert refusal.value.place == "file"


WHOLE = dxf(polyline)


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (WHOLE[: len(WHOLE) // 2], "is not a whole DXF file: its end is missing"),
        (WHOLE[: len(WHOLE) // 2] + b"\n  0\nEOF\n", "file: "),
        (WHOLE.replace(b"SECTION", b"SEC\0ION"), 'is called "bowl.dxf" but is not a DXF drawing'),
        (b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR", "but is not a DXF drawing"),
        (b"<svg/>", "but is not a DXF drawing"),
        (b"0\nSECTION\n2\nENTITIES\n0\nLINE\nhello\nworld\n0\nENDSEC\n0\nEOF\n", "file: "),
        (b"0\nSECTION\n0\nEOF\n", "file: "),
    ],
)
def test_a_broken_file_is_refused(data: bytes, says: str) -> None:
    with pytest.raises(InvalidInput, match=says):
        read_profile(data, "bowl.dxf")


def test_an_unknown_unit_is_refused() -> None:
    data = WHOLE.replace(b"$INSUNITS\n 70\n4\n", b"$INSUNITS\n 70\n99\n")
    assert data != WHOLE
    with pytest.raises(InvalidInput, match=r"a unit that DXF does not have \(\$INSUNITS 99\)"):
        read_profile(data, "bowl.dxf")
