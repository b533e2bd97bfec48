"""An estimate as a file for other programs: a model, closed solids, a section, or the full-size papers."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from projects import drawings

if TYPE_CHECKING:
    from estimating.estimate import Estimate


@dataclass(frozen=True, slots=True)
class FileKind:
    """A kind of file: what it is for, its media type, and whether it can show the stack as glued instead."""

    words: str
    media_type: str
    write: "Callable[[Estimate, bool], bytes]"
    may_be_glued: bool = False


def _full_size(found: "Estimate", _glued: bool) -> bytes:
    # Imported here since papers bring the PDF library.
    from estimating.picture.full_size import FullSize
    from projects.papers.fullsize import write_full_size

    colours = drawings.colours_of(found)
    return write_full_size(found, colours=colours, unit="mm", paper="a4", options=FullSize(), studio="")


FILE_KINDS: Mapping[str, FileKind] = {
    "glb": FileKind(
        "a model to look at (binary glTF, m)",
        "model/gltf-binary",
        lambda found, glued: drawings.solid_glb(found, glued=glued),
        may_be_glued=True,
    ),
    "stl": FileKind(
        "closed solids to make from (mm)",
        "model/stl",
        lambda found, glued: drawings.solid_stl(found, glued=glued),
        may_be_glued=True,
    ),
    "svg": FileKind(
        "the section, full size",
        "image/svg+xml",
        lambda found, _: drawings.section_svg(found).encode(),
    ),
    "dxf": FileKind(
        "the section for a drawing program (mm)",
        "image/vnd.dxf",
        lambda found, _: drawings.section_dxf(found).encode(),
    ),
    "pdf": FileKind("the drawings for the bench, full size on A4", "application/pdf", _full_size),
}
"""Every kind by the ending of its file's name."""


def export(estimate: "Estimate", kind: str, *, glued: bool = False) -> bytes:
    """The piece as a file of a kind, turned, or as glued up before turning.

    Errors: KeyError for a kind there is not; estimating.errors.InvalidInput where a full-size drawing cannot be.
    """
    return FILE_KINDS[kind].write(estimate, glued)
