"""The timber list on paper: its words and figures as a reader gets them, its size, its tags and its fonts."""

import io
from decimal import Decimal
from typing import Any

import pikepdf
import pypdf
import pytest

from estimating.piece import Board, ShopSettings
from estimating.quantities import parse_length
from estimating.wood.strips import CuttingPlan, SawnBoard, Short, Strip, StripNeed
from estimating.wood.to_buy import ToBuy, to_buy
from projects.papers.to_buy import Printer, Units, write_timber_list

POINT_MM = 25.4 / 72  # ISO 32000-1, 8.3.2.3: a unit of user space is 1/72 inch.
SIZES = {"a4": (210, 297), "letter": (215.9, 279.4)}  # ISO 216; ANSI/ASME Y14.1, size A


def sawn(*strips: Strip, **changes: Any) -> SawnBoard:
    made: dict[str, Any] = {
        "wood": "ash", "length": 2438.4, "width": 152.4, "thickness": 25.4, "price": Decimal("58.00"), "buy": True,
        "strips": strips, "offcuts": (),
    }  # fmt: skip
    return SawnBoard(**{**made, **changes})


def strip(length: float, **changes: Any) -> Strip:
    made: dict[str, Any] = {
        "lane": 1, "start": 25.0, "width": 81.0, "height": 22.2, "length": length, "segments": 10, "rings": (2, 3, 4),
        "rip_width": 81.0, "lies": "flat", "across": 7.0,
    }  # fmt: skip
    return Strip(**{**made, **changes})


def listed(boards: int = 2) -> ToBuy:
    """Boards of ash, 640 mm of each in use, and one of walnut in two inches."""
    walnut = sawn(strip(300.3, rings=(7,)), wood="walnut", thickness=50.8, price=Decimal("1250.00"))
    plan = CuttingPlan(
        (*[sawn(strip(589.6))] * boards, walnut), 0.0, 0.0, False,
        (Short("ash", (2, 3, 4), 10 * boards), Short("walnut", (7,), 10)),
    )  # fmt: skip
    needs = [StripNeed(wood, 81, 22.2, 0.1, 50, 40, ((2, 10),)) for wood in ("ash", "walnut")]
    rack = [Board("ash", 200, 50, 20, 3, Decimal(1))]
    return to_buy(
        plan, needs=needs, wanted={"ash": 10 * boards - 2, "walnut": 10}, boards=rack, shop=ShopSettings()
    )


def printer(unit: str = "mm", inches: str = "fraction") -> Printer:
    names = {"ash": "white ash", "walnut": "black <b>walnut</b>"}
    return Printer(Units(unit, inches), "USD", names, dict.fromkeys(names, "#aabbcc"))  # type: ignore[arg-type]


def written(
    of: ToBuy | None = None, *, paper: str = "a4", unit: str = "mm", inches: str = "fraction"
) -> bytes:
    return write_timber_list(
        of or listed(),
        title="Bowl & <i>lid</i>",
        printer=printer(unit, inches),
        paper=paper,  # type: ignore[arg-type]
        studio="Fern Gully Turning",
    )


def text_of(pdf: bytes) -> str:
    pages = pypdf.PdfReader(io.BytesIO(pdf)).pages
    return " ".join(" ".join(page.extract_text() for page in pages).split())


def test_a_board_to_judge_another_by_is_named_in_millimetres() -> None:
    """25 + 589.6 + 25 = 639.6 long, 7 + 81 + 7 = 95 wide, 22.2 thick: each rounded up to the millimetre."""
    text = text_of(written())
    assert "2438.4 × 152.4 × 4/4 (25.4 mm)" in text
    assert "at least 640 long clear of defects, 95 wide, 23 thick" in text
    assert "2438.4 × 152.4 × 8/4 (50.8 mm)" in text
    assert "Sizes are millimetres" in text


def test_inches_are_fractions_rounded_up_to_a_64th() -> None:
    """639.6 / 25.4 = 25.1811 = 25 11.59/64, so 25 3/16; 95 = 3 47.4/64, so 3 3/4; 22.2 = 55.9/64, so 7/8."""
    text = text_of(written(unit="in"))
    assert "96 × 6 × 4/4 (1 in)" in text
    assert "at least 25 3/16 long clear of defects, 3 3/4 wide, 7/8 thick" in text


def test_decimal_inches_are_for_shops_that_write_so() -> None:
    text = text_of(written(unit="in", inches="decimal"))
    assert "at least 25.182 long clear of defects, 3.741 wide, 0.875 thick" in text


@pytest.mark.parametrize(("unit", "inches"), [("mm", "fraction"), ("in", "fraction"), ("in", "decimal")])
def test_a_least_size_is_never_rounded_below_what_is_needed(unit: str, inches: str) -> None:
    units = Units(unit, inches)  # type: ignore[arg-type]
    for tenth in range(1, 4000, 7):
        needed = tenth / 10
        said = parse_length(units.at_least(needed, 1e6), unit=unit)  # type: ignore[arg-type]
        assert needed - 1e-5 <= said < needed + units.step + 1e-5
    # But what would be bought is enough, however it is written.
    assert units.at_least(25.4, 25.4) == ("25.4" if unit == "mm" else "1")


def test_every_board_has_its_number_and_room_for_what_was_found_and_paid() -> None:
    text = text_of(written(listed(boards=5)))
    assert text.count("found") == 6
    assert text.count("moisture") >= 6
    assert text.count("paid") >= 6
    assert "Paid in all" in text


def test_prices_are_each_in_all_and_a_board_foot() -> None:
    """Two boards of 8 ft x 6 in x 4/4 are 8 board feet for 116.00; 8/4 walnut is 8 for 1250.00. In all 1366.00."""
    text = text_of(written())
    assert "3 boards to buy: 16.00 board feet" in text
    assert "planned at $1,366.00" in text
    assert "2 boards, 8.00 board feet, 0.0189 m³, $116.00: planned at $14.50 a board foot" in text
    assert "$156.25 a board foot" in text


def test_the_rack_is_checked_wood_by_wood() -> None:
    text = text_of(written())
    assert (
        "White ash: 20 pieces to saw, 2 of them spare; none from the 3 boards on the rack; 20 lacking, for rings 2–4."
        in text
    )
    assert "10 pieces to saw; none on the rack; 10 lacking, for ring 7." in text
    assert "10 pieces for ring 7" in text


def test_rings_of_several_commissions_are_said_by_whose_they_are() -> None:
    of = Printer(
        Units("mm"), "USD", {"ash": "ash", "walnut": "walnut"}, {"ash": "#aabbcc", "walnut": "#aabbcc"},
        rings=lambda numbers: f"vase {numbers[0]}",
    )  # fmt: skip
    pdf = write_timber_list(listed(), title="Two jobs", printer=of, paper="a4")
    assert "for vase 2" in text_of(pdf)
    assert "lacking, for vase 7" in text_of(pdf)


def test_nothing_to_buy_says_so() -> None:
    plan = CuttingPlan((sawn(strip(500), buy=False),), 0.0, 0.0, True, ())
    need = StripNeed("ash", 81, 22.2, 0.1, 50, 40, ((2, 10),))
    rack = [Board("ash", 2438.4, 152.4, 25.4, 1, Decimal(58))]
    text = text_of(written(to_buy(plan, needs=[need], wanted={"ash": 10}, boards=rack, shop=ShopSettings())))
    assert "Nothing to buy: the rack has it all." in text
    assert "10 from 1 of the 1 board on the rack; nothing lacking." in text
    assert "Paid in all" not in text


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_the_paper_is_the_size_it_is_called_and_its_pages_are_counted(paper: str) -> None:
    reader = pypdf.PdfReader(io.BytesIO(written(listed(boards=40), paper=paper)))
    assert len(reader.pages) > 1
    for number, page in enumerate(reader.pages, 1):
        size = (float(page.mediabox.width) * POINT_MM, float(page.mediabox.height) * POINT_MM)
        assert size == pytest.approx(SIZES[paper], abs=0.1)
        text = " ".join(page.extract_text().split())
        assert f"page {number} of {len(reader.pages)}" in text
        assert "Bowl & <i>lid</i> · Fern Gully Turning" in text


def test_markup_in_a_name_is_printed_as_it_is_written() -> None:
    assert "Black <b>walnut</b>, 8/4" in text_of(written())


def test_the_paper_is_tagged_titled_and_carries_its_fonts() -> None:
    with pikepdf.open(io.BytesIO(written())) as pdf:
        assert pdf.Root.MarkInfo.Marked
        assert pdf.Root.Lang == "en"
        with pdf.open_metadata() as metadata:
            assert metadata["pdfuaid:part"] == "1"
            assert metadata["dc:title"] == "Timber list: Bowl & <i>lid</i>"
        things = [thing for thing in pdf.objects if isinstance(thing, pikepdf.Dictionary)]
        headers = [thing for thing in things if thing.get("/S") == "/TH"]
        assert len(headers) == 3
        assert all(header["/A"]["/Scope"] == "/Row" for header in headers)
        fonts = [thing for thing in things if thing.get("/Type") == "/FontDescriptor"]
        assert fonts
        assert all("/FontFile2" in font or "/FontFile3" in font for font in fonts)


def test_the_same_list_gives_the_same_bytes() -> None:
    assert written() == written()
