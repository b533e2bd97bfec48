"""Constraints hold in full_clean, with a message, and in the database for whoever goes past it."""

from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, models, transaction
from django.utils import timezone

from estimating.sheet_shop import SHOP_LENGTHS
from projects.models import Board, Client, Commission, Quote, ShopSettings, Studio
from tests.factories import (
    AdhesiveFactory,
    BandFactory,
    BoardFactory,
    ClientFactory,
    CommissionFactory,
    DesignFactory,
    FinishFactory,
    FormFactory,
    HoursEntryFactory,
    MemberFactory,
    PartFactory,
    QuoteFactory,
    RateFactory,
    StudioFactory,
    WoodFactory,
)

pytestmark = pytest.mark.django_db

CHART = {"legend": {"m": "maple", "w": "walnut"}, "rows": ["mw"] * 10}

# One broken rule a row: who makes it, what is wrong, and the place full_clean names.
BROKEN = [
    (StudioFactory, {"name": ""}, "name"),
    (StudioFactory, {"quote_valid_days": 0}, "quote_valid_days"),
    (StudioFactory, {"length_unit": "ft"}, "length_unit"),
    (ClientFactory, {"kind": "rival"}, "kind"),
    (ClientFactory, {"gallery_share": Decimal("0.96")}, "gallery_share"),
    (MemberFactory, {"role": "guest"}, "role"),
    (WoodFactory, {"density": 0}, "density"),
    (WoodFactory, {"density": 2000}, "density"),
    (WoodFactory, {"price_per_m3": -1}, "price_per_m3"),
    (BoardFactory, {"length": 0}, "length"),
    (BoardFactory, {"width": -5}, "width"),
    (BoardFactory, {"thickness": 1001}, "thickness"),
    (BoardFactory, {"count": 1001}, "count"),
    (BoardFactory, {"count": 2, "reserved": 3}, "__all__"),
    (BoardFactory, {"surface": "sanded"}, "surface"),
    (BoardFactory, {"nominal": "7/4"}, "nominal"),
    (BoardFactory, {"bought_by": "cord"}, "bought_by"),
    (BoardFactory, {"bought_by": "board_foot"}, "price_per_unit"),
    (BoardFactory, {"price_per_unit": 3}, "price_per_unit"),
    (BoardFactory, {"bought_by": "board_foot", "price_per_unit": -1}, "price_per_unit"),
    (BoardFactory, {"price": -1}, "price"),
    (AdhesiveFactory, {"ratio_a": 0}, "ratio_a"),
    (AdhesiveFactory, {"density": 5}, "density"),
    (AdhesiveFactory, {"kind": "spit"}, "kind"),
    (FinishFactory, {"ml_per_dm2": -1}, "ml_per_dm2"),
    (FinishFactory, {"coats": 101}, "coats"),
    (RateFactory, {"minutes_per_unit": -1}, "minutes_per_unit"),
    (RateFactory, {"spread": 3}, "spread"),
    (DesignFactory, {"quantity": 0}, "quantity"),
    (DesignFactory, {"title": ""}, "title"),
    (PartFactory, {"allowance_outside": -1}, "allowance_outside"),
    (PartFactory, {"name": ""}, "name"),
    (PartFactory, {"position": 0}, "position"),
    (PartFactory, {"held": "glue"}, "held"),
    (PartFactory, {"held": "tenon", "held_parting": 3}, "held_depth"),
    (PartFactory, {"held": "recess"}, "held_depth"),
    (PartFactory, {"held": "waste_block", "held_depth": 4}, "held_parting"),
    (PartFactory, {"held_depth": 0}, "held_depth"),
    (PartFactory, {"held_parting": -1}, "held_parting"),
    (PartFactory, {"sits": "by", "sits_at": 2}, "sits"),
    (PartFactory, {"sits": "on"}, "sits_at"),
    (PartFactory, {"sits": "on", "sits_at": 1}, "sits_at"),
    (PartFactory, {"sits": "in", "sits_at": 2, "flange": 8}, "clearance"),
    (PartFactory, {"sits": "in", "sits_at": 2, "clearance": 1}, "flange"),
    (PartFactory, {"sits_at": 0}, "sits_at"),
    (PartFactory, {"flange": 0}, "flange"),
    (PartFactory, {"clearance": 51}, "clearance"),
    (FormFactory, {"curve": "wavy"}, "curve"),
    (FormFactory, {"inside": "wall", "wall": None}, "wall"),
    (BandFactory, {"segments": 2}, "segments"),
    (BandFactory, {"segments": 361}, "segments"),
    (BandFactory, {"layers": 0}, "layers"),
    (BandFactory, {"layers": 5001}, "layers"),
    (BandFactory, {"thickness": 0}, "thickness"),
    (BandFactory, {"gap": 1}, "gap"),
    (BandFactory, {"made": "sliced", "ring_height": None}, "ring_height"),
    (BandFactory, {"made": "cast"}, "made"),
    (BandFactory, {"segments": None}, "segments"),
    (BandFactory, {"made": "solid", "woods": ["maple"]}, "segments"),
    (BandFactory, {"made": "veneer", "segments": None, "woods": ["maple"], "gap": Decimal("0.1")}, "gap"),
    (BandFactory, {"made": "solid", "segments": None, "chart": CHART}, "chart"),
    (BandFactory, {"made": "staves", "layers": 1, "gap": Decimal("0.1")}, "gap"),
    (BandFactory, {"made": "staves", "layers": 2}, "layers"),
    (BandFactory, {"made": "staves", "layers": 1, "bored": "needed"}, "bored"),
    (BandFactory, {"bored": "maybe"}, "bored"),
    (BandFactory, {"bored": "set"}, "bore"),
    (BandFactory, {"bored": "set", "bore": 0}, "bore"),
    (BandFactory, {"plug": "maple"}, "plug"),
    (BandFactory, {"match": "twins"}, "match"),
    (BandFactory, {"made": "staves", "layers": 1, "match": "book"}, "match"),
    (BandFactory, {"made": "solid", "segments": None, "woods": ["maple"], "match": "board"}, "match"),
    (CommissionFactory, {"stage": "lost"}, "stage"),
    (CommissionFactory, {"title": ""}, "title"),
    (CommissionFactory, {"margin": 1}, "margin"),
    (CommissionFactory, {"gallery_share": -1}, "gallery_share"),
    (CommissionFactory, {"asked_on": date(2027, 3, 2), "promised_on": date(2027, 3, 1)}, "promised_on"),
    (HoursEntryFactory, {"minutes": -1}, "minutes"),
    (HoursEntryFactory, {"minutes": None}, "__all__"),
    (WoodFactory, {"name": ""}, "name"),
    (AdhesiveFactory, {"name": ""}, "name"),
    (FinishFactory, {"name": ""}, "name"),
    (ClientFactory, {"name": ""}, "name"),
    (RateFactory, {"operation": ""}, "operation"),
]


@pytest.mark.parametrize(
    ("make", "wrong", "place"), BROKEN, ids=[f"{f._meta.model.__name__}-{p}-{w}" for f, w, p in BROKEN]
)
def test_a_broken_rule_is_refused_by_full_clean_and_by_the_database(
    make: Any, wrong: dict[str, Any], place: str
) -> None:
    extra = (
        {"furnished": False}
        if make is StudioFactory
        else {"shaped": False}
        if make in (DesignFactory, PartFactory)
        else {}
    )
    sound = make(**extra)
    sound.full_clean()
    for field, value in wrong.items():
        setattr(sound, field, value)
    with pytest.raises(ValidationError) as refusal:
        sound.full_clean()
    assert place in refusal.value.message_dict
    assert all(message.strip() for message in refusal.value.messages)
    with pytest.raises(IntegrityError), transaction.atomic():
        type(sound)._base_manager.filter(pk=sound.pk).update(**wrong)


@pytest.mark.parametrize(
    ("make", "fields"),
    [
        (ClientFactory, ["studio", "name"]),
        (WoodFactory, ["studio", "key"]),
        (AdhesiveFactory, ["studio", "name"]),
        (FinishFactory, ["studio", "name"]),
        (RateFactory, ["studio", "operation"]),
        (BandFactory, ["part", "position"]),
        (PartFactory, ["design", "position"]),
        (PartFactory, ["design", "name"]),
    ],
)
def test_what_is_unique_in_a_studio_may_stand_in_another_but_not_twice(make: Any, fields: list[str]) -> None:
    first = make()
    make(**{fields[1]: getattr(first, fields[1])})  # in a studio of its own
    twin = make.build(**{field: getattr(first, field) for field in fields})
    with pytest.raises(ValidationError, match="already has"):
        twin.full_clean()
    with pytest.raises(IntegrityError), transaction.atomic():
        twin.save()


def test_a_studio_has_one_usual_adhesive_and_one_usual_finish(studio: Studio) -> None:
    for make in (AdhesiveFactory, FinishFactory):
        second = make.build(studio=studio, usual=True)
        with pytest.raises(ValidationError, match="Only one"):
            second.full_clean()
        with pytest.raises(IntegrityError), transaction.atomic():
            second.save()


def test_every_setting_of_the_shop_has_a_range_in_the_database(studio: Studio) -> None:
    """Each figure of the shop, set below any sense, is refused by the database itself."""
    decimals = [
        field for field in ShopSettings._meta.concrete_fields if isinstance(field, models.DecimalField)
    ]
    assert len(decimals) > 30
    for field in decimals:
        with pytest.raises(IntegrityError), transaction.atomic():
            ShopSettings.objects.filter(studio=studio).update(**{field.name: -99})


@pytest.mark.parametrize("field", ["plane_face", "resaw_kerf", "resaw_clean"])
def test_planing_and_resawing_take_no_more_than_the_sheet_allows(studio: Studio, field: str) -> None:
    """The database holds the limits that a sheet is read with, at both ends."""
    limits = SHOP_LENGTHS[field]
    for within in (limits["low"], limits["high"]):
        setattr(studio.shop, field, Decimal(str(within)))
        studio.shop.full_clean()
        studio.shop.save()
    for outside in (-0.001, limits["high"] + 0.001):
        setattr(studio.shop, field, Decimal(str(outside)))
        with pytest.raises(ValidationError) as refusal:
            studio.shop.full_clean()
        assert field in refusal.value.message_dict
        with pytest.raises(IntegrityError), transaction.atomic():
            ShopSettings.objects.filter(studio=studio).update(**{field: outside})


@pytest.mark.parametrize("made", ["cut", "sliced"])
@pytest.mark.parametrize("match", ["", "board", "book"])
def test_segments_may_be_matched(made: str, match: str) -> None:
    band = BandFactory(made=made, ring_height=30 if made == "sliced" else None, match=match)
    band.full_clean()
    band.refresh_from_db()
    assert band.match == match


def test_a_currency_must_be_in_iso_4217(studio: Studio) -> None:
    """XAU is in the list but has no minor unit; ABC is not in it. Source: ISO 4217 list one."""
    for code in ("ABC", "XAU", "usd", "EURO"):
        studio.currency = code
        with pytest.raises(ValidationError) as refusal:
            studio.full_clean()
        assert "currency" in refusal.value.message_dict
    for code in ("USD", "EUR", "JPY", "KWD"):
        studio.currency = code
        studio.full_clean()


@pytest.mark.parametrize("key", ["Walnut", "", "9wood", "black walnut", "walnut\n", "nußbaum"])
def test_a_wood_key_is_a_short_lower_case_name(studio: Studio, key: str) -> None:
    with pytest.raises(ValidationError) as refusal:
        WoodFactory.build(studio=studio, key=key, name="x").full_clean()
    assert "key" in refusal.value.message_dict


@pytest.mark.parametrize(
    "outer",
    [
        "a vase",
        {"0": 1},
        [[0, 40], [30]],
        [[0, 40], ["30", 90]],
        [[0, 40], [30, float("nan")]],
        [[0, 40], [30, float("inf")]],
        [[0, 40], [30, True]],
        [[0, 40], [10_001, 50]],
        [[0, 1]] * 501,
    ],
)
def test_a_form_that_is_no_list_of_points_is_refused(outer: Any) -> None:
    form = FormFactory()
    form.outer = outer
    with pytest.raises(ValidationError) as refusal:
        form.full_clean()
    assert set(refusal.value.message_dict) == {"outer"}


@pytest.mark.parametrize("offsets", [[], 0.5, ["0.5"], [float("nan")], [361], [True]])
def test_offsets_that_are_no_list_of_segments_are_refused(offsets: Any) -> None:
    band = BandFactory()
    band.offsets = offsets
    with pytest.raises(ValidationError) as refusal:
        band.full_clean()
    assert set(refusal.value.message_dict) == {"offsets"}


def test_woods_that_do_not_divide_the_segments_are_refused() -> None:
    band = BandFactory()
    band.segments = 13
    with pytest.raises(ValidationError, match="2 woods do not divide 13 segments"):
        band.full_clean()


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("segments", "twelve"),
        ("segments", None),
        ("woods", None),
        ("woods", 7),
        ("made", None),
        ("layers", "x"),
    ],
)
def test_what_is_typed_wrongly_in_a_band_is_refused_at_its_field(field: str, value: Any) -> None:
    band = BandFactory()
    setattr(band, field, value)
    with pytest.raises(ValidationError) as refusal:
        band.full_clean()
    assert set(refusal.value.message_dict) == {field}


# ---- commissions, quotes, hours


def test_the_job_list_goes_by_promised_date_with_the_undated_last(studio: Studio) -> None:
    day = date(2027, 5, 1)
    asked = {"studio": studio, "asked_on": day}
    undated = CommissionFactory(**asked)
    late = CommissionFactory(**asked, promised_on=day + timedelta(40))
    soon = CommissionFactory(**asked, promised_on=day + timedelta(3))
    assert list(Commission.objects.for_studio(studio).job_list()) == [soon, late, undated]


def test_a_commission_has_one_draft_quote_at_a_time() -> None:
    draft = QuoteFactory()
    with pytest.raises(ValidationError, match="already has a draft"):
        QuoteFactory.build(studio=draft.studio, commission=draft.commission).full_clean()
    with pytest.raises(IntegrityError), transaction.atomic():
        QuoteFactory(commission=draft.commission)


def test_an_issued_quote_must_have_a_number_and_dates() -> None:
    draft = QuoteFactory()
    with pytest.raises(IntegrityError), transaction.atomic():
        Quote._base_manager.filter(pk=draft.pk).update(state="issued")
    with pytest.raises(IntegrityError), transaction.atomic():
        Quote._base_manager.filter(pk=draft.pk).update(number="2027-001")


def test_one_number_and_revision_is_given_once_a_studio() -> None:
    issued = {"state": "issued", "number": "2027-001", "revision": "A", "issued_at": timezone.now()}
    first = QuoteFactory(**issued, valid_until=date(2027, 2, 1))
    with pytest.raises(IntegrityError), transaction.atomic():
        QuoteFactory(commission=first.commission, **issued, valid_until=date(2027, 2, 1))
    second = QuoteFactory(
        commission=first.commission, **issued | {"revision": "B"}, valid_until=date(2027, 2, 1)
    )
    assert (first.reference, second.reference) == ("2027-001", "2027-001 B")


def test_a_member_has_one_clock_running() -> None:
    running = HoursEntryFactory(minutes=None, started_at=timezone.now())
    second = HoursEntryFactory.build(
        commission=running.commission, member=running.member, minutes=None, started_at=timezone.now()
    )
    with pytest.raises(ValidationError, match="already running"):
        second.full_clean()
    with pytest.raises(IntegrityError), transaction.atomic():
        second.save()


def test_a_client_with_commissions_and_a_wood_with_boards_are_kept_by_the_database() -> None:
    client, wood = CommissionFactory().client, BoardFactory().wood
    for kept in (client, wood):
        with pytest.raises(models.ProtectedError):
            kept.delete()
    assert Client.objects.filter(pk=client.pk).exists()
    assert Board.objects.filter(wood=wood).exists()


def test_form_fields_leave_padding_noughts_out(studio: Studio) -> None:
    """What the database hands back as 38.0000 is shown as 38, and 40.5000 as 40.5."""
    from django.forms import modelform_factory

    board = BoardFactory(wood=studio.woods.first(), price=Decimal(38), width=Decimal("40.5"))
    board.refresh_from_db()
    form = modelform_factory(Board, fields=["price", "width", "length"])(instance=board)
    assert [form[name].value() for name in ("price", "width", "length")] == ["38", "40.5", "1200"]


def test_a_choice_that_may_be_blank_is_listed_without_an_empty_word() -> None:
    band = BandFactory()
    band.match = "twins"
    with pytest.raises(ValidationError) as refusal:
        band.validate_constraints()
    assert "The match must be blank or one of: board, book." in refusal.value.messages
