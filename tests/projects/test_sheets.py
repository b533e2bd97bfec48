"""Records as a piece sheet: units, what is left out, who decides, and where an error belongs."""

from decimal import Decimal

import pytest

from estimating.errors import InvalidInput, InvalidSheet
from projects.estimates import PartRecords, gallery_share, sheet_data, workshop_of
from projects.models import Band, Board, Form, Part, Studio
from projects.places import FormPlace, form_places
from tests.factories import (
    AdhesiveFactory,
    BandFactory,
    BoardFactory,
    ClientFactory,
    CommissionFactory,
    DesignFactory,
    FinishFactory,
    FormFactory,
    RateFactory,
    WoodFactory,
)

pytestmark = pytest.mark.django_db


def test_a_design_becomes_a_sheet_of_the_contract(studio: Studio) -> None:
    design = DesignFactory(studio=studio, title="Pot", quantity=2, shaped__allowance_top=Decimal("1.5"))
    sheet = sheet_data(design)
    assert (sheet["title"], sheet["unit"], sheet["quantity"]) == ("Pot", "mm", 2)
    assert sheet["form"] == {
        "outer": [[0, 60], [100, 60]],
        "curve": "straight",
        "inside": {"kind": "wall", "wall": 8, "floor": 10},
    }
    assert sheet["allowance"] == {"outside": 3, "inside": 3, "top": 1.5, "bottom": 0}
    assert sheet["bands"] == [
        {
            "name": "wall",
            "layers": 10,
            "thickness": 9.93,
            "segments": 12,
            "woods": ["maple", "walnut"],
            "offset": 0.5,
            "gap": 0,
            "made": "cut",
        }
    ]
    assert "boards" not in sheet


def test_the_inside_says_only_what_its_kind_needs(studio: Studio) -> None:
    design = DesignFactory(studio=studio, shaped=False)
    form = Form(outer=[[0, 10], [20, 20]], inside="curve", inner=[[5, 0], [20, 15]], wall=3, floor=2)
    assert sheet_data(design, parts=[PartRecords(Part(), form, [])])["form"]["inside"] == {
        "kind": "curve",
        "inner": [[5, 0], [20, 15]],
    }
    form.inside = "solid"
    assert sheet_data(design, parts=[PartRecords(Part(), form, [])])["form"]["inside"] == {"kind": "solid"}


def test_an_edited_form_and_bands_stand_in_place_of_the_saved_ones(studio: Studio) -> None:
    design = DesignFactory(studio=studio)
    edited = [
        Band(position=1, layers=3, thickness=5, segments=8, woods=["maple"], made="sliced", ring_height=30)
    ]
    sheet = sheet_data(design, parts=[PartRecords(Part(), Form(outer=[[0, 1], [15, 9]]), edited)])
    assert sheet["form"]["outer"] == [[0, 1], [15, 9]]
    assert [(band["name"], band["layers"], band["ring_height"]) for band in sheet["bands"]] == [
        ("band 1", 3, 30)
    ]


def test_only_boards_of_the_designs_woods_and_of_the_studio_are_given(
    studio: Studio, other_studio: Studio
) -> None:
    design = DesignFactory(studio=studio)
    BoardFactory(wood=studio.woods.get(key="maple"), price=Decimal("38.5"), count=3)
    BoardFactory(wood=WoodFactory(studio=studio, key="holly"))
    BoardFactory(wood=other_studio.woods.get(key="maple"))
    (board,) = sheet_data(design)["boards"]
    assert (board["wood"], board["count"], Decimal(board["price"])) == ("maple", 3, Decimal("38.5"))
    assert sheet_data(design, boards=Board.objects.none()).get("boards") is None


def test_the_designs_adhesive_and_finish_go_before_the_usual_ones(studio: Studio) -> None:
    design = DesignFactory(studio=studio)
    assert sheet_data(design)["shop"]["mix_ratio"] == [1, 1]
    design.adhesive = AdhesiveFactory(
        studio=studio, ratio_a=2, film=Decimal("0.12"), pot_life_min=60, price_per_ml=Decimal("0.06")
    )
    design.finish = FinishFactory(studio=studio, coats=3, price_per_ml=Decimal("0.04"))
    sheet = sheet_data(design)
    assert (sheet["shop"]["mix_ratio"], sheet["shop"]["film"], sheet["shop"]["pot_life_min"]) == (
        [2, 1],
        0.12,
        60,
    )
    assert Decimal(sheet["pricing"]["adhesive_per_ml"]) == Decimal("0.06")
    assert (sheet["finish"]["coats"], Decimal(sheet["finish"]["per_ml"])) == (3, Decimal("0.04"))


def test_the_shops_own_settings_reach_the_sheet_and_the_workshop(studio: Studio) -> None:
    studio.shop.rip_kerf, studio.shop.strip_lies, studio.shop.usual_board_width = Decimal("2.4"), "flat", 200
    studio.shop.save()
    fresh = Studio.objects.get(pk=studio.pk)
    sheet, workshop = sheet_data(DesignFactory(studio=fresh)), workshop_of(fresh)
    assert (sheet["shop"]["rip_kerf"], sheet["shop"]["strip_lies"]) == (2.4, "flat")
    assert (workshop.settings.rip_kerf, workshop.settings.strip_lies) == (2.4, "flat")
    assert sheet["usual_board"]["width"] == workshop.usual_board.width == 200
    assert workshop.settings.bond_line == 0.08
    assert workshop.settings.spare_segments == 0.05


def test_a_workshop_has_the_studios_woods_and_rates_and_usual_rates_for_the_rest(studio: Studio) -> None:
    RateFactory(studio=studio, operation="crosscut segments", minutes_per_unit=Decimal("0.35"))
    workshop = workshop_of(studio)
    assert set(workshop.woods) == {"maple", "walnut"}
    assert workshop.woods["walnut"].density == 610
    assert workshop.rates["crosscut segments"].minutes_per_unit == 0.35
    assert workshop.rates["rip strips"].minutes_per_unit == 1.2  # tables/operations.csv


@pytest.mark.parametrize(
    ("kind", "clients", "own", "share"),
    [
        ("gallery", None, None, "0.45"),  # the studio's usual share
        ("private", None, None, "0"),
        ("gallery", "0.4", None, "0.4"),
        ("private", "0.1", None, "0.1"),
        ("gallery", "0.4", "0.5", "0.5"),
        ("gallery", "0.4", "0", "0"),  # agreed to be nothing, which is not the same as not agreed
    ],
)
def test_a_gallerys_share_is_the_commissions_else_the_clients_else_usual(
    studio: Studio, kind: str, clients: str | None, own: str | None, share: str
) -> None:
    client = ClientFactory(studio=studio, kind=kind, gallery_share=clients and Decimal(clients))
    commission = CommissionFactory(studio=studio, client=client, gallery_share=own and Decimal(own))
    commission.refresh_from_db()
    assert gallery_share(commission) == Decimal(share)
    sheet = sheet_data(commission.design, commission=commission)
    assert sheet["pricing"]["gallery_share"] == float(share)


def test_what_a_commission_agrees_goes_before_the_usual_price(studio: Studio) -> None:
    commission = CommissionFactory(
        studio=studio, quantity=3, margin=Decimal("0.2"), tax=Decimal(0), offered_retail=Decimal(1450)
    )
    studio.pricing.tax = Decimal("0.2")
    studio.pricing.save()
    sheet = sheet_data(commission.design, commission=commission)
    assert (sheet["title"], sheet["quantity"]) == (commission.title, 3)
    pricing = sheet["pricing"]
    assert (pricing["margin"], pricing["tax"]) == (0.2, 0)
    assert Decimal(pricing["offer"]) == 1450
    assert Decimal(pricing["labour_rate"]) == 35
    assert "wanted_hourly" not in pricing


def test_errors_of_a_sheet_find_their_form_fields() -> None:
    places = {
        "title": FormPlace("design", "title", "r"),
        "quantity": FormPlace("design", "quantity", "r"),
        "allowance.top": FormPlace("part", "allowance_top", "r"),
        "form.outer[3][1]": FormPlace("form", "outer", "r", row=3),
        "form.outer": FormPlace("form", "outer", "r"),
        "form.inside.kind": FormPlace("form", "inside", "r"),
        "form.inside.wall": FormPlace("form", "wall", "r"),
        "form.inside.inner[0][0]": FormPlace("form", "inner", "r", row=0),
        "bands": FormPlace("band", "", "r"),
        "bands[2].thickness": FormPlace("band", "thickness", "r", index=2),
        "bands[2].offset[1]": FormPlace("band", "offsets", "r", index=2, row=1),
        "bands[10].woods[4]": FormPlace("band", "woods", "r", index=10, row=4),
        "boards[1].length": FormPlace("board", "length", "r", index=1),
        "shop.rip_kerf": FormPlace("settings", "rip_kerf", "r"),
        "pricing.margin": FormPlace("settings", "margin", "r"),
        "parts[1].form.outer[2]": FormPlace("form", "outer", "r", row=2, part=1),
        "parts[1].bands[0].chart.rows[3]": FormPlace("band", "chart", "r", index=0, row=3, part=1),
        "parts[2].sits.in": FormPlace("part", "sits_at", "r", part=2),
        "parts[2].sits": FormPlace("part", "sits", "r", part=2),
        "parts[0].holding.depth": FormPlace("part", "held_depth", "r"),
        "parts[1].close_at[0]": FormPlace("part", "close_at", "r", row=0, part=1),
        "parts[1].name": FormPlace("part", "name", "r", part=1),
        "parts[1]": FormPlace("part", "", "r", part=1),
        "holding.by": FormPlace("part", "held", "r"),
        "laminates.zig.angle": FormPlace("design", "laminates", "r"),
        "sheet": FormPlace("design", "", "r"),
        "?!": FormPlace("design", "", "r"),
    }
    refusal = InvalidSheet([InvalidInput(place, "r") for place in places])
    assert form_places(refusal) == list(places.values())


def test_every_field_an_error_may_name_is_a_field_of_that_model() -> None:
    """The sheet's keys, as the records write them, lead back to fields the records have."""
    design = DesignFactory()
    BandFactory(part=design.parts.get(), position=2, made="sliced", ring_height=40)
    sheet = sheet_data(design)
    bands = {f"bands[0].{key}" for band in sheet["bands"] for key in band}
    form = {"form.outer", "form.curve", *(f"form.inside.{key}" for key in sheet["form"]["inside"])}
    allowances = {f"allowance.{key}" for key in sheet["allowance"]}
    models = {"band": Band, "form": FormFactory._meta.model, "part": Part, "design": type(design)}
    for place in bands | form | allowances:
        (found,) = form_places(InvalidSheet([InvalidInput(place, "r")]))
        models[found.section]._meta.get_field(found.field)
