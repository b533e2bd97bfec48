"""A quote on paper, from what was frozen when it was issued: one copy for the client, one for the trade."""

import base64
import re
from decimal import Decimal
from typing import Any, Literal

from django.utils import timezone

from projects.models import Quote
from projects.papers import words
from projects.papers.between import between_lines
from projects.papers.clauses import protected_clauses, window
from projects.papers.offered import offered
from projects.papers.parties import client_lines, studio_lines, untaxed_because
from projects.papers.prices import prices
from projects.papers.printing import print_paper
from projects.papers.sizes import paper_of
from projects.papers.terms import STANDARD_CARE, STANDARD_TERMS, clauses

Copy = Literal["client", "trade"]

_WIDE = 1.25
_VIEW_BOX = re.compile(r'viewBox="[-\d.]+ [-\d.]+ ([\d.]+) ([\d.]+)"')


def quote_pdf(frozen: Quote, *, copy: Copy) -> bytes:
    """One copy, from the quote's frozen fields alone; the same bytes each time.

    What does not fit one page is set closer, and stays so where that saves a page.

    The client's has the retail price and nothing of how it is shared; the trade's adds the gallery's account.
    Neither has cost, margin or hours.
    """
    assert frozen.issued_at is not None, "a quote is printed once it is dated"
    return print_paper(
        "papers/quote.html", quote_context(frozen, copy=copy), style="quote.css", made_at=frozen.issued_at
    )


def quote_context(quote: Quote, *, copy: Copy) -> dict[str, Any]:
    """All that a copy says, in words and lines: what is printed, what the client's page shows and what is signed."""
    assert quote.issued_at is not None
    letterhead, pricing = quote.letterhead, quote.sheet["pricing"]
    return {
        "copy": copy,
        "paper": _paper(letterhead),
        "wide": _is_wide(quote.drawing),
        "quote": quote,
        "letterhead": letterhead,
        "contact": studio_lines(letterhead),
        "issued": words.day(timezone.localdate(quote.issued_at)),
        "valid_until": words.day(quote.valid_until) if quote.valid_until else "",
        "drawing": base64.b64encode(quote.drawing.encode()).decode() if quote.drawing else "",
        "alternative": _alternative(quote),
        "caption": _caption(letterhead),
        "summary": _summary(quote),
        "message": words.lines(quote.message),
        "facts": _facts(quote),
        "woods": quote.species,
        "prices": prices(
            quote.estimate,
            pricing,
            what=_what(quote, tax_inclusive=bool(pricing["tax_inclusive"])),
            tax_name=letterhead.get("tax_name") or "Tax",
        ),
        "addressee": client_lines(quote.addressee),
        "untaxed": untaxed_because(letterhead, quote.addressee),
        "currency": words.currency(
            quote.estimate["price"].get("currency") or pricing["currency"],
            timezone.localdate(quote.issued_at),
        ),
        "protected": protected_clauses(quote.species),
        "between": between_lines(quote.estimate, pricing, quote.addressee.get("delivery", {})),
        "options": offered(quote),
        "has_gallery": bool(Decimal(str(pricing["gallery_share"]))),
        "terms": clauses(quote.terms or STANDARD_TERMS),
        "care": clauses(quote.care or STANDARD_CARE),
    }


def _paper(letterhead: dict[str, Any]) -> str:
    return paper_of(unit=letterhead.get("length_unit", ""), currency=letterhead.get("currency", ""))


def _is_wide(drawing: str) -> bool:
    """Whether the drawing is so much wider than tall that it wants the whole width of the page."""
    box = _VIEW_BOX.search(drawing)
    return box is not None and float(box[1]) > _WIDE * float(box[2])


def _pieces(quote: Quote) -> str:
    """What is sold, as it is sold: quotes issued before there were sets sell each piece by itself."""
    sold = (quote.estimate.get("money") or {}).get("sold") or "each"
    return words.of_pieces(int(quote.estimate["quantity"]), sold=sold)


def _what(quote: Quote, *, tax_inclusive: bool) -> str:
    return f"{_pieces(quote)}, as drawn{', tax included' if tax_inclusive else ''}"


def _units(letterhead: dict[str, Any]) -> dict[str, str]:
    return {
        "unit": letterhead.get("length_unit", "mm"),
        "inches": letterhead.get("inch_style", "fraction"),
    }


def _counts(quote: Quote) -> tuple[int, int]:
    """Pieces of wood and layers in one piece: every layer has its ring's segments."""
    segments = {ring["number"]: ring["segments"] for ring in quote.estimate["rings"]}
    layers = quote.estimate["layers"]
    return sum(segments[layer["ring"]] for layer in layers), len(layers)


def _summary(quote: Quote) -> str:
    pieces, layers = _counts(quote)
    of_wood = words.counted(pieces, "piece", "pieces")
    built = f"built from {of_wood} of wood in {words.counted(layers, 'layer', 'layers')}"
    if int(quote.estimate["quantity"]) == 1:
        return f"{built.capitalize()}."
    return f"{_pieces(quote)} alike, each {words.kept_together(built)}."


def _facts(quote: Quote) -> list[tuple[str, list[str]]]:
    """Head and lines of each fact, those with nothing to say left out. Woods stand apart, for their italics."""
    form, units = quote.estimate["form"], _units(quote.letterhead)
    each = ", each" if int(quote.estimate["quantity"]) > 1 else ""
    facts = [
        ("Size", [words.size(form, **units)]),
        ("Weight", [words.mass(form["finished_g"], unit=units["unit"]) + each]),
        ("Woods", []),
        ("Finish", [_finish(quote.finish)]),
        ("Ready", [_ready(quote)]),
    ]
    return [(head, said) for head, said in facts if head == "Woods" or any(said)]


def _ready(quote: Quote) -> str:
    """The days agreed, else how long it usually takes."""
    agreed = window(quote.addressee.get("delivery", {}))
    return agreed[:1].upper() + agreed[1:] if agreed else quote.lead_time


def _finish(finish: dict[str, Any]) -> str:
    name, coats = finish.get("name", ""), int(finish.get("coats", 0))
    return f"{name}, {words.spelled(coats)} {'coat' if coats == 1 else 'coats'}" if name and coats else name


def _alternative(quote: Quote) -> str:
    """What the drawing shows, for those who cannot see it."""
    size = words.size(quote.estimate["form"], **_units(quote.letterhead))
    return (
        f"Drawing to scale of {quote.title}: left half as it will be turned, right half in section. {size}."
    )


def _caption(letterhead: dict[str, Any]) -> str:
    unit = "inches" if letterhead.get("length_unit") == "in" else "millimetres"
    return f"Left half as turned, right half in section. Dimensions in {unit}."
