"""The one path of an SVG file, at its real size."""

import re
import warnings
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from math import isfinite
from xml.etree.ElementTree import Element, ParseError

import numpy as np

from estimating.errors import InvalidInput, shown
from estimating.profile.outline import (
    MOST_PIECES,
    Drawing,
    Piece,
    curved_piece,
    elliptic_pieces,
    is_upright,
    straight_piece,
)
from estimating.quantities import Unit, unit_in_mm
from estimating.shape.curves import Floats

_DRAWN = frozenset({"path", "polyline", "polygon", "line"})
_NOT_FOLLOWED = frozenset({"rect", "circle", "ellipse", "use", "svg", "foreignObject"})
_PASSED_OVER = frozenset({"text", "image"})
_GROUPS = frozenset({"g", "a", "switch"})
_DEEPEST = 100
_MOST_ELEMENTS = 20_000
_LONGEST_PATH = 50 * MOST_PIECES
_LONGEST_TRANSFORM = 1_000
_LONGEST_LENGTH = 40
_PIXEL = 25.4 / 96
_NUMBER = re.compile(r"[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?")
_LENGTH = re.compile(rf"\s*({_NUMBER.pattern})\s*(mm|cm|in|pt|pc|px)?\s*")
_UNITS = {"mm": 1.0, "cm": 10.0, "in": 25.4, "pt": 25.4 / 72, "pc": 25.4 / 6, "px": _PIXEL, None: _PIXEL}
"""Source: W3C, CSS Values and Units 3, section 6.2: 1 in is 2.54 cm, 96 px, 72 pt or 6 pc; a number alone is px."""


def read_svg(data: bytes, *, unit: Unit) -> Drawing:
    """The drawn line of an SVG file, y turned to run upwards, mm.

    Size: by the file's width and height where they are lengths; else a user unit is one of `unit`. x = 0 is that of the
    file's user coordinates. An upright `line` or path beside the one that is the profile is its axis.
    Errors: InvalidInput at `file`.
    """
    root = _parse(data)
    matrix, note = _to_mm(root, unit)
    notes = [note]
    found = []
    for element, transform in _drawn(root, notes):
        pieces = [
            piece.moved(*_affine(matrix @ transform)) for piece in _strokes(element) if not piece.is_nothing
        ]
        if pieces:
            found.append(pieces)
    uprights = [pieces for pieces in found if is_upright(pieces)]
    if len(found) == 2 and len(uprights) == 1:
        others = [pieces for pieces in found if not is_upright(pieces)]
        axis = float(uprights[0][0].start[0])
        return Drawing(tuple(others[0]), axis=axis, notes=tuple(notes))
    if not found:
        raise InvalidInput("file", "has no path; draw the profile as one path and save it again")
    if len(found) > 1:
        reason = f"has {len(found)} lines where one is a profile; keep one, and at most an upright axis"
        raise InvalidInput("file", reason)
    return Drawing(tuple(found[0]), notes=tuple(notes))


def _parse(data: bytes) -> Element:
    from defusedxml.common import DefusedXmlException  # type: ignore[import-untyped]
    from defusedxml.ElementTree import fromstring  # type: ignore[import-untyped]

    try:
        root: Element = fromstring(data)
    except DefusedXmlException:
        raise InvalidInput("file", "defines entities of its own, which a drawing does not need") from None
    except (ParseError, ValueError, LookupError) as error:
        raise InvalidInput("file", f"is not a whole SVG file: {shown(str(error))}") from None
    if _name(root) != "svg":
        raise InvalidInput("file", f"is not an SVG drawing: its root is {shown(_name(root) or 'unknown')}")
    if sum(1 for _ in root.iter()) > _MOST_ELEMENTS:
        raise InvalidInput("file", f"has more than {_MOST_ELEMENTS} elements, more than a profile needs")
    return root


def _name(element: Element) -> str:
    """The element's name where it is one of SVG's own, else nothing."""
    tag = element.tag if isinstance(element.tag, str) else ""
    space, _, name = tag.rpartition("}")
    return name if space in ("", "{http://www.w3.org/2000/svg") else ""


# --- size ---------------------------------------------------------------------------------------------------------


def _to_mm(root: Element, unit: Unit) -> tuple[Floats, str]:
    """The map from user coordinates to mm with y upwards, (3, 3), and what to tell of it."""
    size = [_length(root.get(key)) for key in ("width", "height")]
    box = _view_box(root.get("viewBox"))
    known = [(length, part) for length, part in zip(size, box or (0.0, 0.0), strict=True) if length and part]
    if known:
        scales = [length / part for length, part in known]
        even = (root.get("preserveAspectRatio") or "").strip() != "none"
        across, down = (min(scales), min(scales)) if even else (scales[0], scales[-1])
        note = f"One unit of the drawing is {across:.5g} mm by the width and height the file gives."
    elif box is None and any(size):
        across = down = _PIXEL
        note = "One unit of the drawing is a pixel, 96 to an inch, for the file has a size and no viewBox."
    else:
        across = down = unit_in_mm(unit)
        note = f"The file gives no size, so one unit of the drawing is taken as 1 {unit}."
    return np.diag([across, -down, 1.0]), note


def _length(text: str | None) -> float | None:
    """A width or height in mm; None for a share of the page or anything else that is no length."""
    match = _LENGTH.fullmatch((text or "")[:_LONGEST_LENGTH])
    if match is None:
        return None
    value = float(match[1]) * _UNITS[match[2]]
    return value if isfinite(value) and value > 0 else None


def _view_box(text: str | None) -> tuple[float, float] | None:
    """Width and height of the viewBox."""
    if text is None:
        return None
    numbers = _numbers(text)
    if len(numbers) != 4 or not (numbers[2] > 0 and numbers[3] > 0):
        raise InvalidInput("file", "has a viewBox that is not four numbers with a width and a height above 0")
    return numbers[2], numbers[3]


def _check_length(text: str) -> None:
    """Long before a reader of paths would be kept busy for minutes."""
    if len(text) > _LONGEST_PATH:
        raise InvalidInput(
            "file", f"has a path of more than {MOST_PIECES} pieces; simplify it in the drawing"
        )


def _numbers(text: str) -> list[float]:
    _check_length(text)
    rest = _NUMBER.sub("", text).replace(",", " ").strip()
    if rest:
        raise InvalidInput("file", f"has something other than numbers among coordinates: {shown(rest)}")
    return [float(number) for number in _NUMBER.findall(text)]


# --- what is drawn ------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Open:
    element: Element
    transform: Floats
    depth: int


def _drawn(root: Element, notes: list[str]) -> Iterator[tuple[Element, Floats]]:
    """The elements that draw a line, with their transforms; others are refused or told in the notes."""
    waiting, passed_over = [_Open(root, _transform(root), 0)], 0
    while waiting:
        group = waiting.pop()
        if group.depth > _DEEPEST:
            raise InvalidInput("file", f"nests its groups more than {_DEEPEST} deep")
        inner = []
        for child in group.element:
            name = _name(child)
            if _is_hidden(child):
                continue
            if name in _NOT_FOLLOWED:
                raise InvalidInput(
                    "file", f"has an element <{name}>; turn it into a path, or remove it, and save again"
                )
            passed_over += name in _PASSED_OVER
            transform = group.transform
            if name in _DRAWN | _GROUPS:
                transform = transform @ _transform(child)
            if name in _DRAWN:
                yield child, transform
            elif name in _GROUPS:
                inner.append(_Open(child, transform, group.depth + 1))
        waiting += reversed(inner)
    if passed_over:
        notes.append(f"{passed_over} texts or pictures in the file were passed over.")


def _is_hidden(element: Element) -> bool:
    style = (element.get("style") or "").replace(" ", "")
    return element.get("display") == "none" or "display:none" in style


def _transform(element: Element) -> Floats:
    from svgpathtools.parser import parse_transform  # type: ignore[import-untyped]

    text = element.get("transform")
    try:
        if len(text or "") > _LONGEST_TRANSFORM:
            raise ValueError("too long")
        matrix: Floats = parse_transform(text, strict=True)
    except ValueError:
        raise InvalidInput("file", f"has a transform that cannot be read: {shown(text or '')}") from None
    return matrix


def _affine(matrix: Floats) -> tuple[Floats, Floats]:
    return matrix[:2, :2], matrix[:2, 2]


def _strokes(element: Element) -> list[Piece]:
    match _name(element):
        case "path":
            return _path(element.get("d") or "")
        case "line":
            x1, y1, x2, y2 = (_coordinate(element, key) for key in ("x1", "y1", "x2", "y2"))
            return [straight_piece((x1, y1), (x2, y2))]
        case name:
            numbers = _numbers(element.get("points") or "")
            if len(numbers) % 2:
                raise InvalidInput("file", f"has a {name} with an odd number of coordinates")
            points = list(zip(numbers[::2], numbers[1::2], strict=True))
            if name == "polygon" and points:
                points.append(points[0])
            return [straight_piece(a, b) for a, b in pairwise(points)]


def _coordinate(element: Element, key: str) -> float:
    text = element.get(key, "0")
    match = _LENGTH.fullmatch(text[:_LONGEST_LENGTH])
    if match is None:
        raise InvalidInput("file", f"has a line whose {key} is not a number: {shown(text)}")
    factor = 1.0 if match[2] is None else _UNITS[match[2]] / _PIXEL
    return float(match[1]) * factor


def _path(text: str) -> list[Piece]:
    from svgpathtools.parser import parse_path

    _check_length(text)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            segments = list(parse_path(text))
            pieces = [piece for segment in segments for piece in _pieces(segment)]
    except (ValueError, IndexError, ArithmeticError, AssertionError, TypeError, Warning):
        raise InvalidInput("file", f"has a path that cannot be read: {shown(text)}") from None
    breaks = sum(a.end != b.start for a, b in pairwise(segments))
    if breaks:
        raise InvalidInput("file", f"has a path of {breaks + 1} separate lines; a profile is one line")
    return pieces


def _pieces(segment: object) -> list[Piece]:
    """A segment of svgpathtools, whose points are complex numbers."""
    from svgpathtools import Arc, CubicBezier, Line, QuadraticBezier  # type: ignore[import-untyped]

    match segment:
        case Line():
            return [straight_piece(_xy(segment.start), _xy(segment.end))]
        case QuadraticBezier():
            a, b, c = (_xy(point) for point in segment.bpoints())
            return [curved_piece(np.array([a, a + (b - a) * 2 / 3, c + (b - c) * 2 / 3, c]))]
        case CubicBezier():
            return [curved_piece(np.array([_xy(point) for point in segment.bpoints()]))]
        case Arc():
            turn = complex(segment.rot_matrix)
            across, along = _xy(turn * segment.radius.real), _xy(turn * 1j * segment.radius.imag)
            start, sweep = np.radians(segment.theta), np.radians(segment.delta)
            return elliptic_pieces(_xy(segment.center), across, along, float(start), float(sweep))
    raise TypeError(type(segment).__name__)


def _xy(point: complex) -> Floats:
    return np.array([point.real, point.imag])
