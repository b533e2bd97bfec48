"""`manage.py export`: each kind of file opened by a reader of its own, and everything wrong said on standard error."""

import io
import json
import os
import subprocess
import sys
from math import pi, tan
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import ezdxf.recover
import pytest
import trimesh
from pypdf import PdfReader

from tests.estimating.drawn import of_class, polygons
from tests.estimating.sheets import Json, answer, bowl, changed
from tests.projects.test_command_estimate import ROOT

KINDS = ("glb", "stl", "svg", "dxf", "pdf")
VOLUME = pi * 40 * (40**2 + 40 * 60 + 60**2) / 3
"""The small bowl's, solid: a frustum, pi h (r^2 + r R + R^2) / 3."""


def export(*arguments: str, text: bytes = b"") -> tuple[int, bytes, list[str]]:
    """Exit status, standard output and the lines of standard error of the command in a process of its own."""
    command = [sys.executable, str(ROOT / "manage.py"), "export", *arguments]
    done = subprocess.run(command, input=text, capture_output=True, cwd=ROOT, check=False)
    return done.returncode, done.stdout, done.stderr.decode().splitlines()


@pytest.fixture
def exported(tmp_path: Path) -> Any:
    """The small bowl exported under a name; the file's bytes."""

    def write(name: str, *options: str) -> bytes:
        out = tmp_path / name
        assert export("-", str(out), *options, text=json.dumps(bowl()).encode()) == (0, b"", [])
        return out.read_bytes()

    return write


def test_a_glb_opens_in_a_mesh_library_with_every_layer(exported: Any) -> None:
    scene = trimesh.load(io.BytesIO(exported("bowl.GLB")), file_type="glb")
    assert [f"layer {n}" for n in range(1, 5)] == sorted(
        {name.rsplit("_", 1)[0] for name in scene.graph.nodes_geometry}
    )
    assert sum(mesh.volume for mesh in scene.geometry.values()) * 1e9 == pytest.approx(VOLUME, rel=1e-4)


def test_an_stl_is_closed_and_of_the_forms_volume(exported: Any) -> None:
    mesh = trimesh.load(io.BytesIO(exported("bowl.stl")), file_type="stl")
    assert mesh.is_watertight
    assert mesh.volume == pytest.approx(VOLUME, rel=1e-4)


def test_the_glued_stack_holds_the_wood_of_every_ring_as_laid(exported: Any) -> None:
    # Wedges that meet in the middle: a regular polygon of 12 about a circle has n r^2 tan(pi / n).
    layers = answer(bowl())["layers"]
    wood = sum(12 * tan(pi / 12) * layer["outer_radius"] ** 2 * 10 for layer in layers)
    for name in ("bowl.stl", "bowl.glb"):
        loaded = trimesh.load(io.BytesIO(exported(name, "--glued")), file_type=name[-3:])
        meshes = loaded.geometry.values() if name.endswith("glb") else [loaded]
        scale = 1e9 if name.endswith("glb") else 1
        assert sum(mesh.volume for mesh in meshes) * scale == pytest.approx(wood, rel=1e-5)


def test_an_svg_is_the_section_at_its_full_size(exported: Any) -> None:
    root = ElementTree.fromstring(exported("bowl.svg"))
    width, height = (float(value) for value in root.get("viewBox", "").split()[2:])
    assert root.get("width") == f"{width:g}mm"
    assert root.get("height") == f"{height:g}mm"
    assert width > 120
    assert height > 40


def lidded() -> Json:
    """The small bowl with a flat lid on its rim."""
    sheet = bowl()
    body = {key: sheet.pop(key) for key in ("form", "allowance", "bands")} | {"name": "body"}
    lid = {
        "name": "lid",
        "form": {"outer": [[0, 60], [10, 60]], "curve": "straight", "inside": {"kind": "solid"}},
        "bands": [{"layers": 1, "thickness": 10, "made": "solid", "woods": ["cherry"]}],
        "sits": {"on": "body"},
    }
    return sheet | {"parts": [body, lid]}


def test_every_part_stands_at_its_place_in_each_kind_of_file(tmp_path: Path) -> None:
    def written(name: str) -> bytes:
        out = tmp_path / name
        assert export("-", str(out), text=json.dumps(lidded()).encode()) == (0, b"", [])
        return out.read_bytes()

    scene = trimesh.load(io.BytesIO(written("box.glb")), file_type="glb")
    assert scene.bounds[:, 1] == pytest.approx([0, 0.05])
    assert any(name.startswith("layer 5") for name in scene.graph.nodes_geometry)
    mesh = trimesh.load(io.BytesIO(written("box.stl")), file_type="stl")
    assert mesh.volume == pytest.approx(VOLUME + pi * 60**2 * 10, rel=1e-4)
    document, _ = ezdxf.recover.read(io.BytesIO(written("box.dxf")))
    outline = document.modelspace().query('LWPOLYLINE[layer=="outline"]')
    assert sorted({round(y, 6) for line in outline for _, y in line.get_points("xy")}) == [0, 40, 50]
    root = ElementTree.fromstring(written("box.svg"))
    width, height = (float(value) for value in root.get("viewBox", "").split()[2:])
    assert (root.get("width"), root.get("height")) == (f"{width:g}mm", f"{height:g}mm")  # a unit a mm
    cuts = {
        int(path.get("data-layer", "0")): polygons(path)[0].bounds
        for path in of_class(root, "dw-layer")
        if path.get("data-layer")
    }
    assert (cuts[1][3], cuts[4][1], cuts[5][3], cuts[5][1]) == (50, 10, 10, 0)  # the lid's layer on the rim's
    ids = [found.get("id") for found in root.iter() if found.get("id")]
    assert len(ids) == len(set(ids))


def test_a_dxf_is_a_drawing_in_mm(exported: Any) -> None:
    document, auditor = ezdxf.recover.read(io.BytesIO(exported("bowl.dxf")))
    assert not auditor.has_errors
    outline = document.modelspace().query('LWPOLYLINE[layer=="outline"]')
    heights = [y for line in outline for _, y in line.get_points("xy")]
    assert (min(heights), max(heights)) == (0, 40)


def test_a_pdf_is_the_full_size_drawings(exported: Any) -> None:
    reader = PdfReader(io.BytesIO(exported("bowl.pdf")))
    sizes = {tuple(round(float(side) / 72 * 25.4) for side in page.mediabox[2:]) for page in reader.pages}
    assert sizes <= {(210, 297), (297, 210)}
    assert "Small bowl" in "".join(page.extract_text() for page in reader.pages)


# One process a seed, since starting takes longer than most exports; each kind in a fork that has done no other.
EVERY_KIND = """
import os, sys
import django
from django.core.management import call_command
django.setup()
folder, *kinds = sys.argv[1:]
for kind in kinds:
    if os.fork():
        assert os.wait()[1] == 0, kind
        continue
    call_command("export", f"{folder}/bowl.json", f"{folder}/bowl.{kind}")
    os._exit(0)
"""


def every_kind(folder: Path, *, seed: int) -> dict[str, bytes]:
    """The small bowl as every kind of file, by a process whose hashes have the seed."""
    folder.mkdir()
    (folder / "bowl.json").write_text(json.dumps(bowl()))
    environment = {**os.environ, "PYTHONHASHSEED": str(seed), "DJANGO_SETTINGS_MODULE": "turnery.settings"}
    command = [sys.executable, "-c", EVERY_KIND, str(folder), *KINDS]
    done = subprocess.run(command, capture_output=True, cwd=ROOT, env=environment, check=False)
    assert (done.returncode, done.stdout, done.stderr) == (0, b"", b"")
    return {kind: (folder / f"bowl.{kind}").read_bytes() for kind in KINDS}


def test_the_same_sheet_gives_the_same_bytes(tmp_path: Path) -> None:
    one, other = every_kind(tmp_path / "a", seed=1), every_kind(tmp_path / "b", seed=4)
    for kind in KINDS:
        assert one[kind] == other[kind], kind


def test_a_bad_sheet_is_refused_place_by_place_and_no_file_is_written(tmp_path: Path) -> None:
    out = tmp_path / "bowl.glb"
    sheet = changed(changed(bowl(), ["bands", 0, "segments"], 2), ["form", "curve"], "wavy")
    status, said, errors = export("-", str(out), text=json.dumps(sheet).encode())
    assert (status, said) == (2, b"")
    assert sorted(line.split(": ")[0] for line in errors) == ["bands[0].segments", "form.curve"]
    assert not out.exists()


@pytest.mark.parametrize(
    ("arguments", "error"),
    [
        (["-", "bowl.obj"], "out: must end in .glb, .stl, .svg, .dxf or .pdf, not '.obj'"),
        (["-", "bowl"], "out: must end in .glb, .stl, .svg, .dxf or .pdf, not 'bowl'"),
        (["-", "bowl.dxf", "--glued"], "glued: is for .glb or .stl only; a .dxf has both in one drawing"),
        (["/no/such/sheet.json", "bowl.glb"], "sheet: cannot be read: No such file or directory"),
        (["-", "/no/such/folder/bowl.glb"], "out: cannot be written: No such file or directory"),
    ],
)
def test_what_cannot_be_done_is_said_in_one_line(arguments: list[str], error: str) -> None:
    assert export(*arguments, text=json.dumps(bowl()).encode()) == (2, b"", [error])
