"""Profiles written to files: a section at real size in SVG or DXF, or a table in CSV."""

import csv
from collections.abc import Sequence
from io import StringIO
from itertools import pairwise
from xml.sax.saxutils import escape

import numpy as np

from estimating.errors import InvalidInput
from estimating.profile.outline import Piece, curved_piece, straight_piece
from estimating.profile.table import HEADINGS
from estimating.shape.curves import CurvePoint, Floats, mixed_curve

Points = Sequence[tuple[float, float] | tuple[float, float, bool]]

_MARGIN = 10.0
_AXIS_BEYOND = 5.0
_TO_BEZIER = np.array([[1, -1, 1, -1], [1, -1 / 3, -1 / 3, 1], [1, 1 / 3, -1 / 3, -1], [1, 1, 1, 1]])
"""Bezier ordinates of a polynomial in t from -1 to 1, by its coefficients, lowest power first."""


def write_csv(*, outer: Points, inner: Points = ()) -> bytes:
    """A row a point: height and radius in mm, corner (yes or no), side; to a ten-millionth of a mm, UTF-8."""
    text = StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(HEADINGS)
    for side, points in (("outside", outer), ("inside", inner)):
        for height, radius, corner in (CurvePoint(*point) for point in points):
            writer.writerow([_number(height, 7), _number(radius, 7), "yes" if corner else "no", side])
    return text.getvalue().encode()


def write_svg(*, outer: Points, inner: Points = (), title: str = "") -> bytes:
    """The half section as one path at real size, one unit a mm, its axis as an upright line at x = 0."""
    lines = _outline(outer, inner)
    bottom, top, widest = _extent(outer)
    left, up = -_MARGIN, -(top + _MARGIN)
    width, height = widest + 2 * _MARGIN, top - bottom + 2 * _MARGIN
    here, steps = None, []
    for piece in (piece for line in lines for piece in line):
        if here is None:
            steps.append(f"M {_at(piece.start)}")
        here = piece.end
        ends = (here,) if piece.straight else piece.control[1:]
        steps.append(f"{'L' if piece.straight else 'C'} {' '.join(_at(point) for point in ends)}")
    if inner and not _touches_axis(lines):
        steps.append("Z")
    box = " ".join(_number(value, 6) for value in (left, up, width, height))
    name = "".join(c if c.isprintable() else " " for c in title)
    text = f"""<svg xmlns="http://www.w3.org/2000/svg" version="1.1" width="{_number(width, 6)}mm" \
height="{_number(height, 6)}mm" viewBox="{box}">
<title>{escape(name)}</title>
<line x1="0" y1="{_number(-bottom + _AXIS_BEYOND, 6)}" x2="0" y2="{_number(-top - _AXIS_BEYOND, 6)}" \
fill="none" stroke="#666" stroke-width="0.25" stroke-dasharray="6 1.5 1 1.5"/>
<path d="{" ".join(steps)}" fill="none" stroke="#000" stroke-width="0.35"/>
</svg>
"""
    return text.encode()


def write_dxf(*, outer: Points, inner: Points = ()) -> bytes:
    """The half section in mm, heights along y: a spline for each smooth run, lines for straight ones; the axis apart.

    Nothing in the file tells when it was written: the same profile gives the same bytes.
    """
    from ezdxf import options, units  # type: ignore[attr-defined]
    from ezdxf.filemanagement import new

    options.write_fixed_meta_data_for_testing = True
    document = new("R2010", units=units.MM)
    document.layers.add("profile", color=7)
    document.layers.add("axis", color=8)
    space = document.modelspace()
    lines = _outline(outer, inner)
    for line in lines:
        if line[0].straight:
            space.add_line(line[0].start, line[0].end, dxfattribs={"layer": "profile"})
            continue
        spline = space.add_spline(degree=3, dxfattribs={"layer": "profile"})
        control = np.concatenate([line[0].control, *(piece.control[1:] for piece in line[1:])])
        spline.control_points = [(x, y, 0.0) for x, y in control.tolist()]
        spline.knots = [float(knot) for knot in np.repeat(np.arange(len(line) + 1), _often(len(line)))]
    bottom, top, _ = _extent(outer)
    ends = (0.0, bottom - _AXIS_BEYOND), (0.0, top + _AXIS_BEYOND)
    space.add_line(*ends, dxfattribs={"layer": "axis"})
    text = StringIO()
    document.write(text)
    return text.getvalue().encode(document.output_encoding)


def _often(pieces: int) -> list[int]:
    """How often each knot stands in a spline of that many Bezier curves."""
    return [4, *[3] * (pieces - 1), 4]


# --- the outline --------------------------------------------------------------------------------------------------


def _outline(outer: Points, inner: Points) -> list[list[Piece]]:
    """The half section as runs end to end, one straight piece or curves each: foot, outside, rim, inside, floor.

    A section that leaves the axis and comes back to it is left open there; one with a hole through is closed.
    """
    outside, inside = _runs(outer), _runs(inner) if inner else []
    foot, rim = outside[0][0].start, outside[-1][-1].end
    axis = np.array([0.0, 1.0])
    after = [[piece.backwards() for piece in reversed(run)] for run in reversed(inside)]
    runs = [*outside]
    if not after:
        runs = [_straight(foot * axis, foot), *outside, _straight(rim, rim * axis)]
    else:
        floor = after[-1][-1].end
        hole = floor[1] <= foot[1] + 1e-6 and floor[0] > 0
        start = floor if hole else foot * axis
        end = [] if hole else [_straight(floor, floor * axis)]
        runs = [_straight(start, foot), *outside, _straight(rim, after[0][0].start), *after, *end]
    return [run for run in runs if not (len(run) == 1 and run[0].is_nothing)]


def _touches_axis(lines: Sequence[Sequence[Piece]]) -> bool:
    return bool(lines[0][0].start[0] == 0)


def _straight(start: Floats, end: Floats) -> list[Piece]:
    return [straight_piece(start, end)]


def _runs(points: Points) -> list[list[Piece]]:
    """The curve between one corner and the next, each as exact cubics; a run of two points as a straight piece."""
    read = [CurvePoint(*point) for point in points]
    if len(read) < 2:
        raise InvalidInput("profile", "needs two points at least")
    heights, radii, corners = (np.array(values) for values in zip(*read, strict=True))
    curve = mixed_curve(heights, radii, corners.astype(bool))
    ends = [0, *(n for n in range(1, len(read) - 1) if read[n].corner), len(read) - 1]
    return [
        _straight(np.array([radii[a], heights[a]]), np.array([radii[b], heights[b]]))
        if b == a + 1
        else [_cubic(curve.coefficients[:, n], heights[n], heights[n + 1]) for n in range(a, b)]
        for a, b in pairwise(ends)
    ]


def _cubic(coefficients: Floats, low: float, high: float) -> Piece:
    radii = _TO_BEZIER @ coefficients
    return curved_piece(np.column_stack([radii, np.linspace(low, high, 4)]))


def _extent(outer: Points) -> tuple[float, float, float]:
    return outer[0][0], outer[-1][0], max(point[1] for point in outer)


def _at(point: Floats) -> str:
    """A point in SVG, y downwards."""
    return f"{_number(float(point[0]), 6)} {_number(-float(point[1]), 6)}"


def _number(value: float, places: int) -> str:
    text = f"{value:.{places}f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
