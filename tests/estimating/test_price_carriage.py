"""Carriage from the box: published examples of chargeable mass, boxes by hand, the table's steps, and refusals."""

from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimating.errors import InvalidInput
from estimating.piece import Pricing
from estimating.price.carriage import carry, pack, step_for, with_carriage
from estimating.sheet import read_sheet
from estimating.terms import CarriageStep
from tests.estimating.sheets import Json, answer, bowl, modest, places_of

D = Decimal
TABLE = (CarriageStep(2, D("8.40")), CarriageStep(5, D("12.50")), CarriageStep(20, D("31.00")))
WORKED_OUT = Pricing(
    freight_from="worked_out", crate_from="worked_out", carriage=TABLE, crate_per_m2=D(60), crate_fixed=D(15)
)


def box_of(*, height: float, diameter: float, piece_kg: float, **changes: Any) -> Any:
    return pack(height=height, diameter=diameter, piece_kg=piece_kg, pricing=replace(WORKED_OUT, **changes))


# --- published examples -----------------------------------------------------------------------------------------


def test_a_light_parcel_is_charged_by_its_volume() -> None:
    """10 kg in 30 x 50 x 50 cm: 75,000 / 5,000 = 15 kg. Source: help.ecoparcel.eu, article 3019497 (its example)."""
    box = box_of(height=200, diameter=400, piece_kg=10, box_kg_m2=0)
    assert (box.width, box.height) == (500, 300)
    assert (box.by_volume_kg, box.gross_kg, box.chargeable_kg) == (15, 10, 15)
    assert box.is_bulky


def test_a_heavy_parcel_is_charged_by_its_weight() -> None:
    """8 kg in 11,250 cm3: 2.25 kg by volume, so 8 kg. Source: parcelpal.co.uk, question 78.

    Its parcel has 25 x 30 x 15 cm; here 25 x 25 x 18 cm hold as much.
    """
    box = box_of(height=80, diameter=150, piece_kg=8, box_kg_m2=0)
    assert (box.width, box.height) == (250, 180)
    assert (box.by_volume_kg, box.chargeable_kg) == (2.25, 8)
    assert not box.is_bulky


# --- by hand ----------------------------------------------------------------------------------------------------


def test_a_box_has_six_sides_and_padding_on_each() -> None:
    """A piece of 200 across and 100 high, 50 of padding: 300 x 300 x 200. 2 x 0.09 + 4 x 0.06 = 0.42 m2 at 0.9 kg."""
    box = box_of(height=100, diameter=200, piece_kg=1.5)
    assert (box.width, box.height, box.volume) == (300, 200, 18e6)
    assert box.area == pytest.approx(420_000)
    assert (box.own_kg, box.gross_kg, box.by_volume_kg) == (0.378, 1.878, 3.6)


def test_freight_is_the_first_step_that_carries_the_box_for_each_box() -> None:
    """3.6 kg falls in the step up to 5; three boxes are three parcels. Crate: 0.42 x 60 + 15 = 40.20 each."""
    box = box_of(height=100, diameter=200, piece_kg=1.5)
    found = carry(box, boxes=3, pricing=WORKED_OUT)
    assert (found.step, found.freight) == (TABLE[1], D("37.50"))
    assert (found.crate_each, found.crate) == (D("40.20"), D("120.60"))


def test_only_what_is_worked_out_stands_in_the_place_of_what_is_typed() -> None:
    box = box_of(height=100, diameter=200, piece_kg=1.5)
    for name, other in (("freight", "crate"), ("crate", "freight")):
        typed = replace(WORKED_OUT, freight=D(99), crate=D(88), **{f"{other}_from": "given"})  # type: ignore[arg-type]
        found = with_carriage(typed, carry(box, boxes=1, pricing=typed))
        assert getattr(found, other) == getattr(typed, other)
        assert getattr(found, name) != getattr(typed, name)


@pytest.mark.parametrize(("kg", "up_to"), [(0.0, 2), (2.0, 2), (2.001, 5), (5.0, 5), (20.0, 20)])
def test_a_step_carries_as_much_as_it_says(kg: float, up_to: float) -> None:
    assert step_for(kg, TABLE).up_to_kg == up_to


def test_what_is_above_the_last_step_is_refused_in_words_that_name_the_table() -> None:
    with pytest.raises(
        InvalidInput, match=r"the table of carriage and ends at 20 kg; .* charged at 20\.001 kg"
    ):
        step_for(20.001, TABLE)
    with pytest.raises(InvalidInput, match="is empty"):
        step_for(1, ())


def test_the_crate_is_rounded_for_each_box() -> None:
    """0.42 m2 at 0.05 is 0.021: 0.02 a box, 0.06 for three, and not 0.063."""
    box = box_of(height=100, diameter=200, piece_kg=1)
    pricing = replace(WORKED_OUT, crate_per_m2=D("0.05"), crate_fixed=D(0))
    assert carry(box, boxes=3, pricing=pricing).crate == D("0.06")
    yen = replace(pricing, currency="JPY", crate_per_m2=D(60))
    assert carry(box, boxes=3, pricing=yen).crate == 75  # 25.2 a box


# --- properties -------------------------------------------------------------------------------------------------

MEASURES = st.floats(10, 1000)


@modest
@given(MEASURES, MEASURES, st.floats(0, 50), st.floats(0, 200), st.floats(1, 1.5))
def test_a_larger_piece_is_never_cheaper_to_send(
    height: float, diameter: float, kg: float, padding: float, more: float
) -> None:
    small = box_of(height=height, diameter=diameter, piece_kg=kg, box_padding=padding)
    large = box_of(height=height * more, diameter=diameter * more, piece_kg=kg * more, box_padding=padding)
    assert large.chargeable_kg >= small.chargeable_kg >= max(small.gross_kg, small.by_volume_kg)
    table = (*TABLE, CarriageStep(10_000, D(900)))
    pricing = replace(WORKED_OUT, carriage=table)
    cheap, dear = (carry(box, boxes=2, pricing=pricing) for box in (small, large))
    assert cheap.freight is not None
    assert cheap.crate is not None
    assert dear.freight is not None
    assert dear.crate is not None
    assert cheap.freight <= dear.freight
    assert cheap.crate <= dear.crate


@modest
@given(MEASURES, MEASURES, st.floats(0, 200))
def test_a_box_by_its_own_edges(height: float, diameter: float, padding: float) -> None:
    """A second way: six faces and their product, in cm."""
    box = box_of(height=height, diameter=diameter, piece_kg=0, box_padding=padding)
    wide, tall = (diameter + padding + padding) / 10, (padding + height + padding) / 10
    faces = [wide * wide, wide * wide, *[wide * tall] * 4]
    assert box.area / 100 == pytest.approx(sum(faces))
    assert box.volume / 1000 == pytest.approx(wide * wide * tall)
    assert box.gross_kg == pytest.approx(sum(faces) / 10_000 * 0.9, abs=5.1e-4)  # to the gram


# --- in an estimate ---------------------------------------------------------------------------------------------


def sent(**pricing: Any) -> Json:
    sheet = bowl(quantity=2)
    sheet["pricing"] |= {
        "freight_from": "worked_out",
        "crate_from": "worked_out",
        "carriage": [{"up_to_kg": 1, "price": "8.00"}, {"up_to_kg": 5, "price": "12.50"}],
        "crate_per_m2": "60",
        "crate_fixed": "15",
    } | pricing
    return sheet


def test_the_estimate_charges_what_the_box_comes_to() -> None:
    """The bowl is 40 high and 120 across: 220 x 220 x 140, 6.776 dm3 or 1.355 kg; 0.22 m2."""
    found = answer(sent())
    money, carriage = found["money"], found["money"]["carriage"]
    assert (carriage["boxes"], carriage["box"]["width"], carriage["box"]["height"]) == (2, 220, 140)
    assert carriage["box"]["gross_kg"] == pytest.approx(found["form"]["finished_g"] / 1000 + 0.198, abs=1e-3)
    assert (carriage["box"]["by_volume_kg"], carriage["box"]["chargeable_kg"]) == (1.355, 1.355)
    assert carriage["step"] == {"up_to_kg": 5.0, "price": "12.50"}
    assert (money["freight"], money["crate"], carriage["crate_each"]) == ("25.00", "56.40", "28.20")
    by_hand = bowl(quantity=2)
    by_hand["pricing"] |= {"freight": "25.00", "crate": "56.40"}
    assert answer(by_hand)["price"] == found["price"]


def test_a_sheet_that_says_nothing_of_a_box_is_answered_as_before() -> None:
    assert "carriage" not in answer(bowl())["money"]
    given = bowl()
    given["pricing"] |= {"carriage": [{"up_to_kg": 1, "price": "8"}], "box_padding": 90}
    assert answer(given) == answer(bowl())


def test_a_lidded_piece_goes_in_one_box_with_its_parts_together() -> None:
    sheet = sent()
    part = {key: sheet.pop(key) for key in ("form", "allowance", "bands")}
    sheet["parts"] = [{"name": "lower", **part}, {"name": "upper", **part}]
    found = answer(sheet)
    assert found["money"]["carriage"]["box"]["height"] == pytest.approx(found["form"]["height"] + 100)


def test_a_box_above_the_table_is_refused_at_the_table() -> None:
    assert places_of(sent(box_padding=120)) == ["pricing.carriage"]


def test_lengths_of_the_box_are_in_the_sheet_s_unit() -> None:
    assert read_sheet(sent(box_padding="2 in")).pricing.box_padding == pytest.approx(50.8)


TWICE = [{"up_to_kg": 5, "price": "1"}, {"up_to_kg": 5, "price": "2"}]


@pytest.mark.parametrize(
    ("said", "places"),
    [
        ({"carriage": TWICE}, ["pricing.carriage[1].up_to_kg"]),
        ({"carriage": []}, ["pricing.freight_from"]),
        ({"freight_from": "guessed"}, ["pricing.freight_from"]),
        ({"carriage": [{"up_to_kg": 0, "price": "1"}]}, ["pricing.carriage[0].up_to_kg"]),
        ({"carriage": [{"up_to_kg": 5}]}, ["pricing.carriage[0].price"]),
        ({"carriage": [{"up_to_kg": 5, "price": "-1"}]}, ["pricing.carriage[0].price"]),
        ({"carriage": [{"up_to_kg": 5, "price": "1", "to": "x"}]}, ["pricing.carriage[0].to"]),
        ({"carriage": [7]}, ["pricing.carriage[0]"]),
        ({"volume_divisor": 0}, ["pricing.volume_divisor"]),
        ({"box_padding": -1}, ["pricing.box_padding"]),
        ({"box_kg_m2": 1000}, ["pricing.box_kg_m2"]),
    ],
)  # fmt: skip
def test_what_is_no_table_or_box_is_refused_where_it_stands(said: Json, places: list[str]) -> None:
    assert places_of(sent(**said))[: len(places)] == places


def test_freight_by_hand_needs_no_table() -> None:
    assert places_of(sent(carriage=[], freight_from="given")) == []
