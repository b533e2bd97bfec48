"""The section of a piece as a DXF drawing, for a plotter or a drawing program."""

from collections.abc import Iterable, Iterator
from io import StringIO
from math import cos
from threading import Lock
from typing import Any

import numpy as np

from estimating.picture.section import cut_of
from estimating.picture.segments import layer_loops, outlines
from estimating.picture.subject import Subject
from estimating.shape.build import Shape
from estimating.shape.curves import Floats

LAYERS = {
    "axis": "the axis of the lathe",
    "outline": "round the turned wood of each side",
    "layers": "each layer as turned",
    "plugs": "what fills a bore",
    "open": "each layer as turned, where the section runs through a gap between segments",
    "blanks": "each layer as glued, before turning",
}
"""The drawing's layers by name, and what is on each."""

FINE = 1e-4
"""How far the polylines may lie beside the curves, as a share of the largest radius."""

_MM = 4  # $INSUNITS: millimetres
_RELEASE = "R2010"
_writing = Lock()


def write_dxf(shapes: Iterable[Shape], *, bases: Iterable[float]) -> str:
    """The section through the axis, both sides, every part at its place in the assembled piece.

    Shape: DXF text of release 2010; mm; the axis is x = 0, y is the height. Closed polylines, on the layers of
        LAYERS. `bases` has one height (mm) a shape, at which its own height 0 stands.
    Errors: none for shapes that build_shape has passed. The same shapes give the same bytes.
    """
    # Imported here since it is slow to load and needed for this one format.
    from ezdxf import options  # type: ignore[attr-defined]  # public, but not named in its __all__
    from ezdxf.filemanagement import new

    text = StringIO()
    with _writing:
        # Otherwise the file would carry the time of day and a random name.
        usual, options.write_fixed_meta_data_for_testing = options.write_fixed_meta_data_for_testing, True
        try:
            document = new(_RELEASE, units=_MM)
            for name, description in LAYERS.items():
                document.layers.add(name).description = description
            for shape, base in zip(shapes, bases, strict=True):
                _add_shape(document.modelspace(), shape, base)
            # The library keeps the classes it needs in a set, whose order is another one each time.
            document.classes.add_required_classes(document.dxfversion)
            document.classes.classes = dict(sorted(document.classes.classes.items()))
            document.write(text)
        finally:
            options.write_fixed_meta_data_for_testing = usual
    return text.getvalue()


def _add_shape(space: Any, shape: Shape, base: float) -> None:
    subject = Subject(shape.form, shape.stack, shape.rings, shape.ring_of, (), {})
    low, high = float(subject.stack.bottom[0]), float(subject.stack.top[-1])
    space.add_line((0.0, base + low), (0.0, base + high), dxfattribs={"layer": "axis"})
    whole = outlines(shape, tolerance=FINE)
    layers = list(layer_loops(shape, tolerance=FINE))
    for side in (-1, 1):
        for loop in whole:
            _outline(space, "outline", loop.points, side, base)
        for index, loop, plug in layers:
            name = "plugs" if plug else "layers" if cut_of(subject, index, side).wood else "open"
            _outline(space, name, loop.points, side, base)
        for corners in _blanks(subject, side):
            _outline(space, "blanks", corners, side, base)


def _blanks(subject: Subject, side: int) -> Iterator[Floats]:
    """Corners of each layer's blank in the plane of the section: flat between its own corners, so farther out there."""
    for index in range(len(subject.stack)):
        ring, off = subject.ring(index), cos(cut_of(subject, index, side).off_centre)
        bottom, top = float(subject.stack.bottom[index]), float(subject.stack.top[index])
        (outer, inner), (outer_top, inner_top) = ring.face(), ring.face(top=True)
        corners = [(inner, bottom), (outer, bottom), (outer_top, top), (inner_top, top)]
        yield np.array(corners) / (off, 1.0)


def _outline(space: Any, layer: str, points: Floats, side: int, base: float) -> None:
    """A closed polyline through points of (radius, height)."""
    placed = [(side * radius, base + height) for radius, height in points.tolist()]
    space.add_lwpolyline(placed, close=True, dxfattribs={"layer": layer})
