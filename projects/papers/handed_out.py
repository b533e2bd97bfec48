"""A paper handed out beside the quote, printed from its frozen row alone: confirmation, requests, delivery, credit."""

from projects.models import IssuedPaper
from projects.papers.bench_book import with_column_heads
from projects.papers.paper_rows import Copy, paper_context
from projects.papers.printing import print_paper


def paper_pdf(paper: IssuedPaper, *, copy: Copy) -> bytes:
    """One copy of a paper, from its number, dates and content; the same bytes each time.

    A client's copy says nothing of how a price is shared, nor what the pieces are insured for.
    """
    printed = print_paper(
        "papers/paper.html", paper_context(paper, copy=copy), style="paper.css", made_at=paper.issued_at
    )
    return with_column_heads(printed)
