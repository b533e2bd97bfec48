"""Pieces of several parts: bodies, lids and finials, how they stand, and hollow forms closed from bowls."""

import math

import pytest

from estimating.estimate import estimate
from estimating.sheet import read_sheet
from tests.estimating.kinds import built, cut, disc, in_parts, part
from tests.estimating.sheets import Json, answer, bowl, errors_of, without

BODY = built(cut(thickness=12), cut(layers=4, woods=["maple", "cherry"]))
"""60 high is no matter; its rim is 120 across with a wall of 8."""
LID = built(
    cut(thickness=14),
    cut(layers=2, woods=["walnut"]),
    form={"outer": [[0, 49], [10, 49], [12, 66], [34, 20]]},
)
KNOB = built(disc(), form={"outer": [[0, 10], [12, 6]]})


def jar(**changes: Json) -> Json:
    """A jar with a loose lid, and a knob glued on the lid."""
    lid = part("lid", LID, sits={"in": "body", "flange": 9, "clearance": 0.4}, **changes)
    return in_parts(part("body", BODY), lid, part("knob", KNOB, sits={"on": "lid"}))


def test_parts_add_up_to_what_they_are_alone() -> None:
    whole = answer(jar())
    alone = [answer(sheet) for sheet in (BODY, LID, KNOB)]
    for key in ("volume", "outer_surface", "inner_surface", "mass_g"):
        assert whole["form"][key] == pytest.approx(sum(one["form"][key] for one in alone))
    for wood, account in whole["wood"].items():
        expected = sum(one["wood"][wood]["turned"] for one in alone if wood in one["wood"])
        assert account["turned"] == pytest.approx(expected)
        assert account["segments"] == sum(
            one["wood"][wood]["segments"] for one in alone if wood in one["wood"]
        )
    assert whole["adhesive"]["end_area"] == pytest.approx(sum(one["adhesive"]["end_area"] for one in alone))


def test_layers_and_rings_count_through_all_parts_and_say_which_part_they_are_of() -> None:
    found = answer(jar())
    assert [layer["number"] for layer in found["layers"]] == list(range(1, 10))
    assert [ring["number"] for ring in found["rings"]] == list(range(1, 10))
    assert [layer["part"] for layer in found["layers"]] == ["body"] * 5 + ["lid"] * 3 + ["knob"]
    assert [ring["layers"] for ring in found["rings"]] == [[number] for number in range(1, 10)]
    assert [layer["ring"] for layer in found["layers"]] == list(range(1, 10))


def test_one_part_among_parts_is_the_same_piece_as_one_without() -> None:
    plain, found = answer(BODY), answer(in_parts(part("body", BODY)))
    for key in ("wood", "cutting", "adhesive", "glue_ups", "labour", "cost", "price", "form"):
        assert found[key] == plain[key]


def test_a_lid_hangs_its_flange_in_the_rim_and_a_knob_stands_on_the_lid() -> None:
    body, lid, knob = answer(jar())["parts"]
    assert (body["base"], lid["base"], knob["base"]) == (0, pytest.approx(52 - 9), pytest.approx(52 - 9 + 34))
    assert answer(jar())["form"]["height"] == pytest.approx(52 - 9 + 34 + 12)


def test_the_fit_of_a_lid_is_rim_less_flange() -> None:
    (fit,) = answer(jar())["fits"]
    form = estimate(read_sheet(BODY)).shapes[0].form
    import numpy as np

    # the wall narrows downwards: the opening is tightest at the flange's lower end
    opening = 2 * float(form.inner_radius(np.array([52.0 - 9]))[0])
    assert fit["opening_diameter"] == pytest.approx(opening)
    assert fit["flange_diameter"] == pytest.approx(98)
    assert fit["gap"] == pytest.approx((opening - 98) / 2)
    assert (fit["part"], fit["in"], fit["clearance"]) == ("lid", "body", 0.4)


def test_a_part_glued_on_another_is_joined_last_over_the_face_they_share() -> None:
    found = answer(jar())
    last = found["glue_ups"][-1]
    assert (last["kind"], last["layers"]) == ("join", [8, 9])
    without_knob = in_parts(*jar()["parts"][:2])
    shared = math.pi * 10**2  # the knob's foot; the lid's top is 20
    assert found["adhesive"]["face_area"] - answer(without_knob)["adhesive"]["face_area"] == pytest.approx(
        shared
    )


def test_a_ring_never_shares_a_glue_up_with_another_part() -> None:
    found = answer(jar())
    part_of = {ring["number"]: ring["part"] for ring in found["rings"]}
    for glue_up in found["glue_ups"]:
        if glue_up["kind"] in ("ring", "stack"):
            assert len({part_of[number] for number in (*glue_up["rings"], *glue_up["layers"])}) == 1


@pytest.mark.parametrize(
    ("change", "place", "reason"),
    [
        (
            {"sits": {"in": "bowl", "flange": 9}},
            "parts[1].sits.in",
            'no part before this one: "bowl"; before it: body',
        ),
        ({"sits": {"on": "lid"}}, "parts[1].sits.on", "no part before this one"),
        (
            {"sits": {"in": "body", "flange": 40}},
            "parts[1].sits.flange",
            "less than the part's own height, 34 mm",
        ),
        ({"sits": {"in": "body", "on": "body", "flange": 4}}, "parts[1].sits", "only one of on, in"),
        ({"sits": {}}, "parts[1].sits", '"on" or "in"'),
        ({"sits": {"in": "body"}}, "parts[1].sits.flange", "is missing"),
        ({"form": {"outer": [[0, 40]]}}, "parts[1].form.outer", "at least 2"),
        ({"bands": [cut()]}, "parts[1].bands", "short of"),
        ({"name": "body"}, "parts[1].name", "is the name of a part before it"),
        ({"colour": "red"}, "parts[1].colour", "is not a key here"),
    ],
)
def test_what_is_wrong_with_a_part_is_named_in_it(change: Json, place: str, reason: str) -> None:
    sheet = jar()
    sheet["parts"] = sheet["parts"][:2]
    sheet["parts"][1] |= change
    (error,) = errors_of(sheet)
    assert error.startswith(f"{place}: ")
    assert reason in error


@pytest.mark.parametrize("key", ["form", "allowance", "bands", "holding", "close_at"])
def test_a_key_of_a_part_beside_the_parts_is_refused(key: str) -> None:
    errors = errors_of(jar() | {key: bowl().get(key, {})})
    assert any(error.startswith(f"{key}: stands in each of the parts") for error in errors)


def test_a_hollow_form_is_glued_as_bowls_and_closed_at_the_nearest_glue_line() -> None:
    plain, closed = answer(BODY), answer(BODY | {"close_at": [33.0]})
    # glue lines at 12, 22, 32, 42
    stacks = [glue_up["layers"] for glue_up in closed["glue_ups"] if glue_up["kind"] == "stack"]
    assert stacks == [[1, 2, 3], [4, 5]]
    last = closed["glue_ups"][-1]
    assert (last["kind"], last["layers"], len(last["joins"])) == ("join", [3, 4], 2)
    assert closed["adhesive"]["face_area"] == pytest.approx(plain["adhesive"]["face_area"])
    mountings = [
        operation["quantity"]
        for found in (plain, closed)
        for operation in found["labour"]["operations"]
        if operation["name"].startswith("mount on lathe")
    ]
    assert mountings == [3, 4]


@pytest.mark.parametrize(
    ("heights", "place", "reason"),
    [
        ([60], "close_at[0]", "the nearest glue line is at 42 mm"),
        ([32, 33], "close_at[1]", "same glue line"),
        ([40, 32], "close_at[1]", "must rise"),
        (["x"], "close_at[0]", "length"),
    ],
)
def test_a_closing_height_that_cannot_be_is_refused(heights: list[object], place: str, reason: str) -> None:
    (error,) = errors_of(BODY | {"close_at": heights})
    assert error.startswith(f"{place}: ")
    assert reason in error


@pytest.mark.parametrize(
    ("holding", "bottom"),
    [
        ({"by": "tenon", "depth": 6, "parting": 2}, 8),
        ({"by": "waste_block", "depth": 25, "parting": 2}, 2),
        ({"by": "recess", "depth": 4}, 0),
    ],
)
def test_the_holding_sets_the_wood_below_the_foot(holding: Json, bottom: float) -> None:
    sheet = without(built(cut(thickness=12 + bottom), cut(layers=4)), ["allowance", "bottom"])
    sheet["form"]["outer"] = [[0, 40], [52, 60]]
    assert answer(sheet | {"holding": holding})["layers"][0]["bottom"] == pytest.approx(-bottom)
    (error,) = errors_of({**sheet, "allowance": {"bottom": 3}, "holding": holding})
    assert error.startswith("allowance.bottom: is set by the holding")


def test_a_waste_block_is_glued_under_the_lowest_layer() -> None:
    sheet = without(BODY, ["allowance", "bottom"])
    held = answer(sheet | {"holding": {"by": "waste_block", "depth": 25}})
    assert [glue_up["layers"] for glue_up in held["glue_ups"] if glue_up["kind"] == "waste_block"] == [[1]]
    ring = held["rings"][0]
    apothem = ring["outer_edge"] / 2 / math.tan(math.pi / 12)
    face = 12 * math.tan(math.pi / 12) * apothem**2  # its wedges meet at the centre
    assert held["adhesive"]["face_area"] - answer(BODY)["adhesive"]["face_area"] == pytest.approx(face)


def test_holding_without_anything_to_hold_by_is_refused() -> None:
    sheet = without(BODY, ["allowance", "bottom"]) | {"holding": {"by": "tenon"}}
    (error,) = errors_of(sheet)
    assert error.startswith("holding.depth: must be more than 0")
