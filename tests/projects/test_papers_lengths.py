"""Terms of any length: every word is printed, within the margins, and no paragraph leaves one line behind."""

import io
import re
from collections import defaultdict
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from typing import Any

import pypdf
import pytest

from projects.models import IssuedPaper
from projects.papers.handed_out import paper_pdf
from projects.papers.quote import quote_pdf
from projects.services.paper_content import confirmation
from projects.services.paper_order import order_of
from projects.services.papers import paper_row
from tests.projects.agreed_orders import DAY, accepted_order
from tests.projects.frozen import BOWL, BOWL_BANDS, frozen_quote

LENGTHS = [(1, 4), (9, 40), (13, 60), (16, 117), (40, 55), (1, 2600)]
"""Clauses, and words in each: from a line to several pages, with a paragraph longer than a page."""

MARGIN, LEAST_APART = 28, 7.5
"""Points: the foot stands 11 mm above the edge, all else further in; small type needs as much from line to line."""


@dataclass(frozen=True)
class Line:
    """A line of text as it stands: page, points from the left and from below, and what it says."""

    page: int
    x: float
    y: float
    text: str


def lines_of(paper: bytes) -> tuple[list[Line], list[tuple[float, float]]]:
    """Every line of a paper, and the size of each page in points."""
    found: list[Line] = []
    sizes = []
    for number, page in enumerate(pypdf.PdfReader(io.BytesIO(paper)).pages):
        runs: dict[tuple[int, float], list[tuple[float, str]]] = defaultdict(list)
        wide, tall = float(page.mediabox.width), float(page.mediabox.height)

        def take(text: str, cm: Any, tm: Any, *_: Any, runs: Any = runs, wide: float = wide) -> None:
            if text.strip():
                x, y = tm[4] * cm[0] + cm[4], tm[5] * cm[3] + cm[5]
                runs[(int(x > wide / 2), round(y, 1))].append((x, text))

        page.extract_text(visitor_text=take)
        sizes.append((wide, tall))
        for (_, y), parts in runs.items():
            found.append(
                Line(number, min(x for x, _ in parts), y, "".join(text for _, text in sorted(parts)))
            )
    return found, sizes


@cache
def worded(clauses: int, words: int) -> str:
    """Terms in which each word says which clause it is of and which of its words."""
    return "\n\n".join(
        f"Head {clause}. " + " ".join(f"c{clause}w{word}" for word in range(words)) + "."
        for clause in range(clauses)
    )


def check(paper: bytes, clauses: int, words: int) -> None:
    lines, sizes = lines_of(paper)
    stands: dict[int, dict[tuple[int, bool], set[float]]] = defaultdict(lambda: defaultdict(set))
    seen: list[str] = []
    for line in lines:
        wide, tall = sizes[line.page]
        assert MARGIN <= line.x <= wide - MARGIN, line
        assert MARGIN <= line.y <= tall - MARGIN, line
        for clause, word in re.findall(r"c(\d+)w(\d+)", line.text):
            stands[int(clause)][(line.page, line.x > wide / 2)].add(line.y)
            seen.append(f"c{clause}w{word}")
    wanted = [f"c{clause}w{word}" for clause in range(clauses) for word in range(words)]
    assert sorted(seen) == sorted(wanted)
    for clause, parts in stands.items():
        if len(parts) > 1:
            assert min(len(ys) for ys in parts.values()) >= 2, (clause, parts)
    columns: dict[tuple[int, bool], list[float]] = defaultdict(list)
    for parts in stands.values():
        for place, ys in parts.items():
            columns[place] += ys
    for place, ys in columns.items():
        ordered = sorted(set(ys))
        apart = [above - below for below, above in pairwise(ordered)]
        assert not apart or min(apart) >= LEAST_APART, place
    heading = next(line for line in lines if line.text.startswith("Agreed between us"))
    assert any(page == heading.page for parts in stands.values() for page, _ in parts), "a heading by itself"


def without_words(drawing: str) -> str:
    """A drawing of the same size whose figures, which stand where the drawing says, are left out."""
    return re.sub(r"<text.*?</text>", "", drawing, flags=re.DOTALL)


@pytest.mark.parametrize(("clauses", "words"), LENGTHS)
def test_a_quote_takes_terms_of_any_length(clauses: int, words: int) -> None:
    terms = worded(clauses, words)
    letter = frozen_quote(form=BOWL, bands=BOWL_BANDS, terms=terms, letterhead={"length_unit": "in"})
    letter.drawing = without_words(letter.drawing)
    check(quote_pdf(letter, copy="trade"), clauses, words)


@pytest.mark.django_db
@pytest.mark.parametrize(("clauses", "words"), LENGTHS[1::2])
def test_a_confirmation_takes_terms_of_any_length(studio: Any, clauses: int, words: int) -> None:
    studio.currency = "EUR"
    studio.save()
    commission = accepted_order(studio, terms=worded(clauses, words))
    order = order_of(commission)
    order.chosen.drawing = without_words(order.chosen.drawing)
    draft = confirmation(order, today=DAY)
    paper = paper_row(draft, commission=commission, number="C-2027-001", today=DAY)
    assert isinstance(paper, IssuedPaper)
    check(paper_pdf(paper, copy="client"), clauses, words)
