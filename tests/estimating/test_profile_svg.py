"""Profiles from SVG: curves against svgpathtools' own points and circles, sizes, axes, refusals, hostile files."""

import math
from itertools import pairwise

import numpy as np
import pytest
import svgpathtools
from hypothesis import given
from hypothesis import strategies as st

from estimating.errors import InvalidInput
from estimating.profile.reading import Profile, read_profile
from tests.estimating.profiles import TOLERANCE, apart, curve_of, plain
from tests.estimating.sheets import modest

NS = 'xmlns="http://www.w3.org/2000/svg"'


def svg(inside: str, *, size: str = "") -> bytes:
    return f"<svg {NS} {size}>{inside}</svg>".encode()


def path(d: str, *, size: str = "") -> bytes:
    return svg(f'<path d="{d}"/>', size=size)


def read(data: bytes, **options: str) -> Profile:
    return read_profile(data, "bowl.svg", **options)


# --- curves -------------------------------------------------------------------------------------------------------


@st.composite
def rising_paths(draw: st.DrawFn) -> str:
    """One to three cubic curves whose control points rise, so that the curve does."""
    count = 3 * draw(st.integers(1, 3)) + 1
    steps = draw(st.lists(st.floats(0, 40), min_size=count - 1, max_size=count - 1))
    heights = np.concatenate([[0.0], np.cumsum(np.array(steps) + np.where(np.arange(count - 1) == 1, 1, 0))])
    radii = draw(st.lists(st.floats(1, 120), min_size=count, max_size=count))
    points = [f"{r:.4f} {-h:.4f}" for h, r in zip(heights, radii, strict=True)]
    return f"M {points[0]} C {' '.join(points[1:])}"


@modest
@given(rising_paths())
def test_the_curve_read_lies_within_its_tolerance_of_the_points_that_svgpathtools_finds(d: str) -> None:
    profile = read(path(d))
    drawn = np.concatenate(
        [segment.points(np.linspace(0, 1, 1000)) for segment in svgpathtools.parse_path(d)]
    )
    assert apart(profile.outer, list(zip(drawn.real, -drawn.imag, strict=True))) <= TOLERANCE
    assert all(b.height > a.height for a, b in pairwise(profile.outer))


@pytest.mark.parametrize(("radius", "few"), [(2, 12), (60, 40), (2000, 80)])
def test_an_arc_is_a_circle_to_the_tolerance_with_few_points(radius: float, few: int) -> None:
    """A quarter circle from the foot, centred on the axis at its rim's height: every point lies `radius` from there."""
    profile = read(path(f"M 0 0 A {radius} {radius} 0 0 0 {radius} {-radius}"))
    line = np.array(curve_of(profile.outer).coords)
    assert np.hypot(line[:, 0], line[:, 1] - radius) == pytest.approx(radius, abs=TOLERANCE)
    assert len(profile.outer) <= few
    assert not any(point.corner for point in profile.outer)


def test_a_turned_ellipse_is_read_as_the_ellipse_it_is() -> None:
    """Half axes 80 and 50 turned by 30 degrees; its lowest to its highest point, from its own equation."""
    a, b, turn = 80, 50, math.radians(30)
    high = math.hypot(a * math.sin(turn), b * math.cos(turn))
    u = math.atan2(b * math.cos(turn), a * math.sin(turn))
    x = a * math.cos(u) * math.cos(turn) - b * math.sin(u) * math.sin(turn)
    profile = read(path(f"M {200 - x} {high} A 80 50 -30 0 0 {200 + x} {-high}"))
    line = np.array(curve_of(profile.outer).coords)
    across, up = line[:, 0] - 200, line[:, 1] - high
    along = across * math.cos(turn) + up * math.sin(turn)
    side = up * math.cos(turn) - across * math.sin(turn)
    # a distance off the ellipse of d changes the left side by at least d / 80
    assert np.hypot(along / a, side / b) == pytest.approx(1, abs=TOLERANCE / b)


@pytest.mark.parametrize(
    "d", ["M 20 0 Q 60 -20 50 -80", "M20 0q40-20 30-80", "M 20 0 Q 40 -10 48 -30 T 50 -80"]
)
def test_quadratic_curves_absolute_relative_and_shorthand_are_read(d: str) -> None:
    drawn = np.concatenate([s.points(np.linspace(0, 1, 1000)) for s in svgpathtools.parse_path(d)])
    assert apart(read(path(d)).outer, list(zip(drawn.real, -drawn.imag, strict=True))) <= TOLERANCE


def test_straight_lines_are_their_own_corners() -> None:
    profile = read(path("M 30 0 L 45 -10 V -20 L 60 -80"))
    assert plain(profile.outer) == [(0, 30, False), (10, 45, True), (20, 45, True), (80, 60, False)]


def test_a_line_that_runs_smoothly_into_an_arc_stays_straight() -> None:
    """A cylinder of 50 with a lip that rolls outwards: the wall's radius is 50 all the way to the arc."""
    profile = read(path("M 50 0 V -60 A 20 20 0 0 1 70 -80"))
    assert plain(profile.outer)[:2] == [(0, 50, False), (60, 50, True)]
    line = np.array(curve_of(profile.outer).coords)
    assert line[line[:, 1] <= 60, 0] == pytest.approx(50, abs=1e-9)


def test_a_smooth_joint_is_no_corner_and_a_turn_of_more_than_five_degrees_is() -> None:
    for turn, corner in ((4.0, False), (6.0, True)):
        dx = 20 * math.tan(math.radians(turn))
        profile = read(path(f"M 50 0 C 50 -10 50 -20 50 -30 C {50 + dx} -50 60 -70 70 -80"))
        assert [point.corner for point in profile.outer if point.height == pytest.approx(30)] == [corner]


def test_an_arc_drawn_in_a_hundred_short_lines_is_read_as_a_curve() -> None:
    angles = np.linspace(0, math.pi / 2, 101)
    points = " ".join(f"{60 * math.sin(a):.5f},{60 * math.cos(a):.5f}" for a in angles)
    profile = read(svg(f'<polyline points="{points}"/>'))
    assert len(profile.outer) <= 40
    assert not any(point.corner for point in profile.outer)
    line = np.array(curve_of(profile.outer).coords)
    # each chord stands 60 (1 - cos(0.45 degrees)) = 0.002 mm inside the circle
    assert np.hypot(line[:, 0], line[:, 1] - 60) == pytest.approx(60, abs=TOLERANCE + 0.002)


def test_a_level_ledge_rises_by_a_hair() -> None:
    """One radius at each height: where the line runs level, the curve goes across within 0.05 mm of height."""
    profile = read(path("M 40 0 V -20 H 60 V -50"))
    assert [(h, r) for h, r, _ in plain(profile.outer)] == [(0, 40), (20, 40), (20.005, 60), (50, 60)]
    assert apart(profile.outer, [(40, 0), (40, 20), (60, 20), (60, 50)]) <= TOLERANCE


def test_far_too_many_points_are_thinned_within_the_tolerance_and_told() -> None:
    """A rough cone of 1,000 short lines that turn by up to 27 degrees, each corner within 0.02 mm of the cone."""
    steps = "".join("l 0.01 -0.1 l -0.005 -0.1 l 0.045 -0.1 l 0 -0.1" for _ in range(250))
    profile = read(path(f"M 30 0 {steps}"))
    drawn = [(30.0, 0.0)]
    for step in [(0.01, 0.1), (-0.005, 0.1), (0.045, 0.1), (0, 0.1)] * 250:
        drawn.append((drawn[-1][0] + step[0], drawn[-1][1] + step[1]))
    assert len(profile.outer) <= 200
    assert apart(profile.outer, drawn) <= TOLERANCE
    assert any("thinned" in note for note in profile.notes)


# --- transforms and sizes -----------------------------------------------------------------------------------------

BOWL = "M 30 0 C 50 -5 60 -30 60 -60"


@pytest.mark.parametrize(
    "wrapped",
    [
        '<g transform="translate(10,20)"><g transform="scale(2)">'
        '<path transform="matrix(.5 0 0 .5 -5 -10)" d="{d}"/></g></g>',
        '<g transform="rotate(180)"><path transform="rotate(-90) rotate(-90)" d="{d}"/></g>',
        '<g transform="scale(-1 1)"><path d="{d}"/></g>',
        '<a><switch><g style="fill:none"><path d="{d}"/></g></switch></a>',
    ],
)  # fmt: skip
def test_transforms_of_a_path_and_its_groups_are_followed(wrapped: str) -> None:
    there = read(svg(wrapped.format(d=BOWL))).outer
    assert plain(there) == plain(read(path(BOWL)).outer)


@pytest.mark.parametrize(
    ("size", "mm"),
    [
        ('width="100mm" height="100mm" viewBox="0 0 100 100"', 1),
        ('width="100mm" height="100mm" viewBox="0 0 200 200"', 0.5),
        ('width="10cm" viewBox="0 0 100 100"', 1),
        ('width="2in" height="2in" viewBox="0 0 100 100"', 0.508),
        ('width="72pt" height="72pt" viewBox="0 0 72 72"', 25.4 / 72),
        ('width="96" height="96px" viewBox="0 0 96 96"', 25.4 / 96),
        ('width="96" height="96"', 25.4 / 96),
        ('width="100mm" height="200mm" viewBox="-7 3 100 100"', 1),
        ('width="100%" height="100%" viewBox="0 0 100 100"', 1),
        ("", 1),
    ],
)
def test_size_follows_width_height_and_view_box(size: str, mm: float) -> None:
    """One inch is 25.4 mm, 96 px or 72 pt (W3C, CSS Values and Units 3); the smaller scale where two differ."""
    profile = read(path("M 10 0 L 40 -80", size=size))
    assert plain(profile.outer) == [
        (0, round(10 * mm, 6), False),
        (round(80 * mm, 6), round(40 * mm, 6), False),
    ]


def test_without_an_even_scale_width_and_height_have_their_own() -> None:
    size = 'width="100mm" height="200mm" viewBox="0 0 100 100" preserveAspectRatio="none"'
    assert plain(read(path("M 10 0 L 40 -80", size=size)).outer) == [(0, 10, False), (160, 40, False)]


def test_a_drawing_without_a_size_is_in_the_unit_asked_for_and_says_so() -> None:
    profile = read(path("M 1 0 L 2 -4"), unit="in")
    assert plain(profile.outer) == [(0, 25.4, False), (101.6, 50.8, False)]
    assert any("taken as 1 in" in note for note in profile.notes)


# --- axis, outside and inside -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("d", "points", "note"),
    [
        ("M 0 0 L 30 0 L 60 -80", [(0, 30), (80, 60)], "x = 0 of the drawing, which the outline touches"),
        ("M 0 0 H -30 L -60 -80 H 0", [(0, 30), (80, 60)], "x = 0 of the drawing, which the outline touches"),
        ("M 105 0 H 135 L 165 -80 H 105", [(0, 30), (80, 60)], "upright line at x = 105 mm"),
        ("M 105 0 H 135 L 165 -80 H 105 Z", [(0, 30), (80, 60)], "upright line at x = 105 mm"),
        ("M 105 -80 H 45 L 75 0 H 105 Z", [(0, 30), (80, 60)], "upright line at x = 105 mm"),
        ("M 30 0 L 60 -80", [(0, 30), (80, 60)], "No axis is drawn"),
        ("M 60 -80 L 30 0", [(0, 30), (80, 60)], "No axis is drawn"),
        ("M 50 0 L 60 -40 L 50 -80", [(0, 50), (40, 60), (80, 50)], "No axis is drawn"),
        ("M 50 0 V -80", [(0, 50), (80, 50)], "No axis is drawn"),
        ("M 20 0 H 30 L 60 -80 H 50", [(0, 30), (80, 60)], "No axis is drawn"),
    ],
)
def test_the_axis_is_found_by_its_rules(d: str, points: list[tuple[float, float]], note: str) -> None:
    profile = read(path(d))
    assert [(h, r) for h, r, _ in plain(profile.outer)] == points
    assert profile.inner == ()
    assert any(note in said for said in profile.notes)


def test_a_ball_drawn_anywhere_has_its_axis_through_its_ends() -> None:
    profile = read(path("M 105 40 A 40 40 0 0 0 105 -40"))
    line = np.array(curve_of(profile.outer).coords)
    assert np.hypot(line[:, 0], line[:, 1] - 40) == pytest.approx(40, abs=TOLERANCE)
    assert (profile.outer[0].radius, profile.outer[-1].radius) == pytest.approx((0, 0), abs=1e-9)


def test_an_upright_line_beside_the_path_is_its_axis() -> None:
    both = '<line x1="20" y1="9" x2="20" y2="-90"/><path d="M 50 0 V -80"/>'
    with pytest.raises(InvalidInput, match="has 2 lines where one is a profile"):
        read(svg(both))  # two upright lines: either could be the axis
    profile = read(svg(both.replace("V -80", "L 60 -80")))
    assert [(h, r) for h, r, _ in plain(profile.outer)] == [(0, 30), (80, 40)]
    assert "The axis is the upright line drawn at x = 20 mm." in profile.notes


def test_a_section_of_a_wall_has_an_outside_and_an_inside() -> None:
    outside, inside = [(0, 30), (80, 60)], [(8, 22), (80, 54)]
    for d in ("M 0 0 H 30 L 60 -80 H 54 L 22 -8 H 0 Z", "M 0 -8 H 22 L 54 -80 H 60 L 30 0 H 0"):
        profile = read(path(d))
        assert [(h, r) for h, r, _ in plain(profile.outer)] == outside
        assert [(h, r) for h, r, _ in plain(profile.inner)] == inside


def test_a_ring_section_beside_its_axis_has_a_hole_through() -> None:
    ring = '<line x1="0" y1="5" x2="0" y2="-45"/><polygon points="20,0 30,0 35,-20 30,-40 20,-40"/>'
    profile = read(svg(ring))
    assert [(h, r) for h, r, _ in plain(profile.outer)] == [(0, 30), (20, 35), (40, 30)]
    assert [(h, r) for h, r, _ in plain(profile.inner)] == [(0, 20), (40, 20)]


def test_a_round_floor_is_kept_and_a_lip_that_comes_to_an_edge_is_cut_level() -> None:
    profile = read(path("M 0 0 H 30 L 66 -60 L 60 -80 A 60 72 0 0 1 0 -8 Z"))
    assert profile.inner[0] == pytest.approx((8, 0, False), abs=1e-6)
    assert profile.outer[-1].height == profile.inner[-1].height == pytest.approx(79.98)
    assert profile.outer[-1].radius > profile.inner[-1].radius
    assert any("lip comes to an edge" in note for note in profile.notes)


# --- refusals -----------------------------------------------------------------------------------------------------

WILD = "M 30 0 " + "".join(f"L {30 + 20 * (n % 2)} {-n}" for n in range(1, 300))


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (svg(""), "has no path"),
        (svg('<path d=""/>'), "has no path"),
        (svg('<path d="M 3 3 L 3 3"/>'), "has no path"),
        (svg('<defs><path d="M 30 0 L 60 -80"/></defs>'), "has no path"),
        (svg('<path display="none" d="M 30 0 L 60 -80"/>'), "has no path"),
        (svg('<path d="M 30 0 L 60 -80"/>' * 3), "has 3 lines where one is a profile"),
        (svg('<path d="M 30 0 L 60 -80"/><polyline points="1 2 3 4 5 7"/>'), "has 2 lines"),
        (path("M 30 0 L 60 -80 M 10 10 L 20 20 L 30 30"), "a path of 2 separate lines"),
        (svg('<rect width="5" height="5"/>'), "has an element <rect>; turn it into a path"),
        (svg('<use href="#a"/>'), "has an element <use>"),
        (path("M 30 0 L 60 -50 L 50 -40 L 60 -80"), "turns back in height at 50 mm: an undercut"),
        (path("M 30 0 C 90 -70 30 -10 60 -40"), r"turns back in height at [\d.]+ mm"),
        (path("M -30 0 L 60 -80"), r"crosses the axis \(x = 0 mm\), near height"),
        (path("M 0 0 L 30 -20 L 0 -40 L 30 -60"), "touches the axis between its ends, at height 40 mm"),
        (path("M 30 0 L 60 -20000"), "20000 mm high, more than 10,000 mm"),
        (path("M 30000 0 L 30000 -200"), "30000 mm from the axis to its outside"),
        (path("M 30 0 L 60 -0.05"), "0.05 mm high, less than 0.1 mm"),
        (path("M 0 0 V -80"), "mm from the axis to its outside, less than 0.1 mm"),
        (path("M 30 0 L 60 -1e400"), "cannot be read|not a finite number"),
        (path("M 30 0 L 60 -1e300"), "not a finite number, or far too large"),
        (path("M 30 0 L 60 nan"), "has a path that cannot be read"),
        (path("M 30 0 L 60"), "has a path that cannot be read"),
        (path("hello"), "has a path that cannot be read"),
        (path(WILD), "needs more than 200 points to be followed within 0.05 mm"),
        (path("M 30 0 " + "l 1 -1 l -1 -1 " * 10001), "more than 5000 pieces"),
        (svg('<polyline points="1 2 3"/>'), "odd number of coordinates"),
        (svg('<polyline points="1 2 x 4"/>'), "something other than numbers among coordinates: x"),
        (svg('<g transform="skew(3)"><path d="M 30 0 L 60 -80"/></g>'), "has a transform that cannot be read"),
        (path("M 30 0 L 60 -80", size='viewBox="0 0 0 5"'), "has a viewBox that is not four numbers"),
        (svg("<g/>" * 20_001), "has more than 20000 elements"),
        (path("M 30 0 L 60 -80", size=f'width="{"9" * 1_000_000}x" viewBox="{"9" * 1_000_000}x"'), "more than 5000"),
        (svg(f'<g transform="{"scale(1)" * 500}"><path d="M 3 0 L 6 -8"/></g>'), "has a transform that cannot be read"),
        (svg("<g>" * 200 + "</g>" * 200), "nests its groups more than 100 deep"),
    ],
)  # fmt: skip
def test_what_is_no_profile_is_refused_with_a_plain_reason(data: bytes, says: str) -> None:
    with pytest.raises(InvalidInput, match=says) as refusal:
        read(data)
    assert refusal.value.place == "file"


# --- hostile and broken files -------------------------------------------------------------------------------------

LAUGHS = "".join(f'<!ENTITY l{n + 1} "{f"&l{n};" * 10}">' for n in range(9))
BOMB = f'<!DOCTYPE svg [<!ENTITY l0 "ha">{LAUGHS}]><svg {NS}><title>&l9;</title></svg>'
FETCH = f'<!DOCTYPE svg [<!ENTITY x SYSTEM "file:///etc/hostname">]><svg {NS}><title>&x;</title></svg>'


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (BOMB.encode(), "defines entities of its own"),
        (FETCH.encode(), "defines entities of its own"),
        (path("M 30 0 L 60 -80")[:-20], "is not a whole SVG file"),
        (path("M 30 0 L 60 -80").replace(b"30", b"3\0"), "is not a whole SVG file"),
        (b'<?xml version="1.0" encoding="no-such"?><svg/>', "is not a whole SVG file"),
        (b"<html><body/></html>", "is not an SVG drawing: its root is html"),
        (b"<x:svg xmlns:x='urn:other'/>", "is not an SVG drawing"),
        (b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR", 'is called "bowl.svg" but is not an SVG drawing'),
        (b"\x1f\x8b\x08\0\0\0\0\0", "but is not an SVG drawing"),
        (b"0,30\n80,60\n", "but is not an SVG drawing"),
        (b"", "is empty"),
        (b" \n", "is empty"),
        (b"<svg>" + b" " * 5_000_000, "is larger than 5 MB"),
    ],
)
def test_a_file_that_is_broken_or_means_harm_is_refused(data: bytes, says: str) -> None:
    with pytest.raises(InvalidInput, match=says):
        read(data)


def test_a_plain_doctype_is_no_harm() -> None:
    doctype = b'<?xml version="1.0"?><!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "http://example.invalid/svg11.dtd">'
    assert plain(read(doctype + path("M 30 0 L 60 -80")).outer) == [(0, 30, False), (80, 60, False)]


@pytest.mark.parametrize("name", ["bowl", "bowl.SVG", "my.bowl.svg", "bowl.xml"])
def test_the_content_says_what_it_is_where_the_name_does_not(name: str) -> None:
    assert len(read_profile(path("M 30 0 L 60 -80"), name).outer) == 2


def test_text_and_pictures_beside_the_path_are_passed_over_and_told() -> None:
    profile = read(
        svg('<text>Bowl</text><path d="M 30 0 L 60 -80"/><image href="http://example.invalid/x.png"/>')
    )
    assert any("2 texts or pictures" in note for note in profile.notes)
