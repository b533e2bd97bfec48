"""The rack as CSV: what is written is read back the same, no cell is a formula, and each error has its place."""

import csv
import io
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import example, given
from hypothesis import settings as hypothesis_settings
from hypothesis import strategies as st

from projects.models import Board, Studio, Wood
from projects.models.rack import BoughtBy, Nominal, Surface
from projects.pages.csv_files import MOST_BYTES, MOST_ROWS, armed, decoded, disarmed
from projects.pages.rack_csv import COLUMNS, ReadRack, read_rack, written_rack

# Nothing here asks the database: rows are planned, not saved.
MM = Studio(pk=1, name="Fern Gully", length_unit="mm", currency="USD")
INCHES = Studio(pk=1, name="Fern Gully", length_unit="in", currency="USD")
WOODS = [
    Wood(pk=1, studio=MM, key="maple", name="hard maple", density=700),
    Wood(pk=2, studio=MM, key="walnut", name="black walnut", density=610),
    Wood(pk=3, studio=MM, key="ash_1", name="ash", density=600),
    Wood(pk=4, studio=MM, key="ash_2", name="Ash", density=600),
]
HEAD = "wood,how many,length,width,thickness\n"


def _read(text: str, studio: Studio = MM) -> ReadRack:
    return read_rack(text, studio, WOODS)


def _one(text: str, studio: Studio = MM) -> Board:
    found = _read(text, studio)
    assert found.errors == []
    (board,) = found.boards
    return board


def _errors(text: str, studio: Studio = MM) -> list[tuple[int, str]]:
    found = _read(text, studio)
    assert (found.boards == []) or found.errors
    return [(error.line, error.column) for error in found.errors]


# ---- written and read back

_TEXT = st.text(st.characters(exclude_characters="\0", exclude_categories=["Cs"]), max_size=80)
_STEPS = st.integers(1, 10_000_000).map(lambda steps: Decimal(steps).scaleb(-3))


@st.composite
def _boards(draw: Any) -> Board:
    length, width = draw(_STEPS), draw(_STEPS)
    by_unit = draw(st.booleans())
    bought_by = draw(st.sampled_from([value for value in BoughtBy.values if value != "piece"]))
    defects = []
    for area in draw(st.lists(st.booleans(), max_size=3)):
        ends = [*_span(draw, length), *(_span(draw, width) if area else [])]
        if all(first < last for first, last in zip(ends[::2], ends[1::2], strict=True)):
            defects.append(ends)
    nominal = draw(st.sampled_from(["", *Nominal.values]))
    # As the database hands amounts back, with noughts; a board's price is filled in when it is bought by a unit.
    return Board(
        wood=draw(st.sampled_from(WOODS)),
        count=draw(st.integers(1, 1000)),
        length=length,
        width=width,
        # Never thicker than what it is sold as.
        thickness=draw(
            st.integers(1, 25_000 if nominal else 1_000_000).map(lambda mm: Decimal(mm).scaleb(-3))
        ),
        surface=draw(st.sampled_from(Surface.values)),
        nominal=nominal,
        price=draw(st.decimals(0, 10_000, places=4)),
        bought_by=bought_by if by_unit else "piece",
        price_per_unit=draw(st.decimals(0, 100, places=4)) if by_unit else None,
        defects=sorted(defects),
        place=draw(_TEXT),
        note=draw(_TEXT),
    )


def _span(draw: Any, limit: Decimal) -> list[float]:
    ends = sorted(draw(st.tuples(*[st.integers(0, int(limit * 1000))] * 2)))
    return [end / 1000 for end in ends]


def _values(board: Board) -> dict[str, Any]:
    return {
        name: getattr(board, name)
        for name in ("wood", *COLUMNS.values(), "price_per_unit")
        if name != "price" or board.price_per_unit is None
    }


@hypothesis_settings(max_examples=150)
@given(boards=st.lists(_boards(), min_size=1, max_size=4), studio=st.sampled_from([MM, INCHES]))
def test_boards_written_are_read_back_the_same(boards: list[Board], studio: Studio) -> None:
    """Blank text apart, which says nothing."""
    for board in boards:
        board.place, board.note = (text if text.strip() else "" for text in (board.place, board.note))
    found = _read("\ufeff" + written_rack(boards, studio), studio)
    assert found.errors == []
    assert [_values(board) for board in found.boards] == [_values(board) for board in boards]


@given(_TEXT)
@example("=1+1")
@example("'=1+1")
@example("''@x")
@example("\tx")
@example("\r\n=x")
@example("-")
def test_no_cell_is_taken_for_a_formula_and_each_is_what_it_was(text: str) -> None:
    assert not disarmed(text).startswith(("=", "+", "-", "@", "\t", "\r", "\n"))
    assert armed(disarmed(text)) == text


@pytest.mark.parametrize("formula", ["=HYPERLINK(0)", "+1", "-1", "@SUM(1)", "\t=1", "\r=1", "'=1"])
def test_a_place_that_is_a_formula_is_text_in_the_file(formula: str) -> None:
    board = Board(wood=WOODS[0], length=1, width=1, thickness=1, price=Decimal(0), place=formula)
    _, row = csv.reader(io.StringIO(written_rack([board], MM), newline=""))
    assert row[list(COLUMNS).index("where it lies")] == f"'{formula}"
    assert _one(written_rack([board], MM)).place == formula


def test_no_cell_of_the_rack_looks_like_a_day_to_a_spreadsheet() -> None:
    """4/4 and 3/4 would be days in April."""
    board = Board(wood=WOODS[0], length=Decimal("914.4"), width=Decimal("19.05"), thickness=Decimal("20.638"))
    board.price, board.nominal = Decimal(0), "4/4"
    row = written_rack([board], INCHES).splitlines()[1].split(",")
    assert row[2:7] == ["36 in", "3/4 in", "0.81252 in", "surfaced", "4 quarters"]


# ---- what may be written


@pytest.mark.parametrize(
    ("text", "length", "width", "thickness"),
    [
        ("wood,length,width,thickness\nmaple,1200,3 1/2 in,25.4\n", "1200", "88.9", "25.4"),
        ("wood;length;width;thickness\nmaple;1200,5;120;25,4\n", "1200.5", "120", "25.4"),
        ("Wood, Length (in), Width (mm), Thickness\nHard Maple, 48, 120, 1 in\n", "1219.2", "120", "25.4"),
        ('"wood";"length";"width";"thickness"\n"maple";"8 ft";"120 mm";"1""";\n', "2438.4", "120", "25.4"),
        ("\n\nwidth,wood,length,thickness\n\n120,maple,900,25\n\n", "900", "120", "25"),
        ("wood,length,width,sold as,surface\nmaple,900,120,8/4,rough\n", "900", "120", "50.8"),
        ("wood,length,width,sold as\nmaple,900,120,8 quarters\n", "900", "120", "44.45"),
        ("wood,length,width,thickness,\nmaple,900,120,25,\n", "900", "120", "25"),
    ],
)
def test_the_ways_a_board_may_be_written(text: str, length: str, width: str, thickness: str) -> None:
    board = _one(text)
    assert (board.wood.key, board.count) == ("maple", 1)
    assert [board.length, board.width, board.thickness] == [
        Decimal(length),
        Decimal(width),
        Decimal(thickness),
    ]


@pytest.mark.parametrize("price", ["$2,400.50", "2400.50", "2400.5", "€ 2400.50"])
def test_an_amount_is_read_as_these_pages_print_it(price: str) -> None:
    assert _one(f'wood,length,width,thickness,price\nmaple,1,1,1,"{price}"\n').price == Decimal("2400.50")


def test_the_price_is_for_what_the_board_was_bought_by() -> None:
    """6 in × 8 ft of 4/4 is 4 board feet (powershardwoods.com, 1 × 6 × 96 in)."""
    text = "wood,length,width,sold as,price,bought by\nmaple,8 ft,6 in,4/4,5.25,board foot\n"
    board = _one(text)
    assert (board.price_per_unit, board.price) == (Decimal("5.25"), Decimal(21))


def test_defects_are_parted_by_semicolons() -> None:
    text = 'wood,length,width,thickness,defects\nmaple,900,120,25,"300 to 380; 40 to 60, 0 to 1 in"\n'
    assert _one(text).defects == [[40, 60, 0, 25.4], [300, 380]]


# ---- what is wrong, and where


@pytest.mark.parametrize(
    ("text", "places"),
    [
        ("", [(1, "")]),
        (" \n \n", [(1, "")]),
        (HEAD, [(1, "")]),
        ("wood,length\nmaple,900\n", [(1, "")]),
        ("wood,length,width,thickness,colour\nmaple,1,1,1,red\n", [(1, "colour")]),
        ("wood,length,length,width,thickness\nmaple,1,1,1,1\n", [(1, "length")]),
        ("wood,length (cm),width,thickness\nmaple,1,1,1\n", [(1, "length")]),
        ("wood,length,width,thickness,price (EUR)\nmaple,1,1,1,1\n", [(1, "price")]),
        (HEAD + "oak,1,900,120,25\n", [(2, "wood")]),
        (HEAD + "ash,1,900,120,25\n", [(2, "wood")]),
        (HEAD + "maple,0,900,120,25\n", [(2, "how many")]),
        (HEAD + "maple,two,900,120,25\n", [(2, "how many")]),
        (HEAD + "maple,1.5,900,120,25\n", [(2, "how many")]),
        (HEAD + "maple,1,,120,25\n", [(2, "length")]),
        (HEAD + "maple,1,a yard,0,25\n", [(2, "length")]),
        (HEAD + "maple,1,900,0,2000\n", [(2, "width"), (2, "thickness")]),
        (HEAD + 'maple,1,"1,200",120,25\n', [(2, "length")]),
        (HEAD + "maple,1,900,120,\n", [(2, "thickness")]),
        (HEAD + "maple,1,900,120,25,spare\n", [(2, "")]),
        (HEAD + "maple,1,9,1,25\n\nmaple,1,x,1,2\noak,1,9,y,2\n", [(4, "length"), (5, "wood"), (5, "width")]),
        ("wood,length,width,thickness,price\nmaple,1,1,1,-3\n", [(2, "price")]),
        ("wood,length,width,thickness,price\nmaple,1,1,1,nan\n", [(2, "price")]),
        ("wood,length,width,thickness,surface\nmaple,1,1,1,sanded\n", [(2, "surface")]),
        ("wood,length,width,sold as\nmaple,1,1,7/4\n", [(2, "sold as")]),
        ("wood,length,width,sold as\nmaple,1,1,4-Apr\n", [(2, "sold as")]),
        ("wood,length,width,thickness,bought by\nmaple,1,1,1,cord\n", [(2, "bought by")]),
        ("wood,length,width,thickness,bought by\nmaple,1,1,1,board foot\n", [(2, "price")]),
        ("wood,length,width,thickness,defects\nmaple,900,100,1,300\n", [(2, "defects")]),
        ("wood,length,width,thickness,defects\nmaple,900,100,1,300 to 901\n", [(2, "defects")]),
        (f"wood,length,width,thickness,note\nmaple,1,1,1,{'x' * 201}\n", [(2, "note")]),
        ('wood,length,width,thickness\nmaple,"1,1,1\n', [(2, "")]),
    ],
)  # fmt: skip
def test_every_error_has_its_line_and_column(text: str, places: list[tuple[int, str]]) -> None:
    assert sorted(_errors(text)) == sorted(places)


def test_a_cell_of_several_lines_does_not_shift_the_lines_after_it() -> None:
    text = 'wood,length,width,thickness,note\nmaple,1,1,1,"two\nlines"\noak,1,1,1,\n'
    assert _errors(text) == [(4, "wood")]


def test_twelve_hundred_or_one_and_a_bit_is_asked_about() -> None:
    (error,) = _read(HEAD + 'maple,1,"1,200",120,25\n').errors
    assert error.words == "Is that 1200, or 1.200? Leave the comma out."


def test_more_rows_than_one_can_look_at_are_refused() -> None:
    row = "maple,1,900,120,25\n"
    assert _errors(HEAD + row * (MOST_ROWS + 1)) == [(1, "")]
    assert len(_read(HEAD + row * MOST_ROWS).boards) == MOST_ROWS


@pytest.mark.parametrize(
    "content",
    ["wood;größe".encode("latin-1"), "wood,length".encode("utf-16"), b"wood\0", b"\xff\xfe", b"\x80"],
)
def test_another_encoding_is_refused_in_words(content: bytes) -> None:
    with pytest.raises(ValueError, match="UTF-8"):
        decoded(content)


def test_utf_8_is_read_with_and_without_its_mark() -> None:
    assert decoded("größe".encode("utf-8-sig")) == decoded("größe".encode()) == "größe"


def test_a_file_that_is_too_long_is_refused_in_words() -> None:
    with pytest.raises(ValueError, match="200 kB"):
        decoded(b"x" * (MOST_BYTES + 1))


# ---- anything at all


@hypothesis_settings(max_examples=300)
@given(
    st.one_of(
        st.text(max_size=300),
        st.lists(
            st.lists(
                st.sampled_from([*COLUMNS, "length (in)", "maple", "900", "3/4", "-1", "=1", "1,5", '"', "", "x" * 90])
                | st.text(max_size=8),
                max_size=8,
            ).map(",".join),
            max_size=5,
        ).map(lambda lines: "\n".join([HEAD.strip(), *lines])),
    )
)  # fmt: skip
def test_any_text_is_read_or_refused_with_a_place(text: str) -> None:
    found = _read(text)
    assert found.errors or found.boards
    for error in found.errors:
        assert error.words
        assert error.line >= 1
    for board in found.boards:
        board.full_clean(exclude={"wood"}, validate_unique=False, validate_constraints=False)


@given(st.binary(max_size=300))
def test_any_bytes_are_read_or_refused_in_words(content: bytes) -> None:
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = "\0"
    if "\0" in text:
        with pytest.raises(ValueError, match="UTF-8"):
            decoded(content)
    else:
        assert decoded(content) == text
        _read(text)
