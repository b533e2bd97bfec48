"""The board diagram, measured in its own coordinates: strips where they are sawn, nothing outside, words for all."""

import re
from dataclasses import replace
from typing import Any
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimating.picture.board_diagram import (
    Area,
    BoardDrawing,
    NumberedStrip,
    RipLine,
    describe_board,
    draw_board,
)
from tests.estimating.sheets import modest

SVG = "{http://www.w3.org/2000/svg}"


def drawing(**changes: Any) -> BoardDrawing:
    usual: dict[str, Any] = {
        "number": 3,
        "wood": "hard maple",
        "colour": "#e3cda4",
        "length": 1600.0,
        "width": 150.0,
        "thickness": 45.0,
        "strips": (
            NumberedStrip(Area(25, 7, 400, 30), "3-1-1", "ring 1"),
            NumberedStrip(Area(425, 7, 500, 24), "3-1-2", "rings 2, 3"),
        ),
        "crosscuts": (25.0, 930.0),
        "rips": (RipLine(25, 930, 37),),
    }
    return BoardDrawing(**{**usual, **changes})


def rectangles(svg: str, kind: str) -> list[dict[str, Any]]:
    return [
        {**element.attrib, **{key: float(element.attrib[key]) for key in ("x", "y", "width", "height")}}
        for element in ElementTree.fromstring(svg).iter(f"{SVG}rect")
        if element.get("class") == kind
    ]


def words_in(svg: str) -> list[str]:
    return ["".join(element.itertext()) for element in ElementTree.fromstring(svg).iter(f"{SVG}text")]


def box_of(svg: str) -> tuple[float, float, float, float]:
    x, y, width, height = map(float, ElementTree.fromstring(svg).attrib["viewBox"].split())
    return x, y, width, height


def test_strips_stand_where_they_are_sawn_to_scale_in_their_woods_colour() -> None:
    svg = draw_board(drawing(), fold=1600)
    first, second = rectangles(svg, "dw-strip")
    assert [first[key] for key in ("x", "y", "width", "height")] == [25, 7, 400, 30]
    assert [second[key] for key in ("x", "y", "width", "height")] == [425, 7, 500, 24]
    assert {first["fill"], second["fill"]} == {"#e3cda4"}
    assert {"3-1-1 · ring 1", "3-1-2 · rings 2, 3"} <= set(words_in(svg))


def test_a_long_board_is_folded_into_even_rows_and_a_strip_across_a_fold_is_drawn_in_both() -> None:
    svg = draw_board(drawing(), fold=800)
    second = [part for part in rectangles(svg, "dw-strip") if part["data-strip"] == "3-1-2"]
    assert [(part["x"], part["width"]) for part in second] == [(425, 375), (0, 125)]
    assert second[1]["y"] - second[0]["y"] > 150
    assert "0 to 800" in words_in(svg)
    assert "800 to 1600" in words_in(svg)


def test_plates_of_a_resawn_board_stand_one_under_the_other() -> None:
    lower = NumberedStrip(Area(25, 7, 400, 30, plate=2), "3-2-1", "ring 4")
    board = drawing(plates=2, plate_thickness=21.0)
    svg = draw_board(replace(board, strips=(*board.strips, lower)), fold=1600)
    by_name = {part["data-strip"]: part for part in rectangles(svg, "dw-strip")}
    assert by_name["3-2-1"]["y"] > by_name["3-1-1"]["y"] + 150
    assert "plate 2: 0 to 1600" in words_in(svg)
    assert "Resawn into 2 plates of 21 mm." in describe_board(board)


def test_offcuts_are_labelled_defects_crossed_out_and_crosscuts_placed() -> None:
    board = drawing(kept=(Area(933, 50, 640, 80),), defects=(Area(1000, 0, 90, 45),))
    svg = draw_board(board, fold=1600)
    (kept,), (defect,) = rectangles(svg, "dw-kept"), rectangles(svg, "dw-defect")
    assert (kept["x"], kept["width"], kept["height"]) == (933, 640, 80)
    assert (defect["x"], defect["width"], defect["height"]) == (1000, 90, 45)
    assert {"keep 640 × 80", "25", "930"} <= set(words_in(svg))
    assert 'data-at="930"' in svg
    assert len(re.findall("dw-not-used", svg)) == 1


def test_what_is_kept_whole_at_the_far_end_is_said_and_not_drawn() -> None:
    svg = draw_board(drawing(length=2400.0, kept=(Area(933, 0, 1467, 150),)), fold=800)
    assert "800 to 1600; the rest, to 2400, is kept whole" in words_in(svg)
    assert not any("1600 to" in words for words in words_in(svg))


def test_lengths_are_in_the_sheets_unit() -> None:
    svg = draw_board(drawing(crosscuts=(25.4, 914.4)), fold=1600, unit="in")
    assert {"1", "36", "5 29/32"} <= set(words_in(svg))
    assert "Crosscut at 1 in and 36 in from the near end." in describe_board(
        drawing(crosscuts=(25.4, 914.4)), unit="in"
    )


def test_the_words_name_every_strip_and_all_that_is_kept_or_not_used() -> None:
    said = describe_board(drawing(kept=(Area(933, 50, 640, 80),), defects=(Area(1000, 0, 90, 45),)))
    assert said.startswith("Board 3: hard maple, 1600 × 150 × 45 mm.")
    assert "Strip 3-1-2: 500 long, 24 wide, from 425 along and 7 mm across, for rings 2, 3." in said
    assert "Not used: from 1000 to 1090 mm along, 0 to 45 mm across." in said
    assert said.endswith("Kept: 640 × 80 mm.")


def test_markup_in_a_name_is_shown_and_an_unknown_colour_is_grey() -> None:
    svg = draw_board(drawing(wood="<script>alert(1)</script>", colour='red" onload="x'), fold=1600)
    assert "<script" not in svg
    assert "onload" not in svg
    assert rectangles(svg, "dw-strip")[0]["fill"] == "#c9c1b2"


@modest
@given(
    st.floats(300, 3000),
    st.floats(60, 300),
    st.floats(300, 1600),
    st.lists(st.tuples(st.floats(0, 1), st.floats(0, 1), st.floats(0.05, 1), st.floats(0.05, 1)), max_size=8),
)
def test_rows_hold_the_whole_of_every_strip_and_nothing_lies_outside(
    length: float, width: float, fold: float, shares: list[tuple[float, float, float, float]]
) -> None:
    areas = [
        Area(a * length * 0.9, b * width * 0.9, c * length * (1 - a * 0.9), d * width * (1 - b * 0.9))
        for a, b, c, d in shares
    ]
    strips = tuple(NumberedStrip(area, f"3-1-{place}", "ring 1") for place, area in enumerate(areas))
    svg = draw_board(drawing(length=length, width=width, strips=strips, crosscuts=(), rips=()), fold=fold)
    x, y, wide, high = box_of(svg)
    shown = rectangles(svg, "dw-strip")
    for strip in strips:
        parts = [part for part in shown if part["data-strip"] == strip.name]
        # Coordinates are written to 0.01, two a row.
        assert sum(part["width"] for part in parts) == pytest.approx(strip.area.length, abs=0.03 * len(parts))
    for part in shown:
        assert x <= part["x"] <= part["x"] + part["width"] <= x + wide + 0.01
        assert y <= part["y"] <= part["y"] + part["height"] <= y + high + 0.01
