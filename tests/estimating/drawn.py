"""Pieces to draw, and a reader that takes a drawing apart again: elements by class, outlines as shapely polygons."""

import re
from collections.abc import Iterator
from dataclasses import fields
from typing import Any
from xml.etree import ElementTree

from shapely import Polygon

from estimating.picture import drawing
from estimating.picture.subject import Subject
from estimating.piece import Allowance, Band, FormSheet, Inside, ShopSettings
from estimating.shape.build import build_shape

COLOURS = {"maple": "#e9d5ae", "walnut": "#5b3826", "cherry": "#a5603a", "padauk": "#b03020"}
SVG = "{http://www.w3.org/2000/svg}"
ROUNDED = 0.005
"""Coordinates are written to 0.01 mm."""


def piece(
    *,
    outer: list[tuple[float, float]],
    bands: list[Band],
    curve: str = "straight",
    inside: Inside | None = None,
    allowance: Allowance | None = None,
    bond_line: float = 0.0,
) -> dict[str, Any]:
    """The arguments of a drawing of a piece."""
    shape = build_shape(
        form=FormSheet(tuple(outer), curve, inside or Inside()),  # type: ignore[arg-type]
        allowance=allowance or Allowance(),
        bands=tuple(bands),
        shop=ShopSettings(bond_line=bond_line),
    )
    return {
        "form": shape.form,
        "stack": shape.stack,
        "rings": shape.rings,
        "ring_of_layer": shape.ring_of,
        "bands": tuple(bands),
        "colours": COLOURS,
    }


def vase() -> dict[str, Any]:
    """A smooth vase with a wall, thin layers from thick rings, allowances and bond lines."""
    return piece(
        outer=[(0, 40), (40, 70), (90, 50), (120, 56)],
        curve="smooth",
        inside=Inside("wall", wall=6, floor=11),
        allowance=Allowance(3, 3, 1, 2),
        bond_line=0.08,
        bands=[
            Band("foot", 1, 14, 12, ("walnut",)),
            Band(
                "swirl",
                36,
                2.8,
                24,
                ("maple", "walnut", "maple", "cherry"),
                (0.25,),
                made="sliced",
                ring_height=40,
            ),
            Band("rim", 1, 6.0, 18, ("walnut",), (0.5,)),
        ],
    )


def open_bowl() -> dict[str, Any]:
    """A straight-sided bowl with open segments over a closed foot, whose gaps fall on the section."""
    return piece(
        outer=[(0, 60), (50, 100), (90, 110)],
        inside=Inside("wall", wall=8, floor=12),
        allowance=Allowance(2, 2, 0, 0),
        bands=[
            Band("foot", 1, 14, 16, ("walnut",)),
            Band("open", 8, 8, 16, ("maple", "cherry"), (0.5, -0.5), gap=0.25),
            Band("rim", 1, 12, 12, ("walnut",), (0.5,)),
        ],
    )


def cone(segments: int = 3, tip: float = 0.0) -> dict[str, Any]:
    """A solid cone that ends in a point."""
    return piece(outer=[(0, 30), (50, tip)], bands=[Band("all", 5, 10, segments, ("maple",), (0.5,))])


PIECES = {"vase": vase, "open bowl": open_bowl, "cone": cone}


def subject(of: dict[str, Any]) -> Subject:
    """The piece as the drawings' own parts take it."""
    return Subject(**of)


def draw_piece(**of: Any) -> str:
    """The working drawing of a piece as `piece` gives it, with a drawing's own options."""
    return drawing.draw_piece(**_split(of))


def draw_elevation(**of: Any) -> str:
    """As draw_piece, from the front."""
    return drawing.draw_elevation(**_split(of))


def draw_section(**of: Any) -> str:
    """As draw_piece, in section."""
    return drawing.draw_section(**_split(of))


def _split(of: dict[str, Any]) -> dict[str, Any]:
    names = {field.name for field in fields(Subject)}
    parts = {key: value for key, value in of.items() if key in names}
    options = {key: value for key, value in of.items() if key not in names}
    return {"subjects": (Subject(**parts),), **options}


def parsed(drawing: str) -> ElementTree.Element:
    """The drawing's root; ParseError where it is no XML."""
    return ElementTree.fromstring(drawing)


def of_class(root: ElementTree.Element, name: str) -> list[ElementTree.Element]:
    """Elements that carry a class."""
    return [found for found in root.iter() if name in found.get("class", "").split()]


def points_of(d: str) -> Iterator[list[tuple[float, float]]]:
    """The points of every outline in path data made of absolute M, L, H and V."""
    for outline in re.findall(r"M[^M]*", d):
        points: list[tuple[float, float]] = []
        for command, numbers in re.findall(r"([MLHV])([^MLHVZ]*)", outline):
            values = [float(value) for value in re.findall(r"-?[\d.]+", numbers)]
            match command:
                case "H":
                    points += [(x, points[-1][1]) for x in values]
                case "V":
                    points += [(points[-1][0], y) for y in values]
                case _:
                    points += zip(values[::2], values[1::2], strict=True)
        yield points


def polygons(element: ElementTree.Element) -> list[Polygon]:
    """Every outline of a path as a polygon."""
    return [Polygon(points) for points in points_of(element.get("d", ""))]


def layer_paths(root: ElementTree.Element, view: str) -> Iterator[tuple[int, ElementTree.Element]]:
    """Layer number and path of every patch of wood in a view, without the segments' ends."""
    for group in of_class(root, view):
        for layer in of_class(group, "dw-layer"):
            for path in layer.iter(f"{SVG}path"):
                if "dw-end" not in path.get("class", ""):
                    yield int(layer.get("data-layer", "0")), path
