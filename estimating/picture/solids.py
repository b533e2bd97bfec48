"""The piece as files for other programs: glTF 2.0 to look at, STL to make from."""

import json
import struct
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import numpy.typing as npt

from estimating.picture.mesh import Body, Course, turned
from estimating.picture.svg import wood_colour
from estimating.piece import Laminate

_FLOAT, _UINT = 5126, 5125
_TRIANGLES = 4
_VERTICES, _INDICES = 34962, 34963
_GLTF, _JSON, _BIN = 0x46546C67, 0x4E4F534A, 0x004E4942
_MM = 0.001
"""glTF is in metres, with y upwards and the viewer at positive z."""


_COMPONENTS = {"SCALAR": 1, "VEC2": 2, "VEC3": 3}
_VIEWS: Mapping[str, tuple[str, int, int]] = {
    "POSITION": ("VEC3", _FLOAT, _VERTICES),
    "NORMAL": ("VEC3", _FLOAT, _VERTICES),
    "TEXCOORD_0": ("VEC2", _FLOAT, _VERTICES),
    "_SEGMENT": ("SCALAR", _FLOAT, _VERTICES),
    "indices": ("SCALAR", _UINT, _INDICES),
}


@dataclass(frozen=True)
class Model:
    """The courses of one part, and how it is called. `base` is the height (mm) at which its own height 0 stands."""

    courses: Sequence[Course]
    part: str = ""
    base: float = 0.0


def write_glb(
    models: Iterable[Model],
    *,
    colours: Mapping[str, str],
    title: str,
    laminates: Mapping[str, Laminate] | None = None,
) -> bytes:
    """The piece as binary glTF 2.0.

    Shape: a node a layer, named `layer 7` (`plug of layer 7`), its mesh divided by woods. A node's extras are its
        `layer`, `ring` and `part`, whether it is a `plug`, and what a viewer needs to find joints: `segments`,
        `angle` (of segment 1's middle) and `half_angle` (radians, anticlockwise from above, 0 towards the viewer),
        `lower` and `upper` (m). Vertices carry TEXCOORD_0, along and across the grain in metres, and _SEGMENT, the
        segment's number from 1, 0 in a plug. A laminate is a material of its strips' mean colour, and has them in its
        extras: their `light` (linear) and `width` (m), their `angle` (radians) and `kind`.
    Units: metres, y up. `colours` is #rrggbb by wood key, as screens show it; materials have it in linear light.
    Errors: none. A wood with no colour is grey.
    Source: Khronos Group, glTF 2.0 Specification, chapters 3 (JSON) and 4 (binary container).
    """
    glb = _Glb(colours=colours, laminates=laminates or {})
    for model in models:
        for course in model.courses:
            glb.add_course(course, model)
    return glb.written(title=title)


@dataclass
class _Glb:
    """A glTF document as it grows: one buffer view an attribute, each primitive a run in each of them."""

    colours: Mapping[str, str]
    laminates: Mapping[str, Laminate]
    nodes: list[dict[str, Any]] = field(default_factory=list)
    meshes: list[dict[str, Any]] = field(default_factory=list)
    materials: dict[str, dict[str, Any]] = field(default_factory=dict)
    accessors: list[dict[str, Any]] = field(default_factory=list)
    runs: dict[str, list[bytes]] = field(default_factory=lambda: {name: [] for name in _VIEWS})
    sizes: dict[str, int] = field(default_factory=lambda: dict.fromkeys(_VIEWS, 0))

    def add_course(self, course: Course, model: Model) -> None:
        primitives = [self._primitive(course, model.base, wood) for wood in dict.fromkeys(course.woods)]
        name = f"plug of layer {course.layer}" if course.is_plug else f"layer {course.layer}"
        self.meshes.append({"name": name, "primitives": primitives})
        extras = {
            "layer": course.layer,
            "ring": course.ring,
            "part": model.part,
            "plug": course.is_plug,
            "segments": len(course.angles),
            "angle": round(float(course.angles[0]), 9),
            "half_angle": round(course.half_angle, 9),
            "lower": round(_MM * (model.base + course.lower), 9),
            "upper": round(_MM * (model.base + course.upper), 9),
        }
        self.nodes.append({"name": name, "mesh": len(self.meshes) - 1, "extras": extras})

    def _primitive(self, course: Course, base: float, wood: str) -> dict[str, Any]:
        """All segments of one wood."""
        skin = course.skin
        which = np.flatnonzero(np.array(course.woods) == wood)
        points = _MM * (turned(skin.vertices, course.angles[which]) + np.array([0.0, 0.0, base]))
        size = len(skin.vertices)
        attributes = {
            "POSITION": _y_up(points),
            "NORMAL": _y_up(turned(skin.normals, course.angles[which])),
            "TEXCOORD_0": np.tile(_MM * skin.grain, (len(which), 1)),
            "_SEGMENT": np.repeat(which + float(course.first), size),
        }
        faces = skin.faces + size * np.arange(len(which))[:, None, None]
        return {
            "attributes": {name: self._accessor(name, values) for name, values in attributes.items()},
            "indices": self._accessor("indices", faces.ravel()),
            "material": self._material(wood),
            "mode": _TRIANGLES,
        }

    def _accessor(self, name: str, values: npt.NDArray[Any]) -> int:
        """Append the values to the view of their name; returns the accessor's number."""
        kind, component, _ = _VIEWS[name]
        run = values.astype("<u4" if component == _UINT else "<f4")
        accessor = {
            "bufferView": list(_VIEWS).index(name),
            "byteOffset": self.sizes[name],
            "componentType": component,
            "count": len(run),
            "type": kind,
        }
        if name == "POSITION":
            accessor |= {"min": run.min(axis=0).tolist(), "max": run.max(axis=0).tolist()}
        self.accessors.append(accessor)
        self.runs[name].append(run.tobytes())
        self.sizes[name] += run.nbytes
        return len(self.accessors) - 1

    def _material(self, wood: str) -> int:
        if wood not in self.materials:
            light = linear(wood_colour(self.colours.get(wood)))
            extras: dict[str, Any] = {"wood": wood}
            if laminate := self.laminates.get(wood):
                strips = [
                    {"light": linear(wood_colour(self.colours.get(of))), "width": _MM * width}
                    for of, width in laminate.strips
                ]
                shares = [width / laminate.panel_width for _, width in laminate.strips]
                mixed = np.array(shares) @ np.array([strip["light"] for strip in strips])
                light = [round(channel, 6) for channel in mixed.tolist()]
                extras["laminate"] = {"kind": laminate.kind, "angle": laminate.angle, "strips": strips}
            self.materials[wood] = {
                "name": wood,
                "pbrMetallicRoughness": {
                    "baseColorFactor": [*light, 1.0],
                    "metallicFactor": 0.0,
                    "roughnessFactor": 0.55,
                },
                "extras": extras,
            }
        return list(self.materials).index(wood)

    def written(self, *, title: str) -> bytes:
        """The whole file."""
        views, start = [], 0
        for name, (kind, _, target) in _VIEWS.items():
            view = {"buffer": 0, "byteOffset": start, "byteLength": self.sizes[name], "target": target}
            if target == _VERTICES:
                view["byteStride"] = 4 * _COMPONENTS[kind]
            views.append(view)
            start += self.sizes[name]
        document = {
            "asset": {"version": "2.0", "generator": "Turnery"},
            "scene": 0,
            "scenes": [{"name": title, "nodes": list(range(len(self.nodes)))}],
            "nodes": self.nodes,
            "meshes": self.meshes,
            "materials": list(self.materials.values()),
            "accessors": self.accessors,
            "bufferViews": views,
            "buffers": [{"byteLength": start}],
        }
        text = json.dumps(document, ensure_ascii=False, separators=(",", ":"), allow_nan=False).encode()
        text += b" " * (-len(text) % 4)
        binary = b"".join(part for run in self.runs.values() for part in run)
        chunks = struct.pack("<II", len(text), _JSON) + text + struct.pack("<II", len(binary), _BIN) + binary
        return struct.pack("<III", _GLTF, 2, 12 + len(chunks)) + chunks


def _y_up(vectors: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """From x right, y away, z up to x right, y up, z towards the viewer; (n, V, 3) to (n V, 3)."""
    x, y, z = vectors.reshape(-1, 3).T
    return np.stack([x, z, -y], axis=-1)


def linear(colour: str) -> list[float]:
    """#rrggbb as shares of linear light.

    Source: IEC 61966-2-1 (sRGB): c / 12.92 up to 0.04045, else ((c + 0.055) / 1.055)^2.4.
    """
    shares = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    return [round(c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4, 6) for c in shares]


def write_stl(solids: Iterable[tuple[Body, float]]) -> bytes:
    """Closed solids as binary STL, one after another, each with the height (mm) at which its own height 0 stands.

    Units: mm, z up. Errors: ValueError where there is nothing to write.
    """
    # Imported here since it is slow to load and needed for this one format.
    from trimesh import Trimesh
    from trimesh.exchange.stl import export_stl

    vertices, faces, first = [], [], 0
    for solid, base in solids:
        vertices.append(solid.vertices + np.array([0.0, 0.0, base]))
        faces.append(solid.faces + first)
        first += len(solid.vertices)
    if not faces:
        raise ValueError("there is no solid to write")
    whole = Trimesh(np.concatenate(vertices), np.concatenate(faces), process=False)
    written: bytes = export_stl(whole)
    return written
