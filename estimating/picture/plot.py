"""The section of a piece as a DXF drawing, for a plotter or a drawing program."""

from collections.abc import Iterable
from io import StringIO
from threading import Lock
from typing import Any

import numpy as np

from estimating.picture.profile import Profile
from estimating.picture.section import blank_spans, cut_of
from estimating.picture.subject import Subject
from estimating.shape.build import Shape
from estimating.shape.curves import Floats

LAYERS = {
    "axis": "the axis of the lathe",
    "outline": "round the turned wood of each side",
    "layers": "each layer as turned",
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
            document.write(text)
        finally:
            options.write_fixed_meta_data_for_testing = usual
    return text.getvalue()


def _add_shape(space: Any, shape: Shape, base: float) -> None:
    subject = Subject(shape.form, shape.stack, shape.rings, shape.ring_of, (), {})
    edges: Floats = np.unique(np.concatenate([subject.lower, subject.upper]))
    profile = Profile(shape.form, edges, FINE * shape.form.largest_diameter / 2)
    whole = profile.loop(shape.form.bottom, shape.form.top).points
    low, high = float(subject.stack.bottom[0]), float(subject.stack.top[-1])
    space.add_line((0.0, base + low), (0.0, base + high), dxfattribs={"layer": "axis"})
    for side in (-1, 1):
        _outline(space, "outline", whole, side, base)
        for layer in subject.turned_layers:
            loop = profile.loop(float(subject.lower[layer]), float(subject.upper[layer]))
            name = "layers" if cut_of(subject, layer, side).wood else "open"
            _outline(space, name, loop.points, side, base)
        for bottom, top, inner, outer in blank_spans(subject, side):
            corners = np.array([[inner, bottom], [outer, bottom], [outer, top], [inner, top]])
            _outline(space, "blanks", corners, side, base)


def _outline(space: Any, layer: str, points: Floats, side: int, base: float) -> None:
    """A closed polyline through points of (radius, height)."""
    placed = [(side * radius, base + height) for radius, height in points.tolist()]
    space.add_lwpolyline(placed, close=True, dxfattribs={"layer": layer})
