"""Sheets of a full-size drawing: they show it all, join exactly, carry names, and small drawings never touch."""

from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import box as rectangle
from shapely import unary_union

from estimating.errors import InvalidInput
from estimating.picture.tiling import MOST_TILES, Tile, set_together, tile

A4_WINDOW = (180.0, 250.0)
lengths = st.floats(1, 1500)
corners = st.floats(-700, 700)


@given(corners, corners, lengths, lengths)
def test_the_sheets_trimmed_along_their_marks_show_the_whole_drawing_once(
    x: float, y: float, width: float, height: float
) -> None:
    cut = tile((x, y, width, height), window=A4_WINDOW)
    trimmed = []
    for t in cut.tiles:
        cuts = {side: cut.overlap / 2 for side, _ in cut.neighbours(t)}
        left, right, above, below = (cuts.get(side, 0) for side in ("left", "right", "above", "below"))
        trimmed.append(
            rectangle(t.x + left, t.y + above, t.x + A4_WINDOW[0] - right, t.y + A4_WINDOW[1] - below)
        )
    drawing = rectangle(x, y, x + width, y + height)
    # The first window begins at a whole hundredth of a millimetre, hence the 0.02.
    assert unary_union(trimmed).buffer(0.02).covers(drawing)
    assert sum(t.area for t in trimmed) == pytest.approx(unary_union(trimmed).area, rel=1e-9)


@given(lengths, lengths)
def test_one_sheet_fewer_would_not_do(width: float, height: float) -> None:
    cut = tile((0, 0, width, height), window=A4_WINDOW)
    if cut.columns > 1:
        assert (cut.columns - 1) * (A4_WINDOW[0] - 10) + 10 < width
    if cut.rows > 1:
        assert (cut.rows - 1) * (A4_WINDOW[1] - 10) + 10 < height


def test_neighbours_share_ten_millimetres() -> None:
    # 300 x 400 on windows of 180 x 250: steps of 170 and 240, so two by two.
    cut = tile((0, 0, 300, 400), window=A4_WINDOW)
    assert (cut.rows, cut.columns, cut.step) == (2, 2, (170, 240))
    first, right, below, _ = cut.tiles
    assert right.x - first.x == pytest.approx(170, abs=1e-9)
    assert below.y - first.y == pytest.approx(240, abs=1e-9)
    # 2 x 170 + 10 - 300 = 50 to spare across, a fifth of it before the drawing.
    assert first.x == -10


def test_a_drawing_that_just_fits_stands_on_one_sheet_and_a_hair_more_takes_two() -> None:
    assert tile((0, 0, 180, 250), window=A4_WINDOW).is_whole
    assert len(tile((0, 0, 180.01, 250), window=A4_WINDOW).tiles) == 2


def test_sheets_are_named_by_row_and_column_and_know_their_neighbours() -> None:
    cut = tile((0, 0, 400, 400), window=A4_WINDOW)
    assert [t.name for t in cut.tiles] == ["A1", "A2", "A3", "B1", "B2", "B3"]
    assert dict(cut.neighbours(cut.tiles[1])) == {"left": "A1", "right": "A3", "below": "B2"}
    assert Tile(26, 0, 0, 0).name == "AA1"


def test_a_drawing_of_too_many_sheets_is_refused() -> None:
    with pytest.raises(InvalidInput, match=f"{MOST_TILES} are the most"):
        tile((0, 0, 5000, 5000), window=A4_WINDOW)
    with pytest.raises(InvalidInput, match="without end"):
        tile((0, 0, float("inf"), 10), window=A4_WINDOW)


def test_an_overlap_as_wide_as_the_sheet_is_refused() -> None:
    with pytest.raises(InvalidInput, match="less than the 180 mm"):
        tile((0, 0, 300, 400), window=A4_WINDOW, overlap=180)


@given(st.lists(st.tuples(st.floats(5, 180), st.floats(5, 250)), min_size=1, max_size=25))
def test_small_drawings_keep_clear_of_each_other_and_within_the_sheet(
    sizes: list[tuple[float, float]],
) -> None:
    sheets = set_together(sizes, window=A4_WINDOW, clear=7)
    assert [place.number for sheet in sheets for place in sheet] == list(range(len(sizes)))
    for sheet in sheets:
        placed = [rectangle(p.x, p.y, p.x + sizes[p.number][0], p.y + sizes[p.number][1]) for p in sheet]
        for one, other in combinations(placed, 2):
            assert one.distance(other) >= 7 - 1e-6
        for one in placed:
            assert rectangle(0, 0, *A4_WINDOW).buffer(1e-5).covers(one)


def test_a_drawing_larger_than_a_sheet_cannot_be_set_with_others() -> None:
    with pytest.raises(ValueError, match="larger than a sheet"):
        set_together([(181, 20)], window=A4_WINDOW)
