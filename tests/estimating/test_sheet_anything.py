"""Anything at all put in a piece sheet: it is estimated, as plain JSON, or refused, and nothing else happens."""

import json
import warnings
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimating.answer import as_json
from estimating.errors import InvalidSheet
from estimating.estimate import estimate
from estimating.sheet import read_sheet
from estimating.wood.search import least_cost
from tests.estimating.sheets import Json, answer, bowl, changed, modest, sheets
from tests.estimating.test_reading import json_values

WALL = {"kind": "wall", "wall": 6, "floor": 9}
NAN, INF = float("nan"), float("inf")


@modest
@given(json_values)
def test_any_json_at_all_is_a_sheet_or_is_refused(data: Any) -> None:
    _estimate_or_refuse(data)


def _estimate_or_refuse(data: Any) -> None:
    """No other exception, every error on its line, nothing in the answer that is not JSON."""
    refused, found = None, None
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error")  # a warning would stand beside the errors on standard error
            found = as_json(estimate(read_sheet(data)))
    except InvalidSheet as refusal:
        refused = refusal
    if refused is None:
        json.dumps(found, allow_nan=False, ensure_ascii=False).encode("utf-8")
    else:
        assert refused.errors
        assert all("\n" not in str(error) and error.place for error in refused.errors)
        str(refused).encode("utf-8")


def _paths(value: Any, path: tuple[str | int, ...] = ()) -> list[tuple[str | int, ...]]:
    inside = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    return [path, *(found for key, item in inside for found in _paths(item, (*path, key)))]


WHOLE = changed(
    bowl(form={"outer": [[0, 40], [20, 50], [40, 60]], "curve": "smooth", "inside": WALL}),
    ["boards"],
    [{"wood": "walnut", "length": 1200, "width": 150, "thickness": 25, "count": 2, "price": "38.00"}],
)
sly = st.sampled_from(
    [None, True, False, 0, -0.0, 1, 2, 3, 1e-9, 1e-300, 5e-324, 0.999999999999, 1 - 2**-53, 10_000, 1e300, NAN, INF,
     10**400, "", "0", "1e-999999", "1E+400", "0.5 in", "1e5 mm", "ash", [], {}, [1, 1], [[0, 1], [1, 1]],
     [[0, 1e-9], [1e-5, 9999]], ["ash"], "\0", "\ud800", "\n"]
)  # fmt: skip


@modest
@given(
    st.lists(
        st.tuples(st.sampled_from([path for path in _paths(WHOLE) if path]), sly | json_values),
        min_size=1,
        max_size=2,
    )
)
def test_a_good_sheet_with_anything_put_anywhere_is_estimated_or_refused(changes: Any) -> None:
    sheet = WHOLE
    for path, value in changes:
        try:
            sheet = changed(sheet, list(path), value)
        except (TypeError, IndexError, KeyError):
            continue  # the change before it took the place away
    _estimate_or_refuse(sheet)


@modest
@given(sheets(most_layers=4, boards=True))
def test_an_answer_is_plain_json_and_the_same_twice(sheet: Json) -> None:
    first = json.dumps(answer(sheet), allow_nan=False)
    least_cost.cache_clear()  # else the second answer would only repeat the first one's sawing plan
    assert json.dumps(answer(json.loads(json.dumps(sheet))), allow_nan=False) == first


@pytest.mark.parametrize("share", ["margin", "gallery_share", "failure_share"])
def test_a_share_just_under_one_is_priced_or_refused(share: str) -> None:
    sheet = bowl()
    sheet["pricing"] |= {"margin": 1 - 2**-53, "gallery_share": 1 - 2**-53, "labour_rate": "1000000000000"}
    sheet["pricing"][share] = 1 - 2**-53
    _estimate_or_refuse(sheet)
