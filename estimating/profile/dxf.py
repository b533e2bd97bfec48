"""The one line of a DXF file: a polyline, a spline, or lines and arcs end to end."""

from collections import defaultdict
from collections.abc import Sequence
from io import StringIO
from itertools import pairwise, product
from typing import TYPE_CHECKING

import numpy as np

from estimating.errors import InvalidInput, shown
from estimating.profile.outline import (
    JOINED,
    MOST_PIECES,
    Drawing,
    Piece,
    checked,
    curved_piece,
    is_upright,
    straight_piece,
)
from estimating.quantities import Unit, unit_in_mm

if TYPE_CHECKING:
    from ezdxf.document import Drawing as Document
    from ezdxf.entities.dxfentity import DXFEntity
    from ezdxf.math import BSpline

_DRAWN = frozenset({"LINE", "ARC", "CIRCLE", "ELLIPSE", "SPLINE", "LWPOLYLINE", "POLYLINE"})
_PASSED_OVER = frozenset(
    {"TEXT", "MTEXT", "DIMENSION", "LEADER", "MULTILEADER", "POINT", "VIEWPORT", "IMAGE"}
)
_MOST_ENTITIES = 2_000
_MOST_SPLINE_POINTS = 1_000
_ARC_PARTS = 48
_PARTS_OF_A_SPAN = 16

_STUMBLES = (ValueError, TypeError, LookupError, ArithmeticError, AttributeError, AssertionError)
"""What the library raises where a file breaks off or makes no sense."""

Strokes = list[Piece]


def read_dxf(data: bytes, *, unit: Unit) -> Drawing:
    """The drawn line of a DXF file's model space, mm; a separate upright line is its axis.

    Lengths are in the file's own unit ($INSUNITS), or in `unit` where it has none.
    Errors: InvalidInput at `file`.
    """
    document = _document(data)
    scale, note = _unit(document, unit)
    notes, passed_over = [note], 0
    strokes: list[Strokes] = []
    for entity in document.modelspace():
        kind = entity.dxftype()
        if kind in _PASSED_OVER:
            passed_over += 1
        elif kind not in _DRAWN:
            raise InvalidInput("file", f"has an element {shown(kind)}; explode it into lines, or remove it")
        elif len(strokes) >= _MOST_ENTITIES:
            raise InvalidInput("file", f"has more than {_MOST_ENTITIES} elements; join or simplify its lines")
        else:
            strokes.append(_scaled(_pieces(entity), scale))
    if passed_over:
        notes.append(f"{passed_over} texts, dimensions or pictures in the file were passed over.")
    lines = _joined([found for pieces in strokes if (found := checked(pieces))])
    uprights = [line for line in lines if is_upright(line)]
    if len(lines) == 2 and len(uprights) == 1:
        profile = next(line for line in lines if not is_upright(line))
        return Drawing(tuple(profile), axis=float(uprights[0][0].start[0]), notes=tuple(notes))
    if not lines:
        raise InvalidInput(
            "file", "has no line in its model space; draw the profile as one polyline or spline"
        )
    if len(lines) > 1:
        reason = (
            f"has {len(lines)} separate lines where one is a profile; keep one, and at most an upright axis"
        )
        raise InvalidInput("file", reason)
    return Drawing(tuple(lines[0]), notes=tuple(notes))


def _document(data: bytes) -> "Document":
    from ezdxf.filemanagement import read
    from ezdxf.lldxf.const import DXFError

    if not data.rstrip().endswith(b"EOF"):
        raise InvalidInput("file", "is not a whole DXF file: its end is missing")
    try:
        # Texts may be in any code page and are not read; the strict reader makes up no numbers where one is broken.
        document = read(StringIO(data.decode("utf-8", errors="surrogateescape"), newline=None))
        auditor = document.audit()
    except (DXFError, *_STUMBLES) as error:
        raise InvalidInput("file", f"is not a DXF file that can be read: {shown(str(error))}") from None
    if auditor.has_errors:
        raise InvalidInput("file", f"is damaged: {shown(auditor.errors[0].message)}")
    return document


def _unit(document: "Document", unit: Unit) -> tuple[float, str]:
    from ezdxf.enums import InsertUnits
    from ezdxf.units import conversion_factor

    code = int(document.header.get("$INSUNITS", 0))
    if code == 0:
        return unit_in_mm(unit), f"The file names no unit, so its lengths are taken as {unit}."
    try:
        factor = float(conversion_factor(InsertUnits(code), InsertUnits.Millimeters))
    except ValueError:
        raise InvalidInput("file", f"names a unit that DXF does not have ($INSUNITS {code})") from None
    return factor, f"Lengths are in the file's own unit; one is {factor:.6g} mm."


def _scaled(pieces: Strokes, scale: float) -> Strokes:
    return [piece.moved(np.eye(2) * scale, np.zeros(2)) for piece in pieces]


# --- entities -----------------------------------------------------------------------------------------------------


def _pieces(entity: "DXFEntity") -> Strokes:
    """An entity's line as it lies in the drawing plane, in the file's unit."""
    from ezdxf.entities.spline import Spline
    from ezdxf.path import make_path
    from ezdxf.path.commands import Curve4To, LineTo

    try:
        if isinstance(entity, Spline):
            if max(entity.control_point_count(), entity.fit_point_count()) > _MOST_SPLINE_POINTS:
                raise InvalidInput(
                    "file", f"has a spline of more than {_MOST_SPLINE_POINTS} points; simplify it"
                )
            spline = entity.construction_tool()
            if spline.degree == 3 and not spline.is_rational and spline.is_clamped:
                return _cubic_spline(spline)
            return _any_spline(spline)
        path = make_path(entity, segments=_ARC_PARTS)
        here, pieces = path.start, []
        for command in path.commands():
            if isinstance(command, LineTo):
                pieces.append(straight_piece((here.x, here.y), (command.end.x, command.end.y)))
            elif isinstance(command, Curve4To):
                points = (here, command.ctrl1, command.ctrl2, command.end)
                control = np.array([[point.x, point.y] for point in points])
                pieces.append(Piece(control, straight=False, starts=False, ends=False))
            else:
                raise InvalidInput("file", "has an element of several separate lines")
            here = command.end
    except _STUMBLES as error:
        if isinstance(error, InvalidInput):
            raise
        raise InvalidInput("file", f"has a {entity.dxftype()} that cannot be read") from None
    return pieces


def _cubic_spline(spline: "BSpline") -> Strokes:
    """Exact: a cubic B-spline is a run of Bezier curves. A knot as often as the degree is a point the file names."""
    knots = np.array(spline.knots())
    inner, often = np.unique(knots, return_counts=True)
    named = [True, *(often[1:-1] >= spline.degree).tolist(), True]
    curves = [[(p.x, p.y) for p in points] for points in spline.bezier_decomposition()]
    if len(curves) != len(inner) - 1:
        return [curved_piece(control) for control in curves]
    return [
        Piece(np.array(control), straight=False, starts=named[n], ends=named[n + 1])
        for n, control in enumerate(curves)
    ]


def _any_spline(spline: "BSpline") -> Strokes:
    """A spline of another degree, or a rational one, as cubics with its points and directions, 16 a knot span.

    Between knots it is smooth, so a sixteenth of a span is within some 1e-7 of the fourth derivative over a span.
    """
    knots = np.array(spline.knots())
    inside = knots[spline.degree : len(knots) - spline.degree]
    edges, often = np.unique(inside, return_counts=True)
    pieces = []
    for number, (low, high) in enumerate(pairwise(edges)):
        hair = 1e-9 * (high - low)  # at a knot two directions may meet: stay within the span
        t = np.linspace(low + hair, high - hair, _PARTS_OF_A_SPAN + 1)
        found = np.array([[(v.x, v.y) for v in pair] for pair in spline.derivatives(t.tolist(), 1)])
        step = (high - low) / _PARTS_OF_A_SPAN / 3
        for part, ((start, leaving), (end, arriving)) in enumerate(pairwise(found)):
            control = np.array([start, start + step * leaving, end - step * arriving, end])
            named = [
                part == 0 and (number == 0 or often[number] >= spline.degree),
                part == _PARTS_OF_A_SPAN - 1
                and (number == len(edges) - 2 or often[number + 1] >= spline.degree),
            ]
            pieces.append(Piece(control, straight=False, starts=bool(named[0]), ends=bool(named[1])))
    return pieces


# --- end to end ---------------------------------------------------------------------------------------------------


def _joined(strokes: Sequence[Strokes]) -> list[Strokes]:
    """Strokes whose ends meet, put end to end; each line that comes of it.

    Errors: InvalidInput where three ends or more meet in one point.
    """
    if sum(len(stroke) for stroke in strokes) > MOST_PIECES:
        raise InvalidInput("file", f"has more than {MOST_PIECES} pieces of line; simplify it in the drawing")
    partner = _partners(strokes)
    lines, used = [], [False] * len(strokes)
    # From the loose ends first; what is left after them are rings.
    loose = [end for end in range(2 * len(strokes)) if partner[end] is None]
    for end in [*loose, *range(2 * len(strokes))]:
        here: int | None = end
        line: Strokes = []
        while here is not None and not used[here // 2]:
            used[here // 2] = True
            stroke = strokes[here // 2]
            line += stroke if here % 2 == 0 else [piece.backwards() for piece in reversed(stroke)]
            here = partner[here ^ 1]
        if line:
            lines.append(line)
    return lines


def _partners(strokes: Sequence[Strokes]) -> list[int | None]:
    """For each end (2n the start of stroke n, 2n + 1 its end) the end that it meets."""
    ends = [end for stroke in strokes for end in (stroke[0].start, stroke[-1].end)]
    cells = defaultdict(list)
    for number, (x, y) in enumerate(ends):
        cells[round(x / JOINED), round(y / JOINED)].append(number)
    partner: list[int | None] = [None] * len(ends)
    for number, (x, y) in enumerate(ends):
        cell = round(x / JOINED), round(y / JOINED)
        near = [
            other
            for dx, dy in product((-1, 0, 1), (-1, 0, 1))
            for other in cells.get((cell[0] + dx, cell[1] + dy), ())
            if other != number and np.hypot(*(ends[other] - ends[number])) <= JOINED
        ]
        if len(near) > 1:
            raise InvalidInput("file", f"branches: {len(near) + 1} ends meet at x = {x:.5g}, y = {y:.5g} mm")
        partner[number] = near[0] if near else None
    return partner
