"""Profiles written and read back: by the reader itself, and by ezdxf and svgpathtools."""

from io import StringIO
from itertools import pairwise
from xml.etree import ElementTree

import ezdxf
import numpy as np
import pytest
import svgpathtools
from hypothesis import assume, given
from hypothesis import strategies as st

from estimating.errors import InvalidInput
from estimating.profile.reading import read_profile
from estimating.profile.writing import Points, write_csv, write_dxf, write_svg
from estimating.shape.curves import CurvePoint, mixed_curve
from tests.estimating.profiles import curve_of
from tests.estimating.sheets import modest

OUTER = [(0, 30), (10, 45, True), (12, 45, True), (40, 60), (70, 50), (100, 20, True), (110, 25)]
INNER = [(8, 0), (30, 45), (70, 40), (110, 20)]
WRITERS = {"svg": write_svg, "dxf": write_dxf, "csv": write_csv}


@st.composite
def halves(draw: st.DrawFn, *, least: float) -> list[CurvePoint]:
    count = draw(st.integers(2, 9))
    steps = draw(st.lists(st.floats(1, 30), min_size=count - 1, max_size=count - 1))
    radii = draw(st.lists(st.floats(least, least + 60), min_size=count, max_size=count))
    corners = draw(st.lists(st.booleans(), min_size=count - 2, max_size=count - 2))
    heights = np.concatenate([[0.0], np.cumsum(steps)])
    return [CurvePoint(*p) for p in zip(heights.tolist(), radii, [False, *corners, False], strict=True)]


def corners_show(points: list[CurvePoint]) -> bool:
    """Whether the curve turns by 6 degrees or more at each corner that is not the end of a straight run."""
    heights, radii, corners = (np.array(values) for values in zip(*points, strict=True))
    curve = mixed_curve(heights, radii, corners)
    (run_up, rise_up), (run_in, rise_in) = curve.end_bearings()
    bearing_from, bearing_to = np.arctan2(rise_up, run_up)[1:], np.arctan2(rise_in, run_in)[:-1]
    ends = [0, *(n for n in range(1, len(points) - 1) if points[n].corner), len(points) - 1]
    straight = {n for a, b in pairwise(ends) if b == a + 1 for n in (a, b)}
    turns = np.abs(bearing_from - bearing_to)
    return all(
        turns[n - 1] >= np.radians(6) or n in straight for n in range(1, len(points) - 1) if points[n].corner
    )


def same(read: tuple[CurvePoint, ...], written: Points, *, within: float) -> None:
    expected = [CurvePoint(*point) for point in written]
    assert [point.corner for point in read] == [point.corner for point in expected]
    assert [point.height for point in read] == pytest.approx([p.height for p in expected], abs=within)
    assert [point.radius for point in read] == pytest.approx([p.radius for p in expected], abs=within)


@pytest.mark.parametrize("kind", WRITERS)
@modest
@given(outer=halves(least=70), inner=halves(least=5), floor=st.floats(0.05, 0.9), hollow=st.booleans())
def test_what_is_written_is_read_back(
    kind: str, outer: list[CurvePoint], inner: list[CurvePoint], floor: float, hollow: bool
) -> None:
    """A corner that turns by less than 5 degrees cannot be told from a smooth point in a drawing; a table says so."""
    top = outer[-1].height
    squeeze = top * (1 - floor) / inner[-1].height
    inside = (
        [p._replace(height=top - (inner[-1].height - p.height) * squeeze) for p in inner] if hollow else []
    )
    if kind != "csv":
        assume(corners_show(outer) and (not inside or corners_show(inside)))
        assume(all(b.height - a.height > 0.1 for a, b in pairwise(inside)))
    profile = read_profile(WRITERS[kind](outer=outer, inner=inside), f"bowl.{kind}")
    within = 1e-6 if kind == "csv" else 1e-5  # six places in a drawing
    same(profile.outer, outer, within=within)
    same(profile.inner, inside, within=within)


@pytest.mark.parametrize("kind", ["svg", "dxf"])
def test_a_corner_too_slight_to_see_still_leaves_the_curve_where_it_was(kind: str) -> None:
    """Two smooth runs that meet at 1 degree: read as one, the curve keeps within 0.05 mm."""
    outer = [(0, 40), (20, 52), (40, 60, True), (60, 66), (80, 70)]
    profile = read_profile(WRITERS[kind](outer=outer), f"bowl.{kind}")
    before, after = curve_of([CurvePoint(*p) for p in outer]), curve_of(profile.outer)
    assert before.hausdorff_distance(after) <= 0.05


@pytest.mark.parametrize("kind", WRITERS)
def test_a_hole_through_and_a_pointed_piece_come_back(kind: str) -> None:
    ring = read_profile(
        WRITERS[kind](outer=[(0, 30), (20, 35), (40, 30)], inner=[(0, 20), (40, 20)]), f"a.{kind}"
    )
    same(ring.outer, [(0, 30), (20, 35), (40, 30)], within=1e-5)
    same(ring.inner, [(0, 20), (40, 20)], within=1e-5)
    spindle = [(0, 0), (20, 12), (50, 15), (90, 0)]
    same(read_profile(WRITERS[kind](outer=spindle), f"a.{kind}").outer, spindle, within=1e-5)


# --- as other readers see them ------------------------------------------------------------------------------------


def test_the_svg_is_at_real_size_and_its_path_is_the_curve() -> None:
    root = ElementTree.fromstring(write_svg(outer=OUTER, inner=INNER, title='Bowl <b> & "lid"'))
    _, _, width, height = (float(n) for n in root.attrib["viewBox"].split())
    assert root.attrib["width"] == f"{width:g}mm"  # a user unit is a millimetre
    assert root.attrib["height"] == f"{height:g}mm"
    assert root.findtext("{http://www.w3.org/2000/svg}title") == 'Bowl <b> & "lid"'
    drawn = svgpathtools.parse_path(root.find("{http://www.w3.org/2000/svg}path").attrib["d"])
    outside = mixed_curve(*(np.array(v) for v in zip(*(CurvePoint(*p) for p in OUTER), strict=True)))
    inside = mixed_curve(*(np.array(v) for v in zip(*(CurvePoint(*p) for p in INNER), strict=True)))
    rim = next(n for n, segment in enumerate(drawn) if segment.start.imag == segment.end.imag == -110)
    for segments, curve in ((drawn[1:rim], outside), (drawn[rim + 1 :], inside)):
        points = np.concatenate([segment.points(np.linspace(0, 1, 50)) for segment in segments])
        # printed to a millionth of a mm; where the curve is steep that tells on the radius
        assert curve.radius(-points.imag) == pytest.approx(points.real, abs=1e-4)


def test_the_dxf_is_sound_in_millimetres_and_its_lines_end_on_the_points() -> None:
    document = ezdxf.read(StringIO(write_dxf(outer=OUTER, inner=INNER).decode()))
    assert not document.audit().errors
    assert document.units == ezdxf.units.MM
    on_profile = document.modelspace().query('*[layer=="profile"]')
    ends = set()
    for entity in on_profile:
        if entity.dxftype() == "LINE":
            points = [entity.dxf.start, entity.dxf.end]
        else:
            points = list(entity.construction_tool().approximate(4))
        ends |= {(round(p.y, 6), round(p.x, 6)) for p in (points[0], points[-1])}
    # runs end at the corners, the foot, the rim and the axis
    assert ends == {(0, 0), (0, 30), (10, 45), (12, 45), (100, 20), (110, 25), (110, 20), (8, 0)}
    assert len(document.modelspace().query('LINE[layer=="axis"]')) == 1


def test_the_csv_is_a_row_a_point() -> None:
    text = write_csv(outer=OUTER[:2], inner=[(0.1234567, 1), (10, 2)]).decode()
    assert text.split("\r\n") == [
        "height_mm,radius_mm,corner,side", "0,30,no,outside", "10,45,yes,outside",
        "0.1234567,1,no,inside", "10,2,no,inside", "",
    ]  # fmt: skip


@pytest.mark.parametrize("kind", WRITERS)
def test_the_same_profile_gives_the_same_bytes(kind: str) -> None:
    assert WRITERS[kind](outer=OUTER, inner=INNER) == WRITERS[kind](outer=OUTER, inner=INNER)


@pytest.mark.parametrize("write", [write_svg, write_dxf])
def test_one_point_is_no_profile(write: object) -> None:
    with pytest.raises(InvalidInput, match="needs two points at least"):
        write(outer=[(0, 30)])
