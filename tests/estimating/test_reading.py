"""JSON read with care: every broken, endless or sly text is refused at its place, and nothing falls over."""

import time
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimating.errors import InvalidInput, InvalidSheet
from estimating.reading import Section, check_length, check_list, check_number, check_text, read_json
from tests.estimating.sheets import modest


def refusal(text: str | bytes) -> str:
    with pytest.raises(InvalidSheet) as caught:
        read_json(text)
    return str(caught.value)


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        (b"", "is empty"),
        (b" \n\t", "is empty"),
        ("\ufeff".encode(), "is empty"),
        (b"{", "is not JSON"),
        (b'{"title": "bowl"', "is not JSON"),
        (b"{'title': 1}", "is not JSON"),
        (b'{"a": 1,}', "is not JSON"),
        (b"[" * 10_000, "is nested too deeply"),
        (b"[" * 100_000 + b"]" * 100_000, "is nested too deeply"),
        (b'{"a":' * 10_000, "is nested too deeply"),
        ('{"title": "bowl"}'.encode("utf-16"), "is not text in UTF-8"),
        (b'{"title": "\xff"}', "is not text in UTF-8"),
        (b'{"a": 1' + b"0" * 10_000 + b"}", "too many digits"),
        (b'{"a": tru}', "is not JSON"),
        (b'{"a": "line\nbreak"}', "is not JSON"),
    ],
    ids=lambda value: repr(value[:12]),
)
def test_what_is_no_json_is_refused_at_the_sheet_in_one_line(text: bytes, reason: str) -> None:
    message = refusal(text)
    assert message.startswith("sheet: ")
    assert reason in message
    assert "\n" not in message


def test_a_byte_order_mark_is_no_part_of_the_text() -> None:
    assert read_json(b'\xef\xbb\xbf{"a": 1}') == {"a": 1}


def read(data: Any) -> list[str]:
    """The errors of a section that knows the keys a and b only."""
    errors: list[InvalidInput] = []
    section = Section(data, "bands[1]", errors)
    section.has("a")
    section.has("b")
    section.close()
    return [str(error) for error in errors]


def test_a_key_given_twice_is_refused_by_its_name() -> None:
    assert read(read_json('{"a": 1, "b": 2, "a": 3, "b": 4}')) == [
        "bands[1].a: is given more than once",
        "bands[1].b: is given more than once",
    ]


@pytest.mark.parametrize("value", ["5", "[1]", '"x"', "null"])
def test_no_key_can_pass_for_the_note_of_repeated_ones(value: str) -> None:
    assert read(read_json(f'{{"\\u0000repeated": {value}}}')) == [
        "bands[1].\ufffdrepeated: is not a key here; there may be a, b"
    ]


def test_an_unknown_key_is_refused_with_the_one_that_was_meant_or_those_there_are() -> None:
    errors: list[InvalidInput] = []
    section = Section({"thicknes": 1, "colour": 2}, "bands[0]", errors)
    for key in ("thickness", "segments"):
        section.has(key)
    section.close()
    assert list(map(str, errors)) == [
        "bands[0].thicknes: is not a key here; did you mean thickness?",
        "bands[0].colour: is not a key here; there may be segments, thickness",
    ]


def test_guesses_at_what_was_meant_stop_after_a_hundred_errors() -> None:
    """A megabyte holds 100,000 unknown names, and a guess at each took a quarter of a minute."""
    errors: list[InvalidInput] = []
    section = Section({f"thicknes{n}": 1 for n in range(300)}, "bands[0]", errors)
    section.has("thickness")
    section.close()
    assert len(errors) == 300
    assert sum("did you mean thickness?" in str(error) for error in errors) == 100


def test_a_share_that_must_stay_below_one_says_so_for_one_and_for_more() -> None:
    for written in (1, 2):
        errors: list[InvalidInput] = []
        Section({"margin": written}, "pricing", errors).share("margin", Decimal(0), below=True)
        assert list(map(str, errors)) == [f"pricing.margin: must be less than 1, not {written}"]


def test_ten_thousand_repeated_keys_are_named_without_a_wait() -> None:
    """Counting each name anew would take minutes; the two seconds allowed here are a hundred times what it takes."""
    pairs = ",".join(f'"k{n}":1,"k{n}":2' for n in range(10_000))
    start = time.process_time()
    assert len(read(read_json("{" + pairs + "}"))) == 20_000
    assert time.process_time() - start < 2


def test_an_unknown_key_is_named_on_one_line_whatever_it_holds() -> None:
    (line,) = read({"x\ny\ud800" + "z" * 100: 1})
    assert "\n" not in line
    assert line.encode("utf-8")
    assert len(line) < 120


@pytest.mark.parametrize("data", [None, 1, 1.5, "text", [], [1], True])
def test_what_is_no_object_is_called_by_its_kind(data: Any) -> None:
    (line,) = read(data)
    assert line.startswith("bands[1]: must be an object {...}, not ")


def test_the_place_of_the_whole_sheet_is_sheet() -> None:
    errors: list[InvalidInput] = []
    Section([], "", errors)
    assert str(errors[0]).startswith("sheet: must be an object")


@pytest.mark.parametrize(
    ("value", "limits", "reason"),
    [
        (True, {}, "must be a number, not true"),
        (None, {}, "must be a number, not null"),
        ("5", {}, 'must be a number, not the text "5"'),
        ([5], {}, "must be a number, not a list"),
        ({}, {}, "must be a number, not an object"),
        (float("nan"), {}, "must be a finite number"),
        (float("inf"), {}, "must be a finite number"),
        (10**400, {}, "must be a finite number"),
        (0, {"above": 0.0}, "must be more than 0, not 0"),
        (-1, {"low": 0.0}, "must not be negative"),
        (2, {"low": 3.0}, "must be at least 3, not 2"),
        (1, {"below": 1.0}, "must be less than 1, not 1"),
        (6, {"high": 5.0}, "must be at most 5, not 6"),
    ],
)
def test_a_number_that_will_not_do_is_refused_with_what_would(value: Any, limits: Any, reason: str) -> None:
    errors: list[InvalidInput] = []
    assert check_number(value, "here", errors, **limits) == 1.0
    assert [str(error) for error in errors] == [f"here: {reason}"]


@pytest.mark.parametrize(
    "value",
    ["", " ", "five mm", "5", "5 furlong", "1/0 in", "-5 mm", "5 mm mm", "a\nb", "\ud800 mm", "nan mm"],
)
def test_text_that_is_no_length_is_refused_on_one_line_that_can_be_written(value: str) -> None:
    errors: list[InvalidInput] = []
    check_length(value, "here", errors, "mm")
    (error,) = errors
    assert str(error).startswith("here: ")
    assert "\n" not in str(error)
    assert str(error).encode("utf-8")


def test_a_length_is_read_in_the_unit_of_the_sheet_and_kept_to_ten_metres() -> None:
    errors: list[InvalidInput] = []
    assert check_length(2, "here", errors, "in") == pytest.approx(50.8, rel=1e-15)
    assert check_length("3 1/2 in", "here", errors, "mm") == pytest.approx(88.9, rel=1e-15)
    assert check_length(10_000, "here", errors, "mm") == 10_000
    assert not errors
    check_length(1_000.1, "here", errors, "cm")
    assert str(errors[0]) == "here: must be at most 10000 mm, not 10001 mm"


@pytest.mark.parametrize(
    ("value", "reason"),
    [
        ("", "must not be empty"),
        ("  ", "must not be empty"),
        ("x" * 201, "at most 200 characters, not 201"),
        ("a\0b", "cannot be written"),
        ("a\udcffb", "cannot be written"),
        (5, "must be text, not a number"),
        (["a"], "must be text, not a list"),
    ],
)
def test_text_that_cannot_be_kept_is_refused(value: Any, reason: str) -> None:
    errors: list[InvalidInput] = []
    check_text(value, "title", errors)
    assert reason in str(errors[0])


def test_markup_in_a_text_is_text() -> None:
    errors: list[InvalidInput] = []
    title = "<script>alert('1')</script> & \u00e9\U0001f333"
    assert check_text(title, "title", errors) == title
    assert not errors


@pytest.mark.parametrize(
    ("value", "reason"), [({}, "must be a list"), ([], "at least 1"), ([1] * 4, "at most 3")]
)
def test_a_list_of_the_wrong_kind_or_length_is_refused(value: Any, reason: str) -> None:
    errors: list[InvalidInput] = []
    assert check_list(value, "here", errors, least=1, most=3) == []
    assert reason in str(errors[0])


def money(value: Any) -> tuple[Decimal, list[str]]:
    errors: list[InvalidInput] = []
    section = Section({"price": value}, "", errors)
    return section.money("price", Decimal(7)), [str(error) for error in errors]


@pytest.mark.parametrize(
    ("value", "amount"), [("38.00", "38.00"), (38, "38"), (0.1, "0.1"), (" 5 ", "5"), ("1e3", "1000")]
)
def test_an_amount_is_the_decimal_that_was_written(value: Any, amount: str) -> None:
    assert money(value) == (Decimal(amount), [])


def test_an_amount_of_minus_nothing_is_nothing() -> None:
    assert str(money("-0.00")[0]) == "0.00"


@pytest.mark.parametrize(
    "value", ["", "abc", "nan", "Infinity", "1,5", "-1", -1, True, None, [], "1e40", 1e40, "$5"]
)
def test_what_is_no_amount_is_refused_at_its_place(value: Any) -> None:
    _, errors = money(value)
    assert len(errors) == 1
    assert errors[0].startswith("price: ")


@pytest.mark.parametrize("value", [1.5, "2", True, 0, 11, float("nan"), 1e300])
def test_a_count_is_a_whole_number_within_its_limits(value: Any) -> None:
    errors: list[InvalidInput] = []
    Section({"layers": value}, "", errors).integer("layers", low=1, high=10)
    assert len(errors) == 1
    assert errors[0].place == "layers"


def test_a_whole_number_written_with_a_point_is_a_count() -> None:
    errors: list[InvalidInput] = []
    assert Section({"layers": 3.0}, "", errors).integer("layers", low=1, high=10) == 3
    assert not errors


# Every JSON value there is, lone surrogates and control characters among the text.
words = st.text(st.characters(codec=None), max_size=8)
json_values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | words,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(words, inner, max_size=4),
    max_leaves=12,
)


@modest
@given(json_values)
def test_any_value_at_all_is_read_or_refused_at_a_place(data: Any) -> None:
    errors: list[InvalidInput] = []
    section = Section({"key": data}, "bands[0]", errors)
    for ask in (section.text, section.number, section.length):
        ask("key")
    section.integer("key", low=0, high=5)
    section.choice("key", ("a", "b"))
    section.boolean("key", True)
    section.money("key", Decimal(1))
    section.share("key", Decimal(1))
    section.items("key", most=3)
    assert all(error.place.startswith("bands[0].key") for error in errors)
    assert all("\n" not in str(error) for error in errors)
    "\n".join(str(error) for error in errors).encode("utf-8")
