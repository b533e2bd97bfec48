"""Frozen quotes to print, made through the arithmetic as issuing makes them, without a database."""

import datetime
import io
from functools import cache
from typing import Any

import pypdf

from estimating.answer import as_json
from estimating.estimate import estimate
from estimating.picture.drawing import draw_piece
from estimating.picture.subject import subjects_of
from estimating.sheet import read_sheet
from estimating.wood.species import published_species
from projects.models import Quote
from projects.papers.quote import Copy, quote_pdf

VASE = {
    "outer": [[0, 40], [50, 70], [110, 40], [120, 46]],
    "curve": "smooth",
    "inside": {"kind": "wall", "wall": 6, "floor": 10},
}
VASE_BANDS = [
    {"name": "foot", "layers": 2, "thickness": 6, "segments": 12, "woods": ["walnut"], "offset": 0.5},
    {
        "name": "body",
        "layers": 10,
        "thickness": 10.8,
        "segments": 24,
        "woods": ["maple", "cherry"],
        "offset": 0.5,
    },
]
BOWL = {
    "outer": [[0, 50], [60, 120]],
    "inside": {"kind": "wall", "wall": 8, "floor": 10},
}
BOWL_BANDS = [
    {"name": "all", "layers": 5, "thickness": 12, "segments": 16, "woods": ["cherry"], "offset": 0.5}
]
PRICING = {
    "currency": "USD",
    "labour_rate": "41.00",
    "margin": 0.17,
    "gallery_share": 0.45,
    "tax": 0.0825,
    "tax_inclusive": False,
    "deposit_share": 0.4,
    "overhead_rate": "3.10",
    "failure_share": 0.05,
    "consumables": "13.70",
}
LETTERHEAD = {
    "name": "Quillon Bay Turning",
    "tagline": "Rings of wood, turned",
    "address": "4 Boatshed Lane\nQuillon Bay",
    "email": "hello@quillonbay.example",
    "phone": "555 0199",
    "web": "quillonbay.example",
    "tax_number": "QB-77",
    "currency": "USD",
    "length_unit": "mm",
    "inch_style": "fraction",
    "letterhead_note": "Signed and numbered.",
    "tax_name": "Sales tax",
}
ADDRESSEE = {
    "kind": "gallery",
    "name": "Sill and Sash Gallery",
    "contact": "Perpetua Lorn",
    "address": "2 Sash Street\nOver Sill",
    "email": "",
    "phone": "",
}
ISSUED_AT = datetime.datetime(2027, 3, 3, 15, 30, tzinfo=datetime.UTC)


def frozen_quote(
    *,
    form: dict[str, Any] = VASE,
    bands: list[dict[str, Any]] = VASE_BANDS,
    title: str = "Tall vase for the stair",
    quantity: int = 1,
    pricing: dict[str, Any] | None = None,
    letterhead: dict[str, Any] | None = None,
    addressee: dict[str, Any] | None = None,
    **values: Any,
) -> Quote:
    """A quote as it stands when its papers are printed; never saved."""
    data = {"title": title, "unit": "mm", "quantity": quantity, "form": form, "bands": bands}
    data["pricing"] = PRICING | (pricing or {})
    head = LETTERHEAD | {"currency": data["pricing"]["currency"]} | (letterhead or {})
    sheet = read_sheet(data)
    made = estimate(sheet)
    species = published_species()
    drawing = draw_piece(
        subjects=subjects_of(
            made.shapes, colours={key: wood.colour for key, wood in species.items()}, shop=sheet.shop
        ),
        title=title,
        unit=head["length_unit"],
        with_bands=False,
        with_blanks=False,
    )
    woods = sorted(made.wood)
    kept: dict[str, Any] = {
        "state": "issued",
        "number": "2027-014",
        "revision": "B",
        "issued_at": ISSUED_AT,
        "valid_until": datetime.date(2027, 4, 2),
        "lead_time": "7 to 9 weeks from the deposit",
        "message": "As we said on the phone.",
        "terms": "",
        "care": "",
        "title": title,
        "sheet": data,
        "estimate": as_json(made),
        "drawing": drawing,
        "letterhead": head,
        "addressee": ADDRESSEE | (addressee or {}),
        "finish": {"name": "Wiping varnish", "coats": 5},
        "species": [
            {"key": key, "name": species[key].name, "botanical": species[key].botanical} for key in woods
        ],
    }
    return Quote(**kept | values)


@cache
def usual() -> Quote:
    """The quote that most tests look at."""
    return frozen_quote()


@cache
def usual_paper(copy: Copy) -> bytes:
    """One of its copies; printed once, since that takes a second."""
    return quote_pdf(usual(), copy=copy)


def text_of(paper: bytes) -> str:
    """All text of a paper with every run of white space as one space."""
    pages = pypdf.PdfReader(io.BytesIO(paper)).pages
    return " ".join(" ".join(page.extract_text() for page in pages).split())


def pages_of(paper: bytes) -> list[str]:
    """The text of each page."""
    return [" ".join(page.extract_text().split()) for page in pypdf.PdfReader(io.BytesIO(paper)).pages]
