"""The bench book of a sawing plan for several commissions: the saw's work, each fence and stop set once for all."""

import datetime
from collections.abc import Sequence
from typing import TYPE_CHECKING

from projects.models import Studio
from projects.papers.bench_book import FOLD, TEXT, Batches, saw_part, with_column_heads
from projects.papers.bench_sheets import BenchSheets, Sawn, sheets_of
from projects.papers.job_rings import JobRings
from projects.papers.printing import print_paper
from projects.papers.sizes import paper_of

if TYPE_CHECKING:
    from estimating.piece import ShopSettings

_UNDATED = datetime.datetime(2000, 1, 1, tzinfo=datetime.UTC)


def saw_book_sheets(sawn: Sawn, *, studio: Studio) -> BenchSheets:
    """The saw's work drawn for paper. Errors: ValueError for a plan made for other needs."""
    return sheets_of(sawn, studio=studio, fold=FOLD, text=TEXT)


def write_saw_book(
    title: str,
    *,
    sheets: BenchSheets,
    batches: Batches,
    rings: Sequence[JobRings],
    shop: "ShopSettings",
    studio: Studio,
    changes: Sequence[str] = (),
) -> bytes:
    """The saw's work as a tagged PDF on the studio's paper; the same bytes each time.

    Shape: `sheets` as `saw_book_sheets` gives them, `batches` its angles each with the setting last proven for it, or
    None; `changes` say what is no longer as the plan was made from.
    """
    context = {
        "paper": paper_of(unit=studio.length_unit, currency=studio.currency),
        "title": title,
        "rings": rings,
        "changes": changes,
        **saw_part(sheets, batches, shop=shop, studio=studio),
    }
    return with_column_heads(
        print_paper("papers/saw_book.html", context, style="bench_book.css", made_at=_UNDATED)
    )
