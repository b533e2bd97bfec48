"""The files of a piece, opened by other programs' readers: the Khronos validator, a mesh and a drawing library."""

import io
import json
import shutil
import struct
import subprocess
from collections import Counter
from math import pi, sin
from pathlib import Path
from typing import Any

import ezdxf.recover
import numpy as np
import pytest
import trimesh
from shapely.geometry import Polygon

from estimating.picture.plot import LAYERS, write_dxf
from estimating.picture.segments import glued_courses, solids, turned_courses
from estimating.picture.solids import Model, linear, write_glb, write_stl
from estimating.piece import Laminate
from estimating.shape.build import Shape, build_shapes
from estimating.sheet import read_sheet
from tests.estimating.kinds import WALL, built, cut, staves
from tests.estimating.modelled import PIECES, tube, vase

COLOURS = {"maple": "#e9d5ae", "walnut": "#5b3826", "cherry": "#a5603a"}
STATIC = Path(__file__).parents[2] / "static"
VALIDATE = """
const validator = require("gltf-validator");
const bytes = new Uint8Array(require("fs").readFileSync(0));
validator.validateBytes(bytes).then((report) => console.log(JSON.stringify(report)));
"""


def glb_of(shape: Shape, *, glued: bool = False) -> bytes:
    courses = glued_courses(shape) if glued else turned_courses(shape)
    return write_glb([Model(courses, part="body")], colours=COLOURS, title="Vase — “grün” <b>")


def taken_apart(glb: bytes) -> tuple[dict[str, Any], bytes]:
    """The JSON and the binary chunk of a GLB, by the layout of its specification."""
    magic, version, length = struct.unpack_from("<4sII", glb)
    assert (magic, version, length) == (b"glTF", 2, len(glb))
    size, kind = struct.unpack_from("<I4s", glb, 12)
    assert kind == b"JSON"
    start = 20 + size
    binary, kind = struct.unpack_from("<I4s", glb, start)
    assert kind == b"BIN\0"
    assert start + 8 + binary == length
    return json.loads(glb[20:start]), glb[start + 8 :]


@pytest.mark.parametrize("glued", [False, True])
@pytest.mark.parametrize("name", PIECES)
def test_the_gltf_has_no_error_and_no_warning_by_the_khronos_validator(name: str, glued: bool) -> None:
    node = shutil.which("node")
    assert node, "the validator runs on node, as .make/setup.sh dev installs it"
    told = subprocess.run(
        [node, "-e", VALIDATE],
        input=glb_of(PIECES[name](), glued=glued),
        capture_output=True,
        cwd=STATIC,
        check=True,
    )
    report = json.loads(told.stdout)
    assert report["issues"]["numErrors"] == 0, report["issues"]
    assert report["issues"]["numWarnings"] == 0, report["issues"]
    assert report["info"]["totalTriangleCount"] > 0


@pytest.mark.parametrize("name", PIECES)
def test_a_mesh_library_reads_the_gltf_as_high_and_wide_as_the_piece_in_metres(name: str) -> None:
    shape = PIECES[name]()
    scene = trimesh.load(io.BytesIO(glb_of(shape)), file_type="glb")
    low, high = scene.bounds
    width, bottom, top = shape.form.largest_diameter / 1000, shape.form.bottom / 1000, shape.form.top / 1000
    assert low == pytest.approx([-width / 2, bottom, -width / 2], rel=2e-3, abs=1e-9)
    assert high == pytest.approx([width / 2, top, width / 2], rel=2e-3)
    volume = sum(mesh.volume for mesh in scene.geometry.values())
    assert volume * 1e9 == pytest.approx(float(np.sum(shape.stack.turned)), rel=1e-4)


def test_layers_woods_and_segments_can_be_told_apart_in_the_gltf() -> None:
    shape = vase()
    document, binary = taken_apart(glb_of(shape))
    assert [node["name"] for node in document["nodes"]] == [f"layer {n}" for n in range(1, 13)]
    assert [node["extras"]["ring"] for node in document["nodes"]] == [i + 1 for i in shape.ring_of]
    assert {node["extras"]["part"] for node in document["nodes"]} == {"body"}
    side = document["meshes"][document["nodes"][3]["mesh"]]["primitives"]
    woods = [document["materials"][primitive["material"]]["name"] for primitive in side]
    assert woods == ["maple", "cherry"]
    for primitive, first in zip(side, (1, 2), strict=True):
        accessor = document["accessors"][primitive["attributes"]["_SEGMENT"]]
        start = document["bufferViews"][accessor["bufferView"]]["byteOffset"] + accessor["byteOffset"]
        values = np.frombuffer(binary, "<f4", accessor["count"], start)
        assert sorted(Counter(values.tolist())) == list(range(first, 25, 2))


def test_segments_stand_round_the_axis_where_the_node_says() -> None:
    document, binary = taken_apart(glb_of(vase(gap=0.3)))
    extras = document["nodes"][4]["extras"]
    primitive = document["meshes"][4]["primitives"][0]

    def values(name: str, width: int) -> Any:
        accessor = document["accessors"][primitive["attributes"][name]]
        start = document["bufferViews"][accessor["bufferView"]]["byteOffset"] + accessor["byteOffset"]
        return np.frombuffer(binary, "<f4", accessor["count"] * width, start).reshape(-1, width)

    points, numbers = values("POSITION", 3), values("_SEGMENT", 1)[:, 0]
    # Anticlockwise from above, from the viewer at positive z: angle 0 is +z, a quarter turn +x.
    angles = np.arctan2(points[:, 0], points[:, 2])
    middles = extras["angle"] + (numbers - 1) * 2 * pi / extras["segments"]
    off = np.abs((angles - middles + pi) % (2 * pi) - pi)
    assert off.max() == pytest.approx(extras["half_angle"], abs=1e-5)
    assert extras["half_angle"] == pytest.approx(0.7 * pi / 24)
    assert points[:, 1].min() == pytest.approx(extras["lower"], abs=1e-7)
    assert points[:, 1].max() == pytest.approx(extras["upper"], abs=1e-7)


def test_the_grain_runs_along_the_segment_from_joint_to_joint() -> None:
    shape = tube()
    document, binary = taken_apart(glb_of(shape, glued=True))
    accessor = document["accessors"][document["meshes"][0]["primitives"][0]["attributes"]["TEXCOORD_0"]]
    start = document["bufferViews"][accessor["bufferView"]]["byteOffset"] + accessor["byteOffset"]
    along = np.frombuffer(binary, "<f4", accessor["count"] * 2, start).reshape(-1, 2)[:, 0]
    edge = shape.rings[0].outer_edge / 1000
    assert (along.min(), along.max()) == pytest.approx((-edge / 2, edge / 2), rel=1e-6)


@pytest.mark.parametrize(
    ("colour", "light"),
    # The second and third are the two sides of the standard's break at 0.04045; the others its ends.
    [
        ("#000000", 0.0),
        ("#0a0a0a", 10 / 255 / 12.92),
        ("#0b0b0b", ((11 / 255 + 0.055) / 1.055) ** 2.4),
        ("#ffffff", 1.0),
    ],
)
def test_colours_are_told_in_linear_light(colour: str, light: float) -> None:
    assert linear(colour) == pytest.approx([light] * 3, abs=1e-6)


def test_a_wood_without_a_usable_colour_is_still_a_valid_material() -> None:
    glb = write_glb([Model(turned_courses(tube()))], colours={"maple": "red;}"}, title="")
    document, _ = taken_apart(glb)
    factor = document["materials"][0]["pbrMetallicRoughness"]["baseColorFactor"]
    assert all(0 <= channel <= 1 for channel in factor)


@pytest.mark.parametrize("name", PIECES)
def test_a_mesh_library_reads_the_stl_as_one_closed_solid_in_mm(name: str) -> None:
    shape = PIECES[name]()
    mesh = trimesh.load(io.BytesIO(write_stl((body, 12.0) for body in solids(shape))), file_type="stl")
    assert mesh.is_watertight
    assert mesh.is_winding_consistent
    assert mesh.volume == pytest.approx(shape.form.volume, rel=1e-4)
    assert mesh.bounds[:, 2] == pytest.approx([12 + shape.form.bottom, 12 + shape.form.top], abs=1e-4)


def test_an_stl_of_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match="no solid"):
        write_stl([])


@pytest.fixture(scope="module")
def section() -> Any:
    return read_dxf(write_dxf([vase(gap=0.2)], bases=[0.0]))


def read_dxf(text: str) -> Any:
    document, auditor = ezdxf.recover.read(io.BytesIO(text.encode()))
    assert not auditor.has_errors
    assert not auditor.has_fixes
    return document


def test_a_drawing_library_reads_the_section_without_a_fault_in_mm(section: Any) -> None:
    assert section.units == ezdxf.units.MM
    assert set(LAYERS) <= {layer.dxf.name for layer in section.layers}
    assert len(section.audit().errors) == 0


def outlines(document: Any, layer: str) -> list[Polygon]:
    return [
        Polygon(line.get_points("xy"))
        for line in document.modelspace().query(f'LWPOLYLINE[layer=="{layer}"]')
    ]


def test_the_sections_areas_are_those_of_the_form(section: Any) -> None:
    shape = vase(gap=0.2)
    # Area of half the section by the integral of outer less inner radius, by a fine midpoint rule.
    count = 400_000
    heights = shape.form.bottom + (np.arange(count) + 0.5) * shape.form.height / count
    width = shape.form.outer.radius(heights) - shape.form.inner_radius(heights)
    area = float(width.sum()) * shape.form.height / count
    assert [outline.area for outline in outlines(section, "outline")] == pytest.approx([area] * 2, rel=1e-4)
    cut = outlines(section, "layers") + outlines(section, "open")
    glue = 2 * float(np.interp(24.0, heights, width)) * 0.08
    assert sum(outline.area for outline in cut) == pytest.approx(2 * area - 11 * glue, rel=2e-3)
    assert len(cut) == 2 * len(shape.stack)
    assert outlines(section, "open")
    assert len(outlines(section, "blanks")) == 2 * len(shape.stack)
    assert all(outline.is_valid for outline in cut)


def test_every_blank_of_the_section_covers_its_layer(section: Any) -> None:
    blanks = outlines(section, "blanks")
    for turned in outlines(section, "layers"):
        assert any(blank.buffer(0.05).covers(turned) for blank in blanks)


def test_a_plug_is_drawn_in_the_section_and_named_in_the_model() -> None:
    shape = vase(foot={"bore": 30, "plug": "maple"})
    drawn = read_dxf(write_dxf([shape], bases=[0.0]))
    assert [outline.area for outline in outlines(drawn, "plugs")] == pytest.approx([15 * 11] * 2, rel=1e-6)
    document, _ = taken_apart(glb_of(shape))
    assert [node["name"] for node in document["nodes"]][:3] == ["layer 1", "plug of layer 1", "layer 2"]
    assert [node["extras"]["plug"] for node in document["nodes"]][:3] == [False, True, False]


def test_a_laminate_has_its_strips_mean_light_and_the_strips_themselves() -> None:
    laminate = Laminate("zigzag", pi / 4, (("maple", 6.0), ("walnut", 2.0)))
    glb = write_glb([Model(turned_courses(tube()))], colours=COLOURS, title="", laminates={"maple": laminate})
    (material,) = taken_apart(glb)[0]["materials"]
    light, dark = linear(COLOURS["maple"]), linear(COLOURS["walnut"])
    mean = [(3 * a + b) / 4 for a, b in zip(light, dark, strict=True)]
    assert material["pbrMetallicRoughness"]["baseColorFactor"] == pytest.approx([*mean, 1], abs=1e-6)
    told = material["extras"]["laminate"]
    assert (told["kind"], told["angle"]) == ("zigzag", pi / 4)
    assert [(strip["light"], strip["width"]) for strip in told["strips"]] == [(light, 0.006), (dark, 0.002)]


def test_the_same_shape_gives_the_same_drawing_and_the_same_model() -> None:
    assert write_dxf([vase()], bases=[0.0]) == write_dxf([vase()], bases=[0.0])
    assert glb_of(vase()) == glb_of(vase())
    assert write_stl((body, 0.0) for body in solids(vase())) == write_stl(
        (body, 0.0) for body in solids(vase())
    )


def test_the_grain_of_staves_runs_up_from_end_to_end() -> None:
    sheet = built(
        cut(thickness=20), staves(thickness=60), form={"outer": [[0, 60], [80, 60]], "inside": WALL}
    )
    (shape,) = build_shapes(read_sheet(sheet).parts, shop=read_sheet(sheet).shop)
    courses = {course.layer: course.skin.grain for course in turned_courses(shape)}
    lying, upright = (np.ptp(courses[layer], axis=0) for layer in (1, 2))
    # the outside's grain is measured along x, the tangent, in a ring's segment, and along z, 60 mm, in a stave
    assert upright[0] == pytest.approx(60)
    assert lying[0] == pytest.approx(2 * 60 * sin(pi / 12), rel=1e-3)
