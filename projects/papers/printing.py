"""From a template to a tagged PDF: fonts, style sheet, metadata, and the same bytes for the same paper."""

import datetime
import hashlib
import io
import re
from collections.abc import Iterator, Mapping
from typing import Any

import pikepdf
from django.template.loader import render_to_string
from weasyprint import CSS, HTML
from weasyprint.text.fonts import FontConfiguration

from projects.papers.fetching import STATIC, PaperFetcher

FONTS = STATIC / "node_modules" / "@fontsource"
FACES = (
    ("Source Serif 4", "source-serif-4", 400, "normal"),
    ("Source Serif 4", "source-serif-4", 600, "normal"),
    ("Source Sans 3", "source-sans-3", 400, "normal"),
    ("Source Sans 3", "source-sans-3", 400, "italic"),
    ("Source Sans 3", "source-sans-3", 600, "normal"),
)
SUBSETS = ("latin", "latin-ext")
_EXTENDED = re.compile("[\u0100-\u02ff\u1e00-\u1eff\u20a0-\u20ab\u20ad-\u20cf\u2113]")

_OPTIONS = {"pdf_variant": "pdf/ua-1", "pdf_tags": True}


def print_paper(
    template: str,
    context: Mapping[str, Any],
    *,
    style: str,
    made_at: datetime.datetime,
    may_close: bool = True,
) -> bytes:
    """Print a template as PDF/UA-1. `style` is a style sheet under static/papers; `made_at` stands in the file.

    What takes more than one page is laid out again with `close` true in its context, and kept where that saves one;
    not where `may_close` is false, since a long paper takes its time.
    The same template, context and time give the same bytes with the same fonts and libraries.
    """
    fonts = FontConfiguration()
    sheets: list[CSS] = []

    def laid_out(*, close: bool) -> tuple[str, Any]:
        made = {**context, "close": close, "made_at": made_at.isoformat(timespec="seconds")}
        html = render_to_string(template, made)
        sheets[:] = sheets or _style_sheets(style, fonts, text=html)
        source = HTML(string=html, base_url=f"{STATIC}/", url_fetcher=PaperFetcher())
        return html, source.render(stylesheets=sheets, font_config=fonts, **_OPTIONS)

    html, paper = laid_out(close=False)
    if may_close and len(paper.pages) > 1:
        closer_html, closer = laid_out(close=True)
        if len(closer.pages) < len(paper.pages):
            html, paper = closer_html, closer
    identifier = hashlib.sha256(html.encode()).digest()[:16]
    return _with_scopes(paper.write_pdf(pdf_identifier=identifier, **_OPTIONS))


def _style_sheets(style: str, fonts: FontConfiguration, *, text: str) -> list[CSS]:
    fetcher = PaperFetcher()
    return [
        CSS(string=_font_faces(text), base_url=f"{STATIC}/", url_fetcher=fetcher, font_config=fonts),
        CSS(filename=STATIC / "papers" / style, url_fetcher=fetcher, font_config=fonts),
    ]


def _font_faces(text: str) -> str:
    """The typefaces that are installed; without them the style sheet's generic families stand in.

    The extended subsets take their time to load, so they come in only where the text goes beyond the plain one.
    """
    subsets = SUBSETS if _EXTENDED.search(text) else SUBSETS[:1]
    return "".join(
        f'@font-face {{ font-family: "{family}"; font-weight: {weight}; font-style: {slant}; '
        f'src: url("{path.as_uri()}") format("woff2"); }}\n'
        for family, package, weight, slant in FACES
        for subset in subsets
        if (path := FONTS / package / "files" / f"{package}-{subset}-{weight}-{slant}.woff2").is_file()
    )


def _with_scopes(printed: bytes) -> bytes:
    """Mark every table header as a row's, which readers ask for and the printer leaves out.

    All headers on these papers head a row.
    """
    with pikepdf.open(io.BytesIO(printed)) as pdf:
        for header in elements(pdf.Root.StructTreeRoot.K, "/TH"):
            if "/A" not in header:
                header["/A"] = pikepdf.Dictionary()
            header["/A"]["/O"], header["/A"]["/Scope"] = pikepdf.Name.Table, pikepdf.Name.Row
        out = io.BytesIO()
        pdf.save(out, deterministic_id=True)
    return out.getvalue()


def elements(node: Any, kind: str) -> Iterator[Any]:
    """Every element of a kind below a node, itself included."""
    if isinstance(node, pikepdf.Array):
        for child in node:
            yield from elements(child, kind)
    elif isinstance(node, pikepdf.Dictionary):
        if node.get("/S") == kind:
            yield node
        if "/K" in node:
            yield from elements(node["/K"], kind)
