"""A design as files for other programs: each opened by another library, and only by its own studio."""

import io

import ezdxf
import pypdf
import pytest
import trimesh
from defusedxml import ElementTree
from django.test import Client as Browser

from projects.models import Studio
from tests.factories import DesignFactory


@pytest.fixture
def address(studio: Studio) -> str:
    return f"/designs/{DesignFactory(studio=studio, title='Bowl <i>one</i>').pk}/file."


def opened(kind: str, content: bytes) -> object:
    match kind:
        case "glb" | "stl":
            return trimesh.load(io.BytesIO(content), file_type=kind)
        case "svg":
            return ElementTree.fromstring(content)
        case "dxf":
            return ezdxf.read(io.StringIO(content.decode()))
    return pypdf.PdfReader(io.BytesIO(content))


@pytest.mark.parametrize("kind", ["glb", "stl", "svg", "dxf", "pdf"])
def test_a_file_of_each_kind_is_named_after_the_design_and_opens_elsewhere(
    as_bob: Browser, address: str, kind: str
) -> None:
    answer = as_bob.get(f"{address}{kind}")
    assert answer.status_code == 200
    assert answer["Content-Disposition"] == f'attachment; filename="bowl-ionei.{kind}"'
    assert opened(kind, answer.content) is not None


def test_the_stack_as_glued_is_larger_than_the_turned_piece(as_bob: Browser, address: str) -> None:
    turned, glued = (opened("stl", as_bob.get(f"{address}stl{query}").content) for query in ("", "?glued=1"))
    assert glued.volume > turned.volume  # type: ignore[attr-defined]


def test_a_kind_there_is_not_is_no_page(as_bob: Browser, address: str) -> None:
    assert as_bob.get(f"{address}exe").status_code == 404


def test_another_studios_design_is_no_page(as_charlie: Browser, address: str) -> None:
    assert as_charlie.get(f"{address}glb").status_code == 404


def test_what_cannot_be_made_is_said_in_words(as_bob: Browser, studio: Studio) -> None:
    design = DesignFactory(studio=studio)
    design.parts.get().bands.all().delete()
    answer = as_bob.get(f"/designs/{design.pk}/file.glb")
    assert answer.status_code == 409
    assert "bands" in answer.content.decode()
