"""The bench book: everything for the saw and the glue bench on paper, to be ticked off with a pencil."""

import base64
import datetime
import io
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from math import degrees
from typing import TYPE_CHECKING, Any

import pikepdf

from projects.models import SawingPlan, SawSetting, Studio
from projects.papers.bench_sheets import AngleWork, BenchSheets, bench_sheets
from projects.papers.printing import elements, print_paper
from projects.papers.sizes import paper_of

if TYPE_CHECKING:
    from estimating.estimate import Estimate
    from estimating.glue.assembly import GlueUp
    from estimating.piece import ShopSettings
    from estimating.shape.rings import Ring
    from estimating.wood.strips import SawnBoard

Batches = Sequence[tuple[AngleWork, SawSetting | None]]

FOLD, TEXT = 800.0, 13.0
"""mm of board in a row of a diagram, and its figures' height: about 7 points on paper."""

_UNDATED = datetime.datetime(2000, 1, 1, tzinfo=datetime.UTC)


@dataclass(frozen=True, slots=True)
class RingRow:
    """A ring as it is glued: its number, pieces of each wood, and how it is laid out."""

    ring: "Ring"
    woods: str


@dataclass(frozen=True, slots=True)
class LayerRun:
    """Neighbouring layers alike: of one ring, thickness and turn, in degrees from the layer below to each."""

    layers: tuple[int, ...]
    ring: "Ring"
    thickness: float
    turn_deg: float


@dataclass(frozen=True, slots=True)
class GlueStep:
    """One glue-up with the rings that it closes, the layers that it stacks, or the layer that it sets on another."""

    up: "GlueUp"
    rings: tuple[RingRow, ...]
    layers: tuple[LayerRun, ...]
    turn: LayerRun | None


def book_sheets(estimate: "Estimate", *, studio: Studio) -> BenchSheets:
    """The saw's work drawn for paper."""
    return bench_sheets(estimate, studio=studio, fold=FOLD, text=TEXT)


def write_bench_book(
    estimate: "Estimate",
    *,
    sheets: BenchSheets,
    batches: Batches,
    drawing: str,
    studio: Studio,
    kept: Sequence[SawingPlan] = (),
) -> bytes:
    """The bench book as a tagged PDF on the studio's paper; the same bytes each time.

    Shape: `sheets` as `book_sheets` gives them, `batches` its angles each with the setting last proven for it, or None;
    `drawing` the piece's as SVG; `kept` the plans of several commissions that hold boards for this one.
    """
    paper = paper_of(unit=studio.length_unit, currency=studio.currency)
    context = {
        "paper": paper,
        "title": estimate.sheet.title,
        "estimate": estimate,
        "drawing": _data(drawing),
        "kept": kept,
        **saw_part(sheets, batches, shop=estimate.sheet.shop, studio=studio),
        "steps": list(_steps(estimate)),
    }
    printed = print_paper("papers/bench_book.html", context, style="bench_book.css", made_at=_UNDATED)
    return with_column_heads(printed)


def saw_part(
    sheets: BenchSheets, batches: Batches, *, shop: "ShopSettings", studio: Studio
) -> dict[str, Any]:
    """What the pages of the saw's work are printed from."""
    return {
        "studio": studio,
        "unit": studio.length_unit,
        "shop": shop,
        "sheets": sheets,
        "work": sheets.work,
        "batches": batches,
        "boards": [(board, _data(_readable(board.svg))) for board in sheets.boards],
        "ready": list(_ready(sheets)),
    }


def _data(svg: str) -> str:
    return base64.b64encode(svg.encode()).decode()


def _readable(svg: str) -> str:
    """A drawing by itself has no ink to inherit."""
    return svg.replace("<svg ", '<svg color="#1f1c19" ', 1)


@dataclass(frozen=True, slots=True)
class Ready:
    """Boards of one size to have ready: how many, of which wood, and which numbers they have in the book."""

    board: "SawnBoard"
    wood: str
    numbers: tuple[int, ...]


def _ready(sheets: BenchSheets) -> Iterator[Ready]:
    alike: dict[tuple[Any, ...], list[int]] = {}
    kinds = {}
    for sheet in sheets.boards:
        board = sheet.work.board
        size = (board.wood, board.length, board.width, board.thickness, board.buy, board.ref, board.surface)
        alike.setdefault(size, []).append(sheet.work.number)
        kinds[size] = sheet
    for size, numbers in alike.items():
        yield Ready(kinds[size].work.board, kinds[size].wood, tuple(numbers))


def _steps(estimate: "Estimate") -> Iterator[GlueStep]:
    rings = {ring.number: ring for ring in estimate.rings}
    names = {key: wood.name for key, wood in estimate.workshop.woods.items()}
    layers = {run.layers[0]: run for run in _layers(estimate)}
    for up in estimate.glue_ups:
        joined = up.kind == "join"
        yield GlueStep(
            up,
            rings=tuple(RingRow(rings[number], _woods(rings[number], names)) for number in up.rings),
            layers=_runs([layers[layer] for layer in up.layers]) if up.kind == "stack" else (),
            # A part set on another stands at an angle of its own.
            turn=layers[up.layers[-1]] if joined and layers[up.layers[-1]].turn_deg else None,
        )


def _runs(layers: Sequence[LayerRun]) -> tuple[LayerRun, ...]:
    """Layers that are alike put together."""
    runs: list[LayerRun] = []
    for layer in layers:
        if runs and replace(runs[-1], layers=layer.layers) == layer:
            runs[-1] = replace(layer, layers=runs[-1].layers + layer.layers)
        else:
            runs.append(layer)
    return tuple(runs)


def _woods(ring: "Ring", names: dict[str, str]) -> str:
    """Pieces of each wood; where they go round in a short run, that run."""
    counts = Counter(ring.pattern)
    said = ", ".join(f"{count} {names.get(key, key)}" for key, count in counts.items())
    run = next(
        length
        for length in range(1, ring.segments + 1)
        if ring.segments % length == 0 and ring.pattern == ring.pattern[:length] * (ring.segments // length)
    )
    if 1 < run <= 6:
        said += f", round as {' · '.join(names.get(key, key) for key in ring.pattern[:run])}"
    return said


def _layers(estimate: "Estimate") -> Iterator[LayerRun]:
    for shape in estimate.shapes:
        stack = shape.stack
        for index in range(len(stack)):
            layer = shape.number(index)
            turn = float(stack.angle[index] - stack.angle[index - 1]) if index else 0.0
            # Rounded, so that the sums of turns do not part layers that are alike.
            yield LayerRun(
                (layer,), shape.ring(layer), float(stack.thickness[index]), round(degrees(turn), 6)
            )


def with_column_heads(printed: bytes) -> bytes:
    """Headers in the head of a table head its columns; all others head a row."""
    with pikepdf.open(io.BytesIO(printed)) as pdf:
        for head in elements(pdf.Root.StructTreeRoot.K, "/THead"):
            for header in elements(head, "/TH"):
                if "/A" not in header:
                    header["/A"] = pikepdf.Dictionary()
                header["/A"]["/O"], header["/A"]["/Scope"] = pikepdf.Name.Table, pikepdf.Name.Column
        out = io.BytesIO()
        pdf.save(out, deterministic_id=True)
    return out.getvalue()
