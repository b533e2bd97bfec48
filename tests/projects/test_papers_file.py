"""The paper as a file: tagged, described, embedded, the same each time, and closed to everything but its own folder."""

import hashlib
import io
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pikepdf
import pytest

from projects.papers import printing
from projects.papers.fetching import STATIC, PaperFetcher, Refused
from projects.papers.quote import quote_pdf
from tests.projects.frozen import BOWL, BOWL_BANDS, frozen_quote, usual, usual_paper


@pytest.fixture
def paper() -> Iterator[pikepdf.Pdf]:
    with pikepdf.open(io.BytesIO(usual_paper("client"))) as pdf:
        yield pdf


def elements(node: Any) -> Iterator[Any]:
    if isinstance(node, pikepdf.Array):
        for child in node:
            yield from elements(child)
    elif isinstance(node, pikepdf.Dictionary) and "/S" in node:
        yield node
        yield from elements(node.get("/K", pikepdf.Array()))


def test_a_paper_declares_itself_accessible_and_says_its_language_and_title(paper: pikepdf.Pdf) -> None:
    # PDF/UA-1 (ISO 14289-1) clauses 5, 7.1 and 7.2: identification, marked content, title shown, language.
    with paper.open_metadata() as metadata:
        assert metadata["pdfuaid:part"] == "1"
        assert metadata["dc:title"] == "Quote 2027-014 B: Tall vase for the stair"
    assert paper.Root.Lang == "en"
    assert paper.Root.MarkInfo.Marked
    assert paper.Root.ViewerPreferences.DisplayDocTitle
    assert paper.docinfo["/Title"] == "Quote 2027-014 B: Tall vase for the stair"
    assert paper.docinfo["/Author"] == "Quillon Bay Turning"


def test_the_drawing_has_an_alternative_and_headings_and_headers_are_tagged(paper: pikepdf.Pdf) -> None:
    found = list(elements(paper.Root.StructTreeRoot.K))
    kinds = [str(element.S) for element in found]
    (figure,) = [element for element in found if element.S == "/Figure"]
    assert "Tall vase for the stair: left half as it will be turned" in str(figure.Alt)
    assert "120" in str(figure.Alt)
    assert kinds.count("/H1") == 1
    assert kinds.count("/H2") == 1
    headers = [element for element in found if element.S == "/TH"]
    assert len(headers) == 9
    for header in headers:
        assert (header.A.O, header.A.Scope) == ("/Table", "/Row")


def test_every_font_is_embedded(paper: pikepdf.Pdf) -> None:
    fonts = [font for page in paper.pages for font in page.Resources.Font.values()]
    assert fonts
    for font in fonts:
        descriptor = (
            font.DescendantFonts[0].FontDescriptor if "/DescendantFonts" in font else font.FontDescriptor
        )
        assert {"/FontFile", "/FontFile2", "/FontFile3"} & set(descriptor.keys())


@pytest.mark.skipif(not printing.FONTS.is_dir(), reason="the typefaces are not installed")
def test_the_papers_own_typefaces_are_used(paper: pikepdf.Pdf) -> None:
    names = {str(font.BaseFont) for page in paper.pages for font in page.Resources.Font.values()}
    assert any("Source-Serif" in name for name in names)
    assert any("Source-Sans" in name for name in names)


def test_a_paper_is_dated_when_it_was_issued_and_never_by_the_clock(paper: pikepdf.Pdf) -> None:
    for name in ("/CreationDate", "/ModDate"):
        assert str(paper.docinfo[name]).startswith("D:20270303153000")


_PRINT_AGAIN = """
import django, hashlib
django.setup()
from tests.projects.frozen import usual_paper
for copy in ("client", "trade"):
    print(hashlib.sha256(usual_paper(copy)).hexdigest())
"""


def test_the_same_quote_prints_to_the_same_bytes_in_another_process() -> None:
    again = subprocess.run(
        [sys.executable, "-c", _PRINT_AGAIN],
        capture_output=True,
        text=True,
        check=True,
        env={
            "DJANGO_SETTINGS_MODULE": "turnery.settings",
            "PATH": "",
            "PYTHONHASHSEED": "77",
            "SECRET_KEY": "x",
        },
    )
    here = [hashlib.sha256(usual_paper(copy)).hexdigest() for copy in ("client", "trade")]
    assert again.stdout.split() == here
    assert here[0] != here[1]


def test_anything_that_is_changed_changes_the_file() -> None:
    assert quote_pdf(frozen_quote(lead_time="next year"), copy="client") != usual_paper("client")


def page_size(paper: bytes) -> tuple[int, int]:
    with pikepdf.open(io.BytesIO(paper)) as pdf:
        box = pdf.pages[0].MediaBox
        return round(float(box[2])), round(float(box[3]))


def test_papers_are_cut_to_what_is_used_where_the_studio_is() -> None:
    # ISO 216 A4 is 210 x 297 mm, 595 x 842 points; ANSI Letter 8 1/2 x 11 in, 612 x 792.
    assert page_size(usual_paper("client")) == (612, 792)
    bowl = {"form": BOWL, "bands": BOWL_BANDS}
    assert page_size(quote_pdf(frozen_quote(**bowl, pricing={"currency": "EUR"}), copy="client")) == (
        595,
        842,
    )


def test_names_beyond_plain_latin_are_printed_in_the_papers_own_typeface() -> None:
    import pypdf

    paper = quote_pdf(frozen_quote(addressee={"name": "Žofie Řeháková"}), copy="client")
    reader = pypdf.PdfReader(io.BytesIO(paper))
    assert "Žofie Řeháková" in reader.pages[0].extract_text()


def test_papers_are_printed_without_the_typefaces_too(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(printing, "FONTS", tmp_path)
    paper = quote_pdf(frozen_quote(form=BOWL, bands=BOWL_BANDS), copy="client")
    with pikepdf.open(io.BytesIO(paper)) as pdf:
        names = {str(font.BaseFont) for font in pdf.pages[0].Resources.Font.values()}
    assert names
    assert not any("Source-S" in name for name in names)


@pytest.mark.parametrize("style", ["family.css", "quote.css", "paper.css"])
def test_only_the_drawing_is_in_colour(style: str) -> None:
    css = (STATIC / "papers" / style).read_text()
    colours = re.findall(r"#([0-9a-f]{6})\b", css)
    assert colours
    for colour in colours:
        channels = [int(colour[at : at + 2], 16) for at in (0, 2, 4)]
        assert max(channels) - min(channels) <= 20, colour


# What a paper may read


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    inside = tmp_path / "static"
    inside.mkdir()
    (inside / "a b.css").write_text("p {}")
    (tmp_path / "secret.txt").write_text("secret")
    (inside / "link.css").symlink_to(tmp_path / "secret.txt")
    (inside / "folder.css").mkdir()
    return inside


def test_a_paper_reads_what_it_carries_and_what_lies_in_its_folder(folder: Path) -> None:
    fetcher = PaperFetcher(folder)
    assert fetcher.fetch("data:text/plain,hello").read() == b"hello"
    assert fetcher.fetch((folder / "a b.css").as_uri()).read() == b"p {}"


@pytest.mark.parametrize(
    "address",
    [
        "{folder}/../secret.txt",
        "{folder}/%2e%2e/secret.txt",
        "{folder}/link.css",
        "{folder}/folder.css",
        "{folder}/missing.css",
        "file:///etc/hostname",
        "FILE:///etc/hostname",
        "file://elsewhere.example/a.css",
        "http://127.0.0.1:1/a.css",
        "https://elsewhere.example/a.css",
        "ftp://elsewhere.example/a.css",
        "a.css",
        "",
    ],
)
def test_a_paper_reads_nothing_else(folder: Path, address: str) -> None:
    with pytest.raises(Refused, match="may not read"):
        PaperFetcher(folder).fetch(address.format(folder=folder.as_uri()))


def test_a_paper_follows_no_redirect(folder: Path) -> None:
    handlers = [type(handler).__name__ for handler in PaperFetcher(folder).handlers]
    assert "HTTPRedirectHandler" not in handlers


def test_a_drawing_cannot_bring_in_a_file() -> None:
    quote = frozen_quote(form=BOWL, bands=BOWL_BANDS)
    image = '<image href="file:///etc/hostname" width="50" height="50"/></svg>'
    quote.drawing = quote.drawing.removesuffix("</svg>") + image
    plain = quote_pdf(frozen_quote(form=BOWL, bands=BOWL_BANDS), copy="client")
    with_image = quote_pdf(quote, copy="client")
    assert images(with_image) == images(plain) == 0


def images(paper: bytes) -> int:
    with pikepdf.open(io.BytesIO(paper)) as pdf:
        return sum(
            1
            for thing in pdf.objects
            if isinstance(thing, pikepdf.Stream) and thing.get("/Subtype") == "/Image"
        )


def test_the_usual_quote_is_the_one_the_tests_describe() -> None:
    assert usual().reference == "2027-014 B"
