"""The designs of the demo: what is asked for, and what was made before."""

from dataclasses import dataclass, field
from typing import Any


@dataclass(frozen=True)
class Piece:
    """A design of the demo: its parts as `design_create` takes them."""

    title: str
    parts: list[dict[str, Any]]
    values: dict[str, Any] = field(default_factory=dict)


# A foot of wedges is bored as wide as their tips need, and plugged.
BORED = {"bored": "needed"}


def _wall(outer: list[list[float]], *, curve: str, wall: float, floor: float) -> dict[str, Any]:
    return {"outer": outer, "curve": curve, "inside": "wall", "wall": wall, "floor": floor}


# Every stack is as tall as its form with 2 mm below and 1.5 mm above, and a bond line of 0.08 mm a joint.
VASE = Piece(
    "Rising vase",
    [
        {
            "form": _wall(
                [[0, 58], [40, 76], [105, 98], [170, 80], [215, 56], [240, 62]],
                curve="smooth",
                wall=7,
                floor=12,
            ),
            "bands": [
                {"name": "foot", "layers": 1, "thickness": "14", "segments": 18, "woods": ["walnut"]}
                | {**BORED, "plug": "walnut"},
                {
                    "name": "spiral",
                    "layers": 80,
                    "thickness": "2.5",
                    "segments": 18,
                    "woods": ["maple", "cherry"],
                }
                | {"offsets": [0.5], "made": "sliced", "ring_height": "40"},
                {"name": "collar", "layers": 2, "thickness": "8", "segments": 18, "woods": ["walnut"]}
                | {"offsets": [0.5]},
                {"name": "rim", "layers": 1, "thickness": "6.9", "segments": 18, "woods": ["walnut"]}
                | {"offsets": [0.5]},
            ],
        }
    ],
)
BOWL = Piece(
    "Low bowl with a chequered rim",
    [
        {
            "form": _wall(
                [[0, 52], [12, 70], [30, 98], [62, 126], [80, 130]], curve="smooth", wall=7, floor=10
            ),
            "bands": [
                {"name": "base", "layers": 1, "thickness": "13.5", "segments": 16, "woods": ["cherry"]}
                | {**BORED, "plug": "cherry"},
                {"name": "side", "layers": 4, "thickness": "14", "segments": 16, "woods": ["cherry"]}
                | {"offsets": [0.5, -0.5]},
                {"name": "rim", "layers": 1, "thickness": "13.6", "segments": 16}
                | {"woods": ["walnut", "maple"], "offsets": [0.5]},
            ],
        }
    ],
)
JAR = Piece(
    "Lidded jar with a zigzag band",
    [
        {
            "name": "body",
            "form": _wall([[0, 50], [100, 54]], curve="straight", wall=9, floor=10),
            "held": "waste_block",
            "held_depth": 25,
            "held_parting": 2,
            "bands": [
                {"name": "base", "layers": 1, "thickness": "13", "segments": 12, "woods": ["walnut"]}
                | {**BORED, "plug": "walnut"},
                {"name": "zigzag", "layers": 1, "thickness": "20", "segments": 12, "woods": ["zigzag"]},
                {"name": "side", "layers": 1, "thickness": "62.3", "segments": 16, "made": "staves"}
                | {"woods": ["maple"]},
                {"name": "rim", "layers": 1, "thickness": "8", "segments": 12, "woods": ["walnut"]},
            ],
        },
        {
            "name": "lid",
            "form": {"outer": [[0, 44.2], [8, 44.2], [8.1, 54], [14, 54], [26, 14]], "inside": "solid"},
            "sits": "in",
            "sits_at": 1,
            "flange": 8,
            "clearance": "0.4",
            "bands": [
                {"name": "lid", "layers": 2, "thickness": "14.71", "segments": 12, "woods": ["walnut"]}
                | {**BORED, "plug": "maple", "offsets": [0.5]},
            ],
        },
        {
            "name": "knob",
            "form": {
                "outer": [[0, 7], [6, 5], [16, 11], [24, 6], [28, 1]],
                "curve": "smooth",
                "inside": "solid",
            },
            "sits": "on",
            "sits_at": 2,
            "bands": [
                {"name": "knob", "layers": 1, "thickness": "31.5", "woods": ["padauk"], "made": "solid"}
            ],
        },
    ],
    {
        "laminates": {
            "zigzag": {
                "kind": "zigzag",
                "angle": 45,
                "strips": [
                    {"wood": "maple", "width": 18},
                    {"wood": "padauk", "width": 5},
                    {"wood": "maple", "width": 18},
                ],
            }
        }
    },
)
OPEN_BOWL = Piece(
    "Open-work bowl",
    [
        {
            "form": _wall([[0, 76], [60, 122], [100, 140]], curve="straight", wall=9, floor=12),
            "bands": [
                {"name": "foot", "layers": 1, "thickness": "14.5", "segments": 20, "woods": ["walnut"]}
                | {**BORED, "plug": "walnut"},
                {"name": "open rows", "layers": 10, "thickness": "8", "segments": 20, "woods": ["maple"]}
                | {"offsets": [0.5, -0.5], "gap": "0.2"},
                {
                    "name": "rim",
                    "layers": 1,
                    "thickness": "8.2",
                    "segments": 20,
                    "woods": ["walnut"],
                    "offsets": [0.5],
                },
            ],
        }
    ],
)
# What follows was made before: it stands in the log.
PLATTER = Piece(
    "Platter with a walnut rim",
    [
        {
            "form": _wall([[0, 66], [8, 84], [22, 128], [36, 146]], curve="smooth", wall=8, floor=9),
            "bands": [
                {"name": "base", "layers": 1, "thickness": "13", "segments": 12, "woods": ["cherry"]}
                | {**BORED, "plug": "walnut"},
                {"name": "side", "layers": 1, "thickness": "13", "segments": 24, "woods": ["cherry"]}
                | {"offsets": [0.5]},
                {"name": "rim", "layers": 1, "thickness": "13.34", "segments": 24, "woods": ["walnut"]}
                | {"offsets": [0.5]},
            ],
        }
    ],
)
BUD_VASE = Piece(
    "Bud vase with a dark neck",
    [
        {
            "form": _wall(
                [[0, 30], [40, 44], [90, 37], [125, 24], [150, 29]], curve="smooth", wall=6, floor=12
            ),
            "bands": [
                {"name": "foot", "layers": 1, "thickness": "14", "segments": 10, "woods": ["walnut"]}
                | {**BORED, "plug": "walnut"},
                {"name": "body", "layers": 6, "thickness": "15", "segments": 10}
                | {"woods": ["maple", "cherry"], "offsets": [0.5]},
                {"name": "neck", "layers": 3, "thickness": "16.24", "segments": 8, "woods": ["walnut"]}
                | {"offsets": [0.5, -0.5]},
            ],
        }
    ],
    {"quantity": 2},
)
