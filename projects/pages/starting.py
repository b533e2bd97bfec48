"""First shapes to draw on, with bands of layers that fit them."""

from dataclasses import dataclass
from math import ceil
from typing import Any

from django.utils.safestring import SafeString, mark_safe

from projects.models import Design, Studio, Wood
from projects.services.designs import design_create

# The ready forms offered, in the order of how often they are made. A ball is an ellipsoid as high as it is wide.
SHAPES = {
    "bowl": "a bowl",
    "vase": "a vase",
    "platter": "a platter",
    "bottle": "a bottle",
    "goblet_bowl": "the bowl of a goblet",
    "cylinder": "a cylinder",
    "cone": "a cone",
    "ellipsoid": "a ball or ellipsoid",
    "egg": "an egg",
    "finial": "a finial",
}
LAYER_MM = 12.0
# Layers come in steps that a maker reads off a rule: tenths of a millimetre, sixty-fourths of an inch.
STEP_MM = {"mm": 0.1, "in": 25.4 / 64}
USUAL_WOODS = ("maple", "walnut")
# Edges of about this length are easy to cut and glue.
EDGE_MM = 40.0


# What each first shape is offered as, height by largest diameter: round figures in the shop's own unit. The shapes that
# are not named are as high as wide.
USUAL_SIDES: dict[str, dict[str, tuple[float, float]]] = {
    "mm": {
        "bowl": (120, 200),
        "vase": (260, 160),
        "platter": (40, 300),
        "bottle": (240, 120),
        "goblet_bowl": (110, 90),
        "cylinder": (160, 120),
        "cone": (160, 120),
        "egg": (150, 110),
        "finial": (120, 40),
    },
    "in": {
        "bowl": (4, 8),
        "vase": (10, 6),
        "platter": (1.5, 12),
        "bottle": (9, 5),
        "goblet_bowl": (4.5, 3.5),
        "cylinder": (6, 5),
        "cone": (6, 5),
        "egg": (6, 4.5),
        "finial": (5, 1.5),
    },
}
USUAL_SIDE = {"mm": 150, "in": 6}
# 8 mm; 5/16 inch.
USUAL_WALL_MM = {"mm": 8.0, "in": 7.938}
IN_MM = {"mm": 1.0, "in": 25.4}


def usual_size(studio: Studio, shape: str = "bowl") -> dict[str, float]:
    """The size that a first shape is offered in, mm."""
    unit = studio.length_unit
    height, diameter = USUAL_SIDES[unit].get(shape, (USUAL_SIDE[unit], USUAL_SIDE[unit]))
    return {
        "height": height * IN_MM[unit],
        "diameter": diameter * IN_MM[unit],
        "wall": USUAL_WALL_MM[unit],
    }


@dataclass(frozen=True)
class Size:
    """What a first shape is asked for, mm."""

    height: float
    diameter: float
    wall: float


def choices() -> list[tuple[str, str]]:
    """The shapes to choose from."""
    return list(SHAPES.items())


def pictures(studio: Studio) -> dict[str, SafeString]:
    """Each shape at its usual size as a small silhouette, SVG."""
    from estimating.picture.silhouette import silhouette
    from estimating.shape.ready import READY_FORMS, ready_curve

    drawn = {}
    for shape in SHAPES:
        size = usual_size(studio, shape)
        measures = READY_FORMS[shape].usual_measures(height=size["height"], diameter=size["diameter"])
        drawn[shape] = mark_safe(silhouette(ready_curve(shape, measures)))  # of numbers alone
    return drawn


def start_design(*, studio: Studio, title: str, shape: str, size: Size) -> Design:
    """Make a design of one part: see `part_of`."""
    return design_create(studio=studio, title=title, parts=[part_of(studio, shape=shape, size=size)])


def part_of(studio: Studio, *, shape: str, size: Size, name: str = "body") -> dict[str, Any]:
    """A part as the service takes it: a shape with a wall of one thickness, and layers of about 12 mm that fill it."""
    # Imported here since it brings numpy, which listing designs does without.
    from estimating.shape.ready import READY_FORMS, STRAIGHT_FORMS, curve_points, ready_curve

    measures = READY_FORMS[shape].usual_measures(height=size.height, diameter=size.diameter)
    step = STEP_MM[studio.length_unit]
    points = curve_points(ready_curve(shape, measures))
    outer = [[_stepped(z, step), round(_stepped(2 * r, step) / 2, 4)] for z, r in points]
    curve = "straight" if shape in STRAIGHT_FORMS else "smooth"
    form = {"outer": outer, "curve": curve, "inside": "wall", "wall": size.wall, "floor": size.wall}
    return {"name": name, "form": form, "bands": _bands(studio, size)}


def _stepped(mm: float, step: float) -> float:
    """The nearest length that a rule shows."""
    return round(round(mm / step) * step, 3)


def _bands(studio: Studio, size: Size) -> list[dict[str, Any]]:
    shop = studio.shop
    bond = float(shop.bond_line)
    stack = size.height + float(shop.allowance_top) + float(shop.allowance_bottom)
    step = STEP_MM[studio.length_unit]
    layers = max(2, round((stack + bond) / (LAYER_MM + bond)))
    thickness = max(step, round((stack - (layers - 1) * bond) / layers / step) * step)
    # The foot takes up what the rounding of all the others leaves.
    foot = round(ceil((stack - (layers - 1) * (thickness + bond)) / step - 1e-6) * step, 3)
    segments = max(8, min(24, 2 * round(3.14 * size.diameter / EDGE_MM / 2)))
    woods = _woods(studio)
    base = {"name": "foot", "layers": 1, "thickness": foot, "woods": woods[-1:], "offsets": [0]}
    body = {"name": "body", "layers": layers - 1, "thickness": round(thickness, 3), "woods": woods[:1]}
    # Wedges that would meet in the middle come to tips that can be neither cut nor glued.
    bored = {"segments": segments, "bored": "needed"}
    return [base | bored | {"plug": woods[-1]}, body | bored | {"offsets": [0.5], "plug": woods[0]}]


def _woods(studio: Studio) -> list[str]:
    offered = list(Wood.objects.for_studio(studio).filter(active=True).values_list("key", flat=True))
    usual = [key for key in USUAL_WOODS if key in offered]
    return usual or offered[:2]
