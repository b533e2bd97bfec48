"""The full-size paper, measured in its own coordinates: check lines, a ring's flats, joins of sheets, and its tags."""

import io
import re
from collections.abc import Iterator
from dataclasses import dataclass
from math import isclose
from typing import Any

import pikepdf
import pypdf
import pytest

from estimating.errors import InvalidInput
from estimating.estimate import Estimate, estimate
from estimating.picture.full_size import Clamping, FullSize
from estimating.sheet import read_sheet
from projects.papers.fullsize import write_full_size
from projects.papers.sizes import paper_of
from tests.estimating.sheets import bowl

POINT_MM = 25.4 / 72  # ISO 32000-1, 8.3.2.3: a unit of user space is 1/72 inch.
TENTH = 0.1
PAPERS = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
Matrix = tuple[float, float, float, float, float, float]
Point = tuple[float, float]


@dataclass(frozen=True)
class Path:
    """One painted path: its points in mm from the page's upper left corner, and whether it is filled."""

    points: tuple[Point, ...]
    filled: bool

    @property
    def spans(self) -> tuple[float, float, float, float]:
        """Left, upper, right and lower, mm."""
        xs, ys = zip(*self.points, strict=True)
        return min(xs), min(ys), max(xs), max(ys)


def times(inner: Matrix, outer: Matrix) -> Matrix:
    a, b, c, d, e, f = inner
    g, h, i, j, k, m = outer
    return (
        *(a * g + b * i, a * h + b * j, c * g + d * i, c * h + d * j),
        *(e * g + f * i + k, e * h + f * j + m),
    )


class Reader:
    """Gathers painted paths from content streams and the forms they call: ISO 32000-1, 8.4, 8.5 and 8.10."""

    def __init__(self, height: float) -> None:
        self.height, self.paths = height, list[Path]()
        self._points: list[Point] = []
        self._last = ""

    def read(self, stream: Any, resources: Any, matrix: Matrix) -> None:
        kept: list[Matrix] = []
        for operands, operator in pikepdf.parse_content_stream(stream):
            match str(operator):
                case "q":
                    kept.append(matrix)
                case "Q":
                    matrix = kept.pop()
                case "cm":
                    matrix = times(tuple(map(float, operands)), matrix)  # type: ignore[arg-type]
                case "Do":
                    self._form(resources.XObject[operands[0]], resources, matrix)
                case other:
                    self._drawn(
                        other, [float(value) for value in operands] if other in _BUILD else [], matrix
                    )

    def _form(self, form: Any, resources: Any, matrix: Matrix) -> None:
        if form.Subtype == "/Form":
            own = tuple(map(float, form.get("/Matrix", [1, 0, 0, 1, 0, 0])))
            self.read(form, form.get("/Resources", resources), times(own, matrix))  # type: ignore[arg-type]

    def _drawn(self, operator: str, values: list[float], matrix: Matrix) -> None:
        if operator == "re":
            x, y, w, h = values
            values = [x, y, x + w, y, x + w, y + h, x, y + h]
        if operator == "m" == self._last:
            self._points.pop()  # a second one in a row stands in place of the first
        self._last = operator
        if operator in _BUILD:
            a, b, c, d, e, f = matrix
            for x, y in zip(values[::2], values[1::2], strict=True):
                right, up = a * x + c * y + e, b * x + d * y + f
                self._points.append((right * POINT_MM, self.height - up * POINT_MM))
        elif operator in _PAINT:
            if self._points:
                self.paths.append(Path(tuple(self._points), operator not in "Ss"))
            self._points = []
        elif operator == "n":
            self._points = []


_BUILD = frozenset({"m", "l", "c", "re"})
_PAINT = frozenset({"S", "s", "f", "f*", "B", "B*", "b", "b*"})


def pages(paper: bytes) -> list[list[Path]]:
    """The paths of every page; of a curve the points that steer it, which for a quarter circle keep within its box."""
    found = []
    with pikepdf.open(io.BytesIO(paper)) as pdf:
        for page in pdf.pages:
            reader = Reader(float(page.mediabox[3]) * POINT_MM)
            reader.read(page, page.Resources, (1, 0, 0, 1, 0, 0))
            found.append(reader.paths)
    return found


def straight(paths: list[Path]) -> Iterator[tuple[Point, Point]]:
    """Strokes from one point to another."""
    for path in paths:
        if len(path.points) == 2 and not path.filled:
            yield path.points[0], path.points[1]


def segments_of(paths: list[Path]) -> list[Path]:
    """Filled figures of four corners, as large as a segment."""
    return [
        path for path in paths if path.filled and len(path.points) == 4 and path.spans[2] - path.spans[0] > 15
    ]


def same(*values: float) -> bool:
    return max(values) - min(values) < 0.001


def cylinder(*, diameter: float, segments: int = 12) -> dict[str, Any]:
    """A straight-sided vessel with 3 mm allowed outside: across its rings' flats it is 6 mm more than finished."""
    return bowl(
        usual_board={"length": 5000, "width": 2500},
        form={
            "outer": [[0, diameter / 2], [40, diameter / 2]],
            "curve": "straight",
            "inside": {"kind": "wall", "wall": 9, "floor": 10},
        },
        bands=[
            {"name": "foot", "layers": 1, "thickness": 10, "segments": segments, "woods": ["walnut"],
             "offset": 0, "gap": 0, "made": "cut"},
            {"name": "side", "layers": 3, "thickness": 10, "segments": segments, "woods": ["maple"],
             "offset": 0.5, "gap": 0, "made": "cut"},
        ],
    )  # fmt: skip


def estimated(sheet: dict[str, Any]) -> Estimate:
    return estimate(read_sheet(sheet))


def written(sheet: dict[str, Any], *, paper: str = "a4", unit: str = "mm", **options: Any) -> bytes:
    of = estimated(sheet)
    colours = {key: wood.colour for key, wood in of.workshop.woods.items()}
    return write_full_size(
        of,
        colours=colours,
        unit=unit,  # type: ignore[arg-type]
        paper=paper,  # type: ignore[arg-type]
        options=FullSize(**options),
        studio="Fern Gully Turning",
    )


@pytest.fixture(scope="module", params=["a4", "letter"])
def everything(request: Any) -> tuple[str, bytes]:
    """Every kind of drawing of a piece larger than a sheet, on each paper."""
    paper = str(request.param)
    jig = {"jig_discs": (60.0, 80.0), "clamping": Clamping(pins=6, pin_diameter=6, clamp_width=20)}
    return paper, written(cylinder(diameter=300), paper=paper, mandrel=12.0, **jig)


def test_every_page_is_the_paper_it_is_called(everything: tuple[str, bytes]) -> None:
    paper, pdf = everything
    for page in pypdf.PdfReader(io.BytesIO(pdf)).pages:
        size = (float(page.mediabox.width) * POINT_MM, float(page.mediabox.height) * POINT_MM)
        assert size == pytest.approx(PAPERS[paper], abs=TENTH)


def test_every_page_has_a_line_of_100_mm_and_one_of_4_inches_to_measure(
    everything: tuple[str, bytes],
) -> None:
    paper, pdf = everything
    width, height = PAPERS[paper]
    for number, paths in enumerate(pages(pdf), 1):
        level = [b[0] - a[0] for a, b in straight(paths) if same(a[1], b[1]) and a[1] > height - 30]
        upright = [b[1] - a[1] for a, b in straight(paths) if same(a[0], b[0]) and a[0] > width - 15]
        assert [length for length in level if isclose(length, 100, abs_tol=TENTH)], number
        assert [length for length in upright if isclose(length, 4 * 25.4, abs_tol=TENTH)], number


def test_every_page_says_to_print_at_its_own_size_and_to_measure_first(everything: tuple[str, bytes]) -> None:
    reader = pypdf.PdfReader(io.BytesIO(everything[1]))
    for place, page in enumerate(reader.pages, 1):
        text = " ".join(page.extract_text().split())
        assert "Print at 100 %, no scaling; measure the line before use" in text
        assert f"page {place} of {len(reader.pages)}" in text


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_a_ring_of_126_across_its_flats_measures_126_on_the_page(paper: str) -> None:
    # 120 finished and 3 allowed on either side. Twelve flats: two lie level, above and below the axis.
    pdf = written(
        cylinder(diameter=120), paper=paper, section=False, segments=False, disc=False, ring_numbers=(2,)
    )
    for paths in pages(pdf):
        segments = segments_of(paths)
        assert len(segments) == 12
        upper = min(path.spans[1] for path in segments)
        lower = max(path.spans[3] for path in segments)
        assert lower - upper == pytest.approx(126, abs=TENTH)


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_the_section_is_as_wide_and_as_high_on_the_page_as_the_piece(paper: str) -> None:
    pdf = written(cylinder(diameter=120), paper=paper, rings=False, segments=False, disc=False)
    (paths,) = pages(pdf)
    # The wood of each layer in the cut, filled; the small and narrow fills are glue lines and words' ground.
    cuts = [path.spans for path in paths if path.filled and path.spans[3] - path.spans[1] > 5]
    assert max(cut[2] for cut in cuts) - min(cut[0] for cut in cuts) == pytest.approx(120, abs=TENTH)
    assert max(cut[3] for cut in cuts) - min(cut[1] for cut in cuts) == pytest.approx(40, abs=TENTH)


def crosses(paths: list[Path]) -> list[Point]:
    """Centres of the crop marks: the one path that is made of four times two strokes of 10 mm."""
    for path in paths:
        if len(path.points) == 16 and not path.filled:
            pairs = [path.points[at : at + 4] for at in range(0, 16, 4)]
            return sorted((four[2][0], four[0][1]) for four in pairs)
    raise AssertionError("a sheet without crop marks")


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_laid_cross_on_cross_neighbouring_sheets_show_the_drawing_in_one_place(paper: str) -> None:
    pdf = written(
        cylinder(diameter=300), paper=paper, section=False, segments=False, disc=False, ring_numbers=(2,)
    )
    sheets = pages(pdf)
    names = [
        re.search(r"Sheet (\w+ of \d+)", page.extract_text())[1]  # type: ignore[index]
        for page in pypdf.PdfReader(io.BytesIO(pdf)).pages
    ]
    assert names == [f"{name} of 4" for name in ("A1", "A2", "B1", "B2")]
    marks = [crosses(paths) for paths in sheets]
    # Segments, not the small grounds that neighbours' names stand on.
    corners = [[point for path in segments_of(paths) for point in path.points] for paths in sheets]
    assert [len(points) for points in corners] == [48] * 4
    # The upper left cross of the sheet to the right lies on the upper right one of this; likewise below.
    for sheet, on, of in ((1, 0, 2), (3, 0, 2), (2, 0, 1), (3, 0, 1)):
        here = {1: 0, 2: 0, 3: 2 if (on, of) == (0, 2) else 1}[sheet]
        step = [marks[here][of][axis] - marks[sheet][on][axis] for axis in (0, 1)]
        assert max(map(abs, step)) > 150
        for (x, y), (u, v) in zip(corners[here], corners[sheet], strict=True):
            assert (x - u, y - v) == pytest.approx(step, abs=0.01)


def test_neighbouring_sheets_share_ten_millimetres() -> None:
    pdf = written(cylinder(diameter=300), section=False, segments=False, disc=False, ring_numbers=(2,))
    left, right = (crosses(paths) for paths in pages(pdf)[:2])
    # Each cross stands in the middle of the overlap, five millimetres from the edge of what the sheet shows.
    inner_edge = max(x for x, _ in left) + 5
    assert inner_edge - 210 + 10 + 9 == pytest.approx(0, abs=TENTH)
    assert min(x for x, _ in right) - 5 == pytest.approx(10, abs=TENTH)


def test_holes_of_the_jig_are_as_large_and_as_far_apart_on_the_page_as_asked() -> None:
    # Six pins of 6 mm round 94 mm stand 50 mm from the centre and so 50 mm from each other.
    pdf = written(
        cylinder(diameter=120), section=False, rings=False, segments=False, disc=False,
        jig_discs=(94.0,), clamping=Clamping(pins=6, pin_diameter=6, clamp_width=20),
    )  # fmt: skip
    (paths,) = pages(pdf)
    round_ones = [
        path.spans for path in paths
        if isclose(path.spans[2] - path.spans[0], path.spans[3] - path.spans[1], abs_tol=0.02)
    ]  # fmt: skip
    holes = [(s[0] + 3, s[1] + 3) for s in round_ones if isclose(s[2] - s[0], 6, abs_tol=0.05)]
    edge = [s for s in round_ones if isclose(s[2] - s[0], 94, abs_tol=0.05)]
    assert len(edge) == 1
    assert len(holes) == 6
    for x, y in holes:
        near = sorted(((x - u) ** 2 + (y - v) ** 2) ** 0.5 for u, v in holes)
        assert near[1:3] == pytest.approx([50, 50], abs=TENTH)


def test_the_paper_is_tagged_titled_and_describes_every_drawing(everything: tuple[str, bytes]) -> None:
    with pikepdf.open(io.BytesIO(everything[1])) as pdf:
        assert pdf.Root.MarkInfo.Marked
        assert pdf.Root.Lang == "en"
        with pdf.open_metadata() as metadata:
            assert metadata["pdfuaid:part"] == "1"
            assert metadata["dc:title"] == "Small bowl: drawings at full size"
        figures = [
            thing
            for thing in pdf.objects
            if isinstance(thing, pikepdf.Dictionary) and thing.get("/S") == "/Figure"
        ]
        assert len(figures) == len(pdf.pages)
        assert all(len(str(figure.Alt)) > 40 for figure in figures)
        fonts = [
            thing
            for thing in pdf.objects
            if isinstance(thing, pikepdf.Dictionary) and thing.get("/Type") == "/FontDescriptor"
        ]
        assert fonts
        assert all("/FontFile2" in font or "/FontFile3" in font for font in fonts)


def test_the_same_piece_gives_the_same_bytes() -> None:
    sheet = cylinder(diameter=120)
    assert written(sheet, disc=False) == written(sheet, disc=False)


def test_a_title_with_markup_is_printed_as_it_is_written() -> None:
    pdf = written(
        {**cylinder(diameter=120), "title": "<b>Bowl & lid</b>"}, rings=False, segments=False, disc=False
    )
    assert "<b>Bowl & lid</b>" in pypdf.PdfReader(io.BytesIO(pdf)).pages[0].extract_text()


@pytest.mark.parametrize(
    ("options", "place", "words"),
    [
        ({"ring_numbers": (9,)}, "ring_numbers", "there is no ring 9; the rings are 1 to 4"),
        (
            {"section": False, "rings": False, "segments": False, "disc": False},
            "wanted",
            "at least one drawing",
        ),
        ({"jig_discs": (20.0,)}, "pins", "pins|clamp"),
    ],
)
def test_what_cannot_be_drawn_is_refused_at_its_option(
    options: dict[str, Any], place: str, words: str
) -> None:
    with pytest.raises(InvalidInput, match=words) as refused:
        written(cylinder(diameter=120), **options)
    assert refused.value.place in (place, "clamp_width")


def test_a_piece_that_would_take_a_ream_is_refused() -> None:
    with pytest.raises(InvalidInput, match="sheets"):
        written(cylinder(diameter=4000, segments=60), segments=False, disc=False)


def test_inches_and_their_currencies_write_on_letter() -> None:
    assert [paper_of(unit="mm", currency="EUR"), paper_of(unit="in", currency="EUR")] == ["a4", "letter"]
    assert paper_of(unit="mm", currency="USD") == "letter"
