"""What makes a piece another one, in words; and what does not."""

import copy
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from projects.design_differs import Difference, differences, fingerprint

SHEET: dict[str, Any] = {
    "title": "Low bowl",
    "unit": "mm",
    "quantity": 1,
    "form": {
        "outer": [[0, 52], [30, 98], [80, 130]],
        "curve": "smooth",
        "inside": {"kind": "wall", "wall": 7.0, "floor": 10.0},
    },
    "allowance": {"outside": 3.0, "inside": 3.0, "top": 1.5, "bottom": 2.0},
    "bands": [
        {"name": "base", "layers": 1, "thickness": 13.5, "segments": 16, "woods": ["cherry"], "offset": 0},
        {
            "name": "side",
            "layers": 4,
            "thickness": 14.0,
            "segments": 16,
            "woods": ["cherry"],
            "offset": [0.5, -0.5],
        },
        {
            "name": "band 3",
            "layers": 1,
            "thickness": 13.6,
            "segments": 16,
            "woods": ["walnut", "maple"],
            "offset": 0.5,
        },
    ],
    "finish": {"name": "Varnish", "coats": 5, "per_ml": "0.05"},
    "pricing": {"labour_rate": "35.00"},
    "boards": [],
    "shop": {"rip_kerf": 3.0},
}


def changed(way: str, value: Any, sheet: dict[str, Any] = SHEET) -> dict[str, Any]:
    """A copy with one place of it set: `bands.2.woods`; `value` None takes it out."""
    made = copy.deepcopy(sheet)
    *steps, last = way.split(".")
    at: Any = made
    for step in steps:
        at = at[int(step) if step.isdigit() else step]
    if value is None:
        del at[int(last) if last.isdigit() else last]
    else:
        at[int(last) if last.isdigit() else last] = value
    return made


def told(before: dict[str, Any], after: dict[str, Any]) -> list[str]:
    """What differs, by name."""
    return [one.what for one in differences(before, after)]


@pytest.mark.parametrize(
    ("way", "value", "words"),
    [
        ("quantity", 2, ["number of pieces"]),
        ("form.outer.1.1", 99, ["outside curve"]),
        ("form.outer.2.0", 82, ["height", "outside curve"]),
        ("form.curve", "straight", ["outside curve"]),
        ("form.inside.wall", 6.5, ["wall"]),
        ("form.inside.floor", 12, ["floor"]),
        ("form.inside", {"kind": "solid"}, ["inside"]),
        ("bands.0.layers", 2, ["number of layers of band 1 (base)"]),
        ("bands.1.thickness", 14.5, ["layer thickness of band 2 (side)"]),
        ("bands.1.segments", 24, ["segments of band 2 (side)"]),
        ("bands.2.woods", ["padauk", "maple"], ["wood of band 3"]),
        ("bands.2.woods", ["maple", "walnut"], ["wood of band 3"]),
        ("bands.1.offset", 0.5, ["turn on the layer below of band 2 (side)"]),
        ("bands.2.gap", 0.2, ["gaps of band 3"]),
        ("bands.2.made", "sliced", ["way of making of band 3"]),
        ("bands.0.bore", 20, ["bore of band 1 (base)"]),
        ("bands.2.match", "board", ["matching of segments of band 3"]),
        ("finish.name", "Oil", ["finish"]),
        ("finish.coats", 3, ["coats of finish"]),
    ],
)
def test_each_thing_that_makes_another_piece_is_named(way: str, value: Any, words: list[str]) -> None:
    """One change, its own words, and another fingerprint."""
    after = changed(way, value)
    assert told(SHEET, after) == words
    assert fingerprint(after) != fingerprint(SHEET)


@pytest.mark.parametrize(
    ("way", "value"),
    [
        ("title", "For the window"),
        ("pricing.labour_rate", "50.00"),
        ("boards", [{"wood": "cherry"}]),
        ("shop.rip_kerf", 2.0),
        ("allowance.outside", 5.0),
        ("finish.per_ml", "0.10"),
        ("bands.1.name", "wall"),
        ("bands.0.offset", 0.25),
        ("bands.1.woods", ["cherry", "cherry"]),
        ("bands.1.gap", 0.0),
        ("bands.1.thickness", 14.0000001),
        ("form.outer.0.0", 0.0),
        ("pricing", None),
    ],
)
def test_what_changes_no_piece_is_no_difference(way: str, value: Any) -> None:
    """Prices, title, boards, the shop, names, and the same written otherwise."""
    after = changed(way, value)
    assert differences(SHEET, after) == ()
    assert fingerprint(after) == fingerprint(SHEET)


def test_figures_are_told_before_and_after() -> None:
    """A length in mm, woods by their keys, each once."""
    after = changed("bands.1.thickness", 14.5, changed("bands.2.woods", ["padauk", "maple"]))
    assert differences(SHEET, after) == (
        Difference("layer thickness of band 2 (side)", "length", 14.0, 14.5),
        Difference("wood of band 3", "woods", ("walnut", "maple"), ("padauk", "maple")),
    )


def test_woods_in_other_places_are_not_named_twice() -> None:
    """Turned round by one: the woods are the same, and so are not listed."""
    assert differences(SHEET, changed("bands.2.woods", ["maple", "walnut"])) == (
        Difference("wood of band 3"),
    )


def test_a_band_split_in_two_alike_is_the_same_piece() -> None:
    """Layers are compared and not bands; an offset list is followed through."""
    after = copy.deepcopy(SHEET)
    side = after["bands"][1]
    after["bands"][1:2] = [{**side, "layers": 2, "name": "low"}, {**side, "layers": 2, "name": "high"}]
    assert differences(SHEET, after) == ()
    # Three and one: the pattern of turns goes on where it was.
    after["bands"][1:3] = [{**side, "layers": 3}, {**side, "layers": 1, "offset": [-0.5]}]
    assert differences(SHEET, after) == ()
    after["bands"][2]["woods"] = ["maple"]
    assert told(SHEET, after) == ["wood of layer 5"]


def test_more_bands_and_layers_are_counted() -> None:
    """Where neither bands nor layers can be set beside each other."""
    after = copy.deepcopy(SHEET)
    after["bands"].append({**after["bands"][2]})
    assert differences(SHEET, after) == (Difference("layers", "plain", "6 in 3 bands", "7 in 4 bands"),)


def test_layers_that_move_between_unlike_bands_are_told() -> None:
    """As many layers and bands, but one more of the one and one fewer of the other."""
    after = changed("bands.0.layers", 2, changed("bands.1.layers", 3))
    assert told(SHEET, after) == ["number of layers of band 1 (base)", "number of layers of band 2 (side)"]


def test_a_chart_is_the_same_as_its_woods() -> None:
    """A row of letters all round, or the woods of it; another letter is another wood."""
    chart = {"legend": {"w": "walnut", "m": "maple"}, "rows": ["wm"]}
    after = changed("bands.2.woods", None)
    after["bands"][2]["chart"] = chart
    assert differences(SHEET, after) == ()
    after["bands"][2]["chart"] = {**chart, "rows": ["wwwm"]}
    assert told(SHEET, after) == ["wood of band 3"]


def _two(lid: dict[str, Any]) -> dict[str, Any]:
    body = {key: SHEET[key] for key in ("form", "bands")}
    return {"quantity": 1, "parts": [{"name": "body", **body}, {"name": "lid", **body, **lid}]}


def test_parts_are_named_where_there_are_several() -> None:
    """By their place; a new name alone is no difference, nor is it where another part sits on it."""
    sits = {"sits": {"in": "body", "flange": 8, "clearance": 0.3}}
    before, after = _two(sits), _two({"sits": {"in": "body", "flange": 9, "clearance": 0.3}})
    assert told(before, after) == ["flange of the lid"]
    renamed = _two({"sits": {**sits["sits"], "in": "pot"}})
    renamed["parts"][0]["name"] = "pot"
    assert differences(before, renamed) == ()
    assert told(before, _two({"sits": {"on": "body"}})) == ["seat of the lid"]
    assert differences(before, SHEET)[0] == Difference("parts", "plain", "body, lid", "body")


def test_a_recess_stays_and_a_tenon_goes() -> None:
    """Of how the foot is held, only what is left in the piece counts."""
    held = {**SHEET, "holding": {"by": "tenon", "depth": 6, "parting": 3}}
    assert differences(SHEET, held) == ()
    recess = {**SHEET, "holding": {"by": "recess", "depth": 4}}
    assert differences(SHEET, recess) == (Difference("recess under the foot", "length", None, 4.0),)


def test_a_laminated_segment_is_compared_by_its_strips() -> None:
    """One that is used; one that no band has does not count."""
    strips = [{"wood": "maple", "width": 4}, {"wood": "walnut", "width": 2}]
    laminates = {"zigzag": {"kind": "zigzag", "angle": 45, "strips": strips}, "spare": {"kind": "stripes"}}
    before = changed("bands.2.woods", ["zigzag"], {**SHEET, "laminates": laminates})
    after = changed("laminates.zigzag.strips.0.width", 5, before)
    assert told(before, after) == ["laminated segment zigzag"]
    assert differences(before, changed("laminates.spare.kind", "diamond", before)) == ()


def test_what_cannot_be_read_is_still_compared() -> None:
    """A saved design need not be one that can be made: nothing here may fail over it."""
    odd = changed("bands.2.woods", ["walnut", "maple", "cherry"])
    assert told(SHEET, odd) == ["wood of band 3"]
    assert differences({}, {}) == ()
    assert differences({}, SHEET)
    assert fingerprint({"parts": [], "bands": []}) == fingerprint({})


_woods = st.lists(st.sampled_from(["maple", "walnut", "cherry"]), min_size=1, max_size=4)
_offsets = st.one_of(st.just(0.5), st.lists(st.sampled_from([0.0, 0.5, -0.5]), min_size=1, max_size=3))
_bands = st.lists(
    st.fixed_dictionaries(
        {
            "layers": st.integers(1, 3),
            "thickness": st.sampled_from([10, 10.0, 12]),
            "segments": st.just(12),
            "woods": _woods,
            "offset": _offsets,
        },
        optional={"gap": st.sampled_from([0, 0.1]), "bore": st.sampled_from([20, 25.0])},
    ),
    min_size=1,
    max_size=4,
)


@given(before=_bands, after=_bands)
def test_the_fingerprint_and_the_words_agree(before: list[Any], after: list[Any]) -> None:
    """Something is told exactly where the fingerprints are two; and from a piece to itself there is nothing."""
    one, other = {"bands": before}, {"bands": after}
    assert (differences(one, other) == ()) == (fingerprint(one) == fingerprint(other))
    assert differences(one, copy.deepcopy(one)) == ()
