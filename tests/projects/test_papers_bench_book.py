"""The bench book on paper: every strip, stop and box in its text, diagrams to one scale, tags, and whole headings."""

import io
import re
from functools import cache
from typing import Any

import pikepdf
import pypdf
import pytest

from estimating.estimate import Estimate, estimate
from estimating.sheet import read_sheet
from projects.drawings import quote_drawing
from projects.models import SawSetting, Studio
from projects.papers.bench_book import FOLD, TEXT, book_sheets, write_bench_book
from projects.papers.bench_sheets import BenchSheets
from tests.estimating.kinds import ZIGZAG, built, cut, disc, staves
from tests.projects.test_papers_fullsize import Path, pages


def studio(unit: str = "mm", currency: str = "EUR") -> Studio:
    return Studio(name="Quillon Bay Turning", length_unit=unit, currency=currency)


@cache
def made(unit: str = "mm") -> tuple[Estimate, BenchSheets]:
    """A piece of every kind of work: a disc, a plug, cut and laminated rings, staves, with spares."""
    zig = cut(segments=12, woods=["zig"], thickness=14)
    sheet = built(disc(bore=20, plug="maple"), cut(layers=3, woods=["maple", "walnut"]), zig, staves(),
                  laminates={"zig": ZIGZAG}, title="Vase <b>& lid")  # fmt: skip
    sheet["shop"]["spare_segments"] = 0.05
    found = estimate(read_sheet(sheet))
    return found, book_sheets(found, studio=studio(unit))


@cache
def book(unit: str = "mm", *, currency: str = "EUR", proven: bool = False) -> bytes:
    found, sheets = made(unit)
    home = studio(unit, currency)
    known = SawSetting(saw="table saw <i>", miter_deg=15, shown_deg="15.04", segments=12) if proven else None
    return write_bench_book(
        found,
        sheets=sheets,
        batches=[(at, known if at.proof else None) for at in sheets.angles],
        drawing=quote_drawing(found, studio=home),
        studio=home,
    )


def texts(paper: bytes) -> list[str]:
    return [re.sub(r"\s+", " ", page.extract_text()) for page in pypdf.PdfReader(io.BytesIO(paper)).pages]


@pytest.fixture(scope="module")
def said() -> str:
    return " ".join(texts(book()))


def test_the_cover_says_what_it_comes_to_and_what_to_have_ready(said: str) -> None:
    _, sheets = made()
    work = sheets.work
    cover = texts(book())[0]
    assert "Vase <b>& lid" in cover
    assert f"{len(work.boards)} boards" in cover
    assert f"{len(work.fences)} fence settings" in cover
    assert f"{work.stops} stops" in cover
    assert f"{work.segments} segments, {work.spares} of them spare" in cover
    assert "Have ready" in cover


def test_every_strip_fence_and_stop_stands_in_the_book(said: str) -> None:
    _, sheets = made()
    for board in sheets.work.boards:
        assert f"Board {board.number}: " in said
        for placed in board.strips:
            assert re.search(rf"(?<!\d){placed.name} \(\d+\)", said), placed.name
    for written, fence in sheets.fences:
        assert f" {written} {fence.rips} " in said, written
    for at in sheets.angles:
        for written, stop in at.stops:
            for line in stop.lines:
                kind = "" if line.cut == "segment" else f" {line.cut}"
                assert re.search(
                    rf"{re.escape(written)} {line.ring} {line.wood}{kind} {line.count}(?!\d)", said
                ), line


def test_the_proof_and_its_figures_and_room_for_the_setting_stand_before_the_segments(said: str) -> None:
    proof = next(proof for proof in made()[1].proofs if proof.miters and proof.halves)
    start, end = said.index("The proof of the saw"), said.index("From strips to segments")
    part = said[start:end]
    for row in proof.miters:
        assert f"{row.error_deg:.2f}° {row.opening_deg:.2f}°" in part
        assert row.opening_deg == pytest.approx(2 * proof.ring.segments * row.error_deg)
    assert part.count("showed") == len(made()[1].proofs)
    assert "gauge" in part
    assert "straightedge" in part


def test_the_last_proven_setting_is_printed_escaped() -> None:
    paper = " ".join(texts(book(proven=True)))
    assert "Last proven: table saw <i> showed 15.04°" in paper
    assert "Last proven" not in " ".join(texts(book()))


def test_cautions_stand_beside_the_saw_and_defer_to_its_manual(said: str) -> None:
    assert said.index("The saw’s own manual and local rules come first") < said.index("The boards")
    for words in (
        "hold-down",
        "stop clear of the blade",
        "Push blocks",
        "Nothing under 20 mm is held by hand",
    ):
        assert words in said


def test_glue_cards_come_in_the_order_of_glue_up(said: str) -> None:
    found, _ = made()
    part = said[said.index("Glue cards One card a glue-up") :]
    places = [part.index(f" {up.number} · ") for up in found.glue_ups]
    assert places == sorted(places)
    maple, walnut = (found.workshop.woods[key].name for key in ("maple", "walnut"))
    assert f"6 {maple}, 6 {walnut}, round as {maple} · {walnut}" in part


def test_inches_are_fractions_to_a_64th_and_the_paper_is_letter() -> None:
    paper = book("in", currency="USD")
    said = " ".join(texts(paper))
    assert "All lengths in this book are in inches" in said
    fractions = {int(part) for part in re.findall(r"\d/(\d+)", said)}
    assert fractions <= {2, 4, 8, 16, 32, 64}
    assert 64 in fractions
    with pikepdf.open(io.BytesIO(paper)) as pdf:
        assert [round(float(side)) for side in pdf.pages[0].MediaBox[2:]] == [612, 792]
    with pikepdf.open(io.BytesIO(book())) as pdf:
        assert [round(float(side)) for side in pdf.pages[0].MediaBox[2:]] == [595, 842]


def test_boards_are_drawn_to_one_scale_with_their_strips_in_proportion() -> None:
    _, sheets = made()
    # The printed width of the page, 210 mm less two margins of 16, holds a row and what stands round it.
    scale = (210 - 32) / (2.6 * TEXT + FOLD + 1.2 * TEXT)
    found = [path for page in pages(book())[1:] for path in page if path.filled and len(path.points) == 4]
    for board in sheets.work.boards:
        for placed in board.strips:
            strip = placed.strip
            if board.board.length <= FOLD or strip.start + strip.length < board.board.length / 4:
                assert any(
                    _measures(path, strip.length * scale, strip.rip_width * scale) for path in found
                ), placed.name


def _measures(path: Path, width: float, height: float) -> bool:
    left, upper, right, lower = path.spans
    return abs(right - left - width) < 0.05 and abs(lower - upper - height) < 0.05


def elements(node: Any) -> list[Any]:
    if isinstance(node, pikepdf.Array):
        return [element for child in node for element in elements(child)]
    if isinstance(node, pikepdf.Dictionary) and "/S" in node:
        return [node, *elements(node.get("/K", pikepdf.Array()))]
    return []


def test_the_book_is_tagged_with_alternatives_and_headers_that_say_what_they_head() -> None:
    estimate, sheets = made()
    with pikepdf.open(io.BytesIO(book())) as pdf:
        found = elements(pdf.Root.StructTreeRoot.K)
        figures = [str(element.Alt) for element in found if element.S == "/Figure"]
        boards, drawn = figures[1 : 1 + len(sheets.boards)], figures[1 + len(sheets.boards) :]
        assert [board.words for board in sheets.boards] == boards
        cards = [f"Glue-up {card.glue_up.number}: " for card in estimate.cards if card.rings or card.courses]
        assert len(drawn) == len(cards) > 0
        assert all(alternative.startswith(card) for alternative, card in zip(drawn, cards, strict=True))
        heads = [element for element in found if element.S == "/THead"]
        columns = [header for head in heads for header in elements(head) if header.S == "/TH"]
        headers = [element for element in found if element.S == "/TH"]
        assert {str(header.A.Scope) for header in columns} == {"/Column"}
        assert {str(header.A.Scope) for header in headers} == {"/Column", "/Row"}
        with pdf.open_metadata() as metadata:
            assert metadata["pdfuaid:part"] == "1"
        fonts = [font for page in pdf.pages for font in page.Resources.Font.values()]
        for font in fonts:
            of = font.DescendantFonts[0] if "/DescendantFonts" in font else font
            assert {"/FontFile", "/FontFile2", "/FontFile3"} & set(of.FontDescriptor.keys())


@pytest.mark.parametrize("unit", ["mm", "in"])
def test_no_heading_stands_alone_at_the_foot_of_a_page(unit: str) -> None:
    for page in pypdf.PdfReader(io.BytesIO(book(unit, currency="EUR" if unit == "mm" else "USD"))).pages:
        lines: list[tuple[float, str, str]] = []

        def note(text: str, cm: Any, matrix: Any, font: Any, _size: float, *, lines: Any = lines) -> None:
            if text.strip():
                up = matrix[4] * cm[1] + matrix[5] * cm[3] + cm[5]
                lines.append((float(up), str(font["/BaseFont"]), text))

        page.extract_text(visitor_text=note)
        # The margin at the foot is 17 mm, and a row of a table takes 8: a heading lower than that has nothing below it.
        # Headings alone, and the studio's name, are set in the serif face.
        headings = [line for line in lines if "Serif" in line[1]]
        assert headings
        assert min(headings)[0] > 25 / 25.4 * 72, min(headings)


def test_the_same_piece_prints_to_the_same_bytes() -> None:
    first = book()
    book.cache_clear()
    assert book() == first


def test_a_card_has_a_line_for_the_lots_until_they_are_kept(said: str) -> None:
    """For both parts where there are two, on every card that is mixed for; what was kept stands in its place."""
    found, sheets = made()
    mixed = [card for card in found.cards if card.mixes]
    assert said.count("Lot of A, resin") == said.count("Lot of B, hardener") == len(mixed) > 1
    first = mixed[0].glue_up
    known = {
        (first.number, tuple(first.layers)): ["resin (A) lot <R> 7", "hardener (B) lot H 2"],
        (mixed[1].glue_up.number, (99,)): ["resin (A) lot of another design"],
    }
    kept = write_bench_book(
        found, sheets=sheets, batches=[], drawing="<svg/>", studio=studio("mm"), lots=known
    )
    told = " ".join(texts(kept))
    assert "Lots: resin (A) lot <R> 7, hardener (B) lot H 2." in told
    assert told.count("Lot of A, resin") == len(mixed) - 1
    assert "another design" not in told
