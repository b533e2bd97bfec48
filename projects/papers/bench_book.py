"""The bench book: everything for the saw and the glue bench on paper, to be ticked off with a pencil."""

import base64
import datetime
import io
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import pikepdf

from projects.models import SawingPlan, SawSetting, Studio
from projects.papers.bench_sheets import AngleWork, BenchSheets, bench_sheets
from projects.papers.glue_cards import CardShown, cards_shown
from projects.papers.printing import elements, print_paper
from projects.papers.sizes import paper_of

if TYPE_CHECKING:
    from estimating.estimate import Estimate
    from estimating.piece import ShopSettings
    from estimating.wood.strips import SawnBoard

Batches = Sequence[tuple[AngleWork, SawSetting | None]]
Lots = Mapping[tuple[int, tuple[int, ...]], Sequence[str]]
"""Words by the number of a glue-up and its layers."""

FOLD, TEXT = 800.0, 13.0
"""mm of board in a row of a diagram, and its figures' height: about 7 points on paper."""

_UNDATED = datetime.datetime(2000, 1, 1, tzinfo=datetime.UTC)


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
    lots: Lots | None = None,
) -> bytes:
    """The bench book as a tagged PDF on the studio's paper; the same bytes each time.

    Shape: `sheets` as `book_sheets` gives them, `batches` its angles each with the setting last proven for it, or None;
    `drawing` the piece's as SVG; `kept` the plans of several commissions that hold boards for this one; `lots` those of
    adhesive that were kept, in words by glue-up: a card without any has a line to write them on.
    """
    paper = paper_of(unit=studio.length_unit, currency=studio.currency)
    context = {
        "paper": paper,
        "title": estimate.sheet.title,
        "estimate": estimate,
        "drawing": _data(drawing),
        "kept": kept,
        **saw_part(sheets, batches, shop=estimate.sheet.shop, studio=studio),
        "cards": list(_cards(estimate, lots or {}, studio)),
    }
    printed = print_paper("papers/bench_book.html", context, style="bench_book.css", made_at=_UNDATED)
    return with_column_heads(printed)


def _cards(
    estimate: "Estimate", lots: Lots, studio: Studio
) -> Iterator[tuple[CardShown, str, Sequence[str]]]:
    for card, shown in zip(estimate.cards, cards_shown(estimate, studio=studio), strict=True):
        glue_up = card.glue_up
        kept = lots.get((glue_up.number, tuple(glue_up.layers)), ())
        yield shown, _data(_readable(shown.drawing)), kept


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
