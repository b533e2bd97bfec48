"""What the pages say in the shop's own unit, and what they read of what a maker writes."""

from decimal import Decimal
from typing import Any

import pytest
from django import forms
from django.test import Client as Browser

from projects.models import Commission, PricingDefaults, ShopSettings, Studio, Wood
from projects.pages.fields import MoneyField, PercentField, read_length, typed_length
from projects.pages.forms import ShopForm
from projects.pages.starting import SHAPES, Size, start_design, usual_size
from projects.services.studios import INCH_SETTINGS, studio_create
from projects.wording import in_percent, in_shop_units, length_help
from tests.factories import ClientFactory, CommissionFactory, UserFactory, WoodFactory

METRIC = Studio(length_unit="mm")
INCHES = Studio(length_unit="in", inch_style="fraction")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        # 1 in = 25.4 mm exactly (NIST SP 811).
        (
            "heights must rise: 48.895 mm does not stand above 228.6 mm",
            "heights must rise: 1.925 in does not stand above 9 in",
        ),
        ("boards of 2438.4 x 152.4 x 25.4 mm, up to 101.6 mm", "boards of 96 × 6 × 1 in, up to 4 in"),
        ("2 of maple, 1828.8 × 139.7 × 22.225 mm", "2 of maple, 72 × 5 1/2 × 7/8 in"),
        ("is 2.54e+04 mm tall", "is 1000 in tall"),
        ("wood of 12 mm³, 8 layers, 5 min", "wood of 12 mm³, 8 layers, 5 min"),
    ],
)
def test_a_sentence_in_millimetres_is_said_in_an_inch_shops_inches(words: str, said: str) -> None:
    assert in_shop_units(words, INCHES) == said
    assert in_shop_units(words, METRIC) == words


def test_help_with_a_length_says_usual_values_in_the_fields_own_unit() -> None:
    words = "Kerf. Usual: 3.175 mm, 2.54 to 6.35 met. Thin-kerf blade 2.2-2.4."
    assert length_help(words, METRIC) == words
    assert (
        length_help(words, INCHES)
        == "Kerf. Usual: 0.125 in, 0.1 to 0.25 met. In mm: thin-kerf blade 2.2-2.4."
    )
    assert length_help("End. Usual: 25.4 mm an end, 12.7 to 50.8 met.", INCHES).endswith(
        "1 in an end, 0.5 to 2 met."
    )


def test_help_with_a_share_speaks_in_per_cent_throughout() -> None:
    words = "Share. Usual: 0.45 share, 0.25 to 0.6 met. Consignment 0.40-0.50; wholesale 0.50."
    assert in_percent(words) == "Share. Usual: 45 %, 25 to 60 % met. Consignment 40 to 50 %; wholesale 50 %."


def test_no_help_of_the_shops_settings_in_inches_gives_a_usual_value_in_millimetres(
    studio: Studio,
) -> None:
    studio.length_unit = "in"
    form = ShopForm(instance=studio.shop, studio=studio)
    assert [name for name in form.lengths if " mm, " in str(form.fields[name].help_text)] == []


@pytest.mark.parametrize(("typed", "mm"), [("½", 12.7), ("3½", 88.9), ("3 ¼ in", 82.55), ("⅛", 3.175)])
def test_a_fraction_written_as_one_sign_is_read(typed: str, mm: float) -> None:
    assert read_length(typed, INCHES) == mm


@pytest.mark.parametrize("typed", ["-3", "−1/8", "-5 mm"])
def test_a_negative_length_is_called_negative(typed: str) -> None:
    with pytest.raises(ValueError, match="cannot be negative"):
        read_length(typed, INCHES)


def test_a_share_typed_where_a_percentage_belongs_is_asked_about() -> None:
    field = PercentField()
    with pytest.raises(forms.ValidationError, match=r"45 %, or less than one per cent"):
        field.clean("0.45")
    assert field.clean("0.45 %") == Decimal("0.0045")
    assert field.clean("45") == Decimal("0.45")
    assert field.clean("0") == 0


@pytest.mark.parametrize("share", ["0.0045", "0.01", "0.45", "0"])
def test_a_share_in_a_field_reads_back_as_the_same_share(share: str) -> None:
    field = PercentField()
    assert field.clean(field.prepare_value(Decimal(share))) == Decimal(share)


@pytest.mark.parametrize(
    ("typed", "amount"),
    [("$2,400.00", "2400"), ("usd 38", "38"), ("1,234,567.5", "1234567.5"), ("12.50", "12.5")],
)
def test_money_is_read_as_it_is_printed(typed: str, amount: str) -> None:
    assert MoneyField(currency="USD", max_digits=14, decimal_places=4).clean(typed) == Decimal(amount)


@pytest.mark.parametrize("typed", ["2,40", "1,23,456", "a lot", "NaN"])
def test_what_is_no_amount_is_refused(typed: str) -> None:
    with pytest.raises(forms.ValidationError):
        MoneyField(currency="USD", max_digits=14, decimal_places=4).clean(typed)


@pytest.mark.parametrize("shape", SHAPES)
def test_a_first_shape_in_inches_has_sizes_and_layers_that_a_rule_shows(studio: Studio, shape: str) -> None:
    studio.length_unit = "in"
    size = Size(**usual_size(studio, shape))
    design = start_design(studio=studio, title="New", shape=shape, size=size)
    lengths = [
        size.height,
        size.diameter,
        size.wall,
        *(float(band.thickness) for band in design.parts.get().bands.all()),
    ]
    lengths += [length for height, radius in design.parts.get().form.outer for length in (height, 2 * radius)]
    # Whole 64ths of an inch, to the thousandth of a millimetre that is kept.
    assert [mm for mm in lengths if abs(round(mm / 25.4 * 64) * 25.4 / 64 - mm) > 0.001] == []


def test_a_board_added_is_called_by_its_size_in_inches(as_alice: Browser, studio: Studio) -> None:
    Studio.objects.update(length_unit="in")
    wood = Wood.objects.get(studio=studio, key="maple")
    given: dict[str, Any] = {"wood": wood.pk, "count": 2, "length": "6 ft", "width": "5 1/2"}
    page = as_alice.post(
        "/rack/new/", {**given, "thickness": "7/8", "price": "$38"}, follow=True
    ).content.decode()
    assert f"Added: 2 of {wood.name}, 72 × 5 1/2 × 7/8 in." in page


def test_a_day_that_has_passed_is_refused_at_its_field(as_alice: Browser, studio: Studio) -> None:
    job = CommissionFactory(studio=studio)
    answer = as_alice.post(f"/jobs/{job.pk}/quote/", {"issue": "yes", "valid_until": "2020-01-01"})
    assert answer.status_code == 400
    assert answer.context["form"].errors["valid_until"] == [
        "This day has passed. Give a later one, or leave it empty."
    ]
    assert not job.quotes.exists()


def test_the_quote_page_says_that_another_price_was_named(as_alice: Browser, studio: Studio) -> None:
    job: Commission = CommissionFactory(
        studio=studio, client=ClientFactory(studio=studio, name="Harbour Row")
    )
    assert "Harbour Row named" not in as_alice.get(f"/jobs/{job.pk}/quote/").content.decode()
    job.offered_retail = Decimal(900)
    job.save()
    assert (
        "Harbour Row named $900.00; this quote asks $"
        in as_alice.get(f"/jobs/{job.pk}/quote/").content.decode()
    )


def test_a_currency_is_read_in_small_letters(as_alice: Browser, studio: Studio) -> None:
    given = {"name": "Fern", "length_unit": "mm", "inch_style": "fraction", "quote_valid_days": 30}
    as_alice.post("/studio/", {**given, "currency": "eur"})
    studio.refresh_from_db()
    assert studio.currency == "EUR"


def test_a_studio_set_up_in_inches_starts_with_lengths_a_rule_shows(db: None) -> None:
    studio = studio_create(name="Fern", owner=UserFactory(), length_unit="in")
    for name in INCH_SETTINGS:
        mm = float(getattr(studio.shop, name))
        assert "." not in typed_length(mm, studio), name
        # Near the table's own figure: within a twentieth, or a safe length above it.
        usual = float(ShopSettings._meta.get_field(name).default)
        assert usual * 0.95 <= mm <= usual * 1.12, name


@pytest.mark.parametrize("model", [ShopSettings, PricingDefaults])
def test_help_of_a_setting_is_said_without_the_tables_own_words(model: Any) -> None:
    words = " ".join(str(field.help_text) for field in model._meta.fields)
    assert [word for word in ("_", "degree C", " factor,") if word in words] == []


def test_woods_are_listed_by_name_whatever_their_capitals_and_the_offered_first(
    as_alice: Browser, studio: Studio
) -> None:
    Wood.objects.filter(studio=studio).delete()
    for name, active in [("yew", True), ("American elm", False), ("afzelia", True), ("Zebrano", False)]:
        WoodFactory(studio=studio, name=name, key=name.split()[-1].lower(), active=active)
    assert [wood.name for wood in Wood.objects.for_studio(studio)] == [
        "afzelia",
        "American elm",
        "yew",
        "Zebrano",
    ]
    page = as_alice.get("/rack/new/").content.decode()
    listed = ("afzelia", "yew", "American elm", "Zebrano")
    assert sorted(listed, key=lambda name: page.index(f">{name}<")) == list(listed)
