"""Whatever stands in any place of a sheet or a record, the API answers it or says what is wrong with it."""

import copy
import json
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.test import Client as Browser
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.projects.test_estimates import SHEET

pytestmark = pytest.mark.django_db

HOSTILE = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(),
    st.integers(min_value=-(10**30), max_value=10**30),
    st.floats(),  # NaN and infinities too, which Python writes as JSON does not allow
    st.text(max_size=20),
    st.sampled_from(["", "1e999", "-0", "1/0 in", "0x10", "٣ mm", "\0", "a" * 10_000, "<b>", "1_000"]),
    st.lists(st.integers(), max_size=3),
    st.dictionaries(st.text(max_size=5), st.integers(), max_size=3),
)
FULL_SHEET: dict[str, Any] = SHEET | {
    "quantity": 1,
    "shop": {"rip_kerf": 3, "mix_ratio": [1, 1], "layers_per_glue_up": 10, "cup_ml": 80},
    "boards": [
        {"wood": "maple", "length": 1200, "width": 150, "thickness": 25, "count": 2, "price": "38.00"}
    ],
    "pricing": {"currency": "USD", "margin": 0.15, "tax_inclusive": False, "labour_rate": "30.00"},
}
DESIGN: dict[str, Any] = {
    "title": "Pot",
    "quantity": 1,
    "adhesive": None,
    "note": "",
    "laminates": {"zig": {"kind": "zigzag", "angle": 45, "strips": [{"wood": "maple", "width": 6}]}},
    "parts": [
        {
            "name": "body",
            "allowance_outside": "3",
            "held": "tenon",
            "held_depth": "5",
            "held_parting": "2",
            "close_at": [40],
            "form": {
                "outer": [[0, 60], [100, 60, "corner"]],
                "curve": "straight",
                "inside": "wall",
                "wall": "8",
                "floor": "10",
            },
            "bands": [
                {
                    "layers": 10,
                    "thickness": "9.93",
                    "segments": 12,
                    "woods": ["maple"],
                    "offsets": [0.5],
                    "gap": 0,
                    "bored": "set",
                    "bore": "20",
                    "plug": "walnut",
                    "chart": {"legend": {"m": "maple"}, "rows": ["m"]},
                }
            ],
        },
        {
            "name": "lid",
            "sits": "in",
            "sits_at": 1,
            "flange": "6",
            "clearance": "0.5",
            "form": {"outer": [[0, 60], [20, 30]]},
            "bands": [{"layers": 1, "thickness": "20", "made": "solid", "woods": ["maple"]}],
        },
    ],
}


def _places(value: Any, so_far: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """Every place of a JSON value, as the keys and numbers that lead there."""
    steps = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    return [so_far, *(place for key, inner in steps for place in _places(inner, (*so_far, key)))]


def _with(value: Any, place: tuple[Any, ...], new: Any) -> Any:
    if not place:
        return new
    changed = copy.deepcopy(value)
    inner = changed
    for step in place[:-1]:
        inner = inner[step]
    inner[place[-1]] = new
    return changed


def _post(user: User, path: str, data: Any) -> Any:
    browser = Browser()
    browser.force_login(user)
    return browser.post(f"/api/v1/{path}", json.dumps(data), content_type="application/json")


@pytest.mark.parametrize(("path", "sound"), [("estimate/", FULL_SHEET), ("designs/", DESIGN)])
@settings(
    max_examples=40,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
    derandomize=True,
)
@given(data=st.data())
def test_anything_anywhere_is_answered(alice: User, path: str, sound: Any, data: st.DataObject) -> None:
    place = data.draw(st.sampled_from(_places(sound)))
    body = _with(sound, place, data.draw(HOSTILE))
    answer = _post(alice, path, body)
    assert answer.status_code in (200, 201, 400), (place, answer.content)
    if answer.status_code == 400:
        assert answer.json()["errors"]
        assert all(": " in error for error in answer.json()["errors"])


@pytest.mark.parametrize(("path", "sound"), [("estimate/", FULL_SHEET), ("designs/", DESIGN)])
def test_the_sound_ones_are_sound(alice: User, path: str, sound: Any) -> None:
    assert _post(alice, path, sound).status_code in (200, 201)
