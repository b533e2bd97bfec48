"""A profile from a file's bytes, whatever kind of drawing or table it is."""

from dataclasses import dataclass
from typing import Literal

from estimating.errors import InvalidInput, shown
from estimating.profile.dxf import read_dxf
from estimating.profile.fitting import fit_halves
from estimating.profile.halves import find_halves
from estimating.profile.svg import read_svg
from estimating.profile.table import read_table
from estimating.quantities import Unit
from estimating.shape.curves import CurvePoint

MOST_BYTES = 5_000_000

Kind = Literal["svg", "dxf", "csv"]

_ENDINGS: dict[str, Kind] = {"svg": "svg", "dxf": "dxf", "csv": "csv", "txt": "csv", "tsv": "csv"}
_CALLED = {"svg": "an SVG drawing", "dxf": "a DXF drawing", "csv": "a table of numbers"}


@dataclass(frozen=True, slots=True)
class Profile:
    """A curve to turn: points from the bottom up for the curve of `mixed_curve`, at most 200 a side, mm.

    `inner` is empty where the file shows no inside; else it ends at the rim's height, as a form needs it. `notes` are
    sentences that say what was decided in reading: the axis, the unit, what was thinned or passed over.
    """

    outer: tuple[CurvePoint, ...]
    inner: tuple[CurvePoint, ...] = ()
    notes: tuple[str, ...] = ()


def read_profile(data: bytes, name: str, *, unit: Unit = "mm") -> Profile:
    """The profile in a file, SVG, DXF or CSV by its content; a name that ends otherwise is refused.

    `unit` is that of a file which names none. How a drawing's axis, outside and inside are found: `find_halves`; its
    heights count from its lowest point. A table's heights stay as they are: `read_table`. The curve through the points
    lies within 0.05 mm of the drawn line, with corners where it turns by more than 5 degrees and at the ends of
    straight runs.
    Errors: InvalidInput at `file` (a table's rows: `file: row 7`) with what is wrong and what would mend it.
    """
    kind = _kind(data, name)
    if kind == "csv":
        outer, inner, notes = read_table(data, unit=unit)
        return Profile(outer, inner, tuple(notes))
    drawing = read_svg(data, unit=unit) if kind == "svg" else read_dxf(data, unit=unit)
    return Profile(*fit_halves(find_halves(drawing)))


def _kind(data: bytes, name: str) -> Kind:
    """What the file is, by content.

    Errors: InvalidInput where it is nothing known, or not what its name says.
    """
    if len(data) > MOST_BYTES:
        raise InvalidInput("file", f"is larger than {MOST_BYTES // 1_000_000} MB, more than a profile needs")
    if not data.strip():
        raise InvalidInput("file", "is empty")
    ending = name.rpartition(".")[2].lower() if "." in name else ""
    told = _ENDINGS.get(ending)
    found = _by_content(data)
    if found is None or (told is not None and told != found):
        claim = f'is called "{shown(name)}" but is not {_CALLED[told]}' if told else "is not a profile"
        raise InvalidInput("file", f"{claim}; give an SVG, DXF (as text) or CSV file")
    return found


def _by_content(data: bytes) -> Kind | None:
    start = data.removeprefix(b"\xef\xbb\xbf").lstrip()[:1000]
    if start.startswith(b"<") or start[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return "svg"
    if b"\0" in data:
        return None
    lines = start.split(b"\n")
    if lines[0].strip() == b"999" or (
        lines[0].strip() == b"0" and lines[1:2] and lines[1].strip() == b"SECTION"
    ):
        return "dxf"
    return "csv" if _looks_like_a_table(start) else None


def _looks_like_a_table(start: bytes) -> bool:
    """Whether the first bytes are text with a digit in them."""
    try:
        text = start[:-4].decode("utf-8", errors="ignore") if len(start) == 1000 else start.decode("utf-8")
    except UnicodeDecodeError:
        return False
    return any(c.isdigit() for c in text) and all(c.isprintable() or c in "\t\r\n" for c in text)
