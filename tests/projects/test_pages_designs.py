"""The drawing board behind its page: what is typed is kept, read, estimated and saved, or refused at its field."""

from typing import Any

import pytest
from django.test import Client as Browser

from estimating.errors import InvalidInput, InvalidSheet
from projects.estimates import parts_of
from projects.models import Design, Studio
from projects.pages.draft import Draft, saved, typed
from projects.pages.edits import edit
from projects.pages.reading import read
from projects.pages.refusals import refused_sheet
from tests.factories import BandFactory, CommissionFactory, DesignFactory
from tests.projects.boards import HTMX, fields


@pytest.fixture
def design(studio: Studio) -> Design:
    made: Design = DesignFactory(studio=studio, title="Pot")
    return made


@pytest.fixture
def sent(design: Design, studio: Studio) -> dict[str, str]:
    return fields(saved(design, studio=studio))


def test_what_a_saved_design_shows_reads_back_as_the_same_design(design: Design, studio: Studio) -> None:
    BandFactory(
        part=design.parts.get(),
        position=2,
        gap="0.125",
        made="sliced",
        ring_height="31.75",
        offsets=[0.5, -0.25],
    )
    for unit in ("mm", "in"):
        studio.length_unit = unit
        piece = read(typed(fields(saved(design, studio=studio))), studio=studio)
        assert piece is not None
        (part,), (records,) = piece.parts, parts_of(design)
        assert part["form"]["outer"] == records.form.outer
        assert (float(part["form"]["wall"]), float(part["form"]["floor"])) == (8, 10)
        bands, kept = part["bands"], records.bands
        assert [band["woods"] for band in bands] == [band.woods for band in kept]
        assert [band["offsets"] for band in bands] == [band.offsets for band in kept]
        assert [band["thickness"] for band in bands] == [float(band.thickness) for band in kept]
        assert [band["gap"] for band in bands] == [band.gap for band in kept]
        assert bands[1]["ring_height"] == 31.75


def test_the_board_answers_in_one_sentence_with_its_drawing(as_alice: Browser, design: Design) -> None:
    page = as_alice.get(f"/designs/{design.pk}/").content.decode()
    assert "120 segments" in page
    assert "10 layers" in page
    assert page.count("<svg") == 2  # the piece and one ring


def test_an_edit_is_answered_with_parts_and_saves_nothing(
    as_alice: Browser, design: Design, sent: dict[str, str]
) -> None:
    answer = as_alice.post(
        f"/designs/{design.pk}/", {**sent, "parts-0-bands-0-segments": "18", "do": "try"}, **HTMX
    )
    part = answer.content.decode()
    assert "180 segments" in part
    assert "<html" not in part
    assert 'id="editor"' not in part
    assert part.count("hx-swap-oob") == 2
    assert design.parts.get().bands.get().segments == 12


def test_saving_keeps_everything_typed_and_counts_up(
    as_alice: Browser, design: Design, sent: dict[str, str]
) -> None:
    typed_in = {
        **sent,
        "title": "Jar",
        "parts-0-wall": "3/8 in",
        "parts-0-bands-0-segments": "24",
        "parts-0-allowance_outside": "2.5 mm",
    }
    as_alice.post(f"/designs/{design.pk}/", {**typed_in, "do": "save"}, **HTMX)
    fresh = Design.objects.get()
    assert (fresh.title, fresh.revision, float(fresh.parts.get().allowance_outside)) == ("Jar", 2, 2.5)
    assert float(fresh.parts.get().form.wall) == 9.525  # 3/8 of 25.4
    assert fresh.parts.get().bands.get().segments == 24


def test_a_design_that_does_not_work_out_yet_can_be_saved(
    as_alice: Browser, design: Design, sent: dict[str, str]
) -> None:
    answer = as_alice.post(
        f"/designs/{design.pk}/", {**sent, "parts-0-bands-0-layers": "4", "do": "save"}, **HTMX
    )
    assert design.parts.get().bands.get().layers == 4
    assert "data-saved" in answer.content.decode()
    assert "what would fit" in answer.content.decode()


def test_without_scripts_saving_leads_back_to_the_page(
    as_alice: Browser, design: Design, sent: dict[str, str]
) -> None:
    answer = as_alice.post(f"/designs/{design.pk}/", {**sent, "title": "Jar", "do": "save"})
    assert answer.status_code == 302
    answer = as_alice.post(
        f"/designs/{design.pk}/", {**sent, "parts-0-bands-0-thickness": "wide", "do": "save"}
    )
    page = answer.content.decode()
    assert answer.status_code == 400
    assert 'value="wide"' in page
    assert "is not a length" in page


def test_the_second_to_save_is_told_and_nothing_is_overwritten(
    as_alice: Browser, as_bob: Browser, design: Design, sent: dict[str, str]
) -> None:
    address = f"/designs/{design.pk}/"
    as_alice.post(address, {**sent, "title": "Alice's", "do": "save"}, **HTMX)
    part = as_bob.post(address, {**sent, "title": "Bob's", "do": "save"}, **HTMX).content.decode()
    assert "Someone else saved this design after you opened it" in part
    assert 'value="save-2"' in part
    assert Design.objects.get().title == "Alice's"
    as_bob.post(address, {**sent, "title": "Bob's", "do": "save-2"}, **HTMX)
    assert Design.objects.get().title == "Bob's"


WRONG = [
    ("parts-0-bands-0-layers", "0", "Must be at least 1, not 0."),
    ("parts-0-bands-0-layers", "ten", "Write a whole number"),
    ("parts-0-bands-0-layers", "99999999", "Must be at most 5000"),
    ("parts-0-bands-0-segments", "10000", "Must be at most 360"),
    ("parts-0-bands-0-segments", "-3", "Write a whole number"),
    ("parts-0-bands-0-thickness", "0", "Must be more than 0"),
    ("parts-0-bands-0-thickness", "nan", "is not a length"),
    ("parts-0-bands-0-thickness", "1e400", "is not a length"),
    ("parts-0-bands-0-thickness", "", "is empty"),
    ("parts-0-bands-0-thickness", "3 parsecs", "has a unit that is not a length"),
    ("parts-0-bands-0-offsets", "half", "Write a number"),
    ("parts-0-bands-0-offsets", "NaN", "Write a number"),
    ("parts-0-bands-0-gap", "100", "less than 100 %"),
    ("parts-0-bands-0-gap", "-1", "at least 0 %"),
    ("parts-0-bands-0-made", "carved", "Choose one of those offered."),
    ("parts-0-wall", "0", "Must be more than 0."),
    ("parts-0-wall", "80", "so thick that no hollow is left"),
    ("parts-0-outer-0-height", "200", "heights must rise"),
    ("parts-0-outer-1-diameter", "", "is empty"),
    ("quantity", "0", "Must be at least 1"),
    ("title", " ", "needs a title"),
    ("adhesive", "99999", "Choose one of those offered."),
    ("parts-0-curve", "wavy", "Choose one of those offered."),
    ("parts-0-allowance_top", "-1", "cannot be negative"),
]


@pytest.mark.parametrize(("field", "text", "message"), WRONG)
def test_wrong_input_is_refused_at_its_field_and_stays_as_typed(
    as_alice: Browser, design: Design, sent: dict[str, str], field: str, text: str, message: str
) -> None:
    answer = as_alice.post(f"/designs/{design.pk}/", {**sent, field: text, "do": "show"}, **HTMX)
    draft: Draft = answer.context["draft"]
    told = " ".join(" ".join(messages) for messages in draft.errors.values())
    assert message.lower() in told.lower()
    assert any(
        name in (field, "parts-0-outer-1-height", "wall", "form", "inside") for name in draft.errors
    ), draft.errors
    assert f'id="{field}"' in answer.content.decode() or f'name="{field}"' in answer.content.decode()
    assert f'value="{text}"' in answer.content.decode() or field in (
        "parts-0-bands-0-made",
        "adhesive",
        "parts-0-curve",
    )
    assert Design.objects.get().revision == 1


def test_woods_that_do_not_divide_the_segments_are_refused_at_the_woods(
    as_alice: Browser, design: Design, sent: dict[str, str]
) -> None:
    odd = {**sent, "parts-0-bands-0-segments": "13", "do": "show"}
    answer = as_alice.post(f"/designs/{design.pk}/", odd, **HTMX)
    assert (
        "2 woods do not go evenly into 13 segments"
        in answer.context["draft"].errors["parts-0-bands-0-woods"][0]
    )


def test_another_studios_wood_or_adhesive_is_refused(
    as_alice: Browser, design: Design, sent: dict[str, str], other_studio: Studio
) -> None:
    theirs = other_studio.adhesives.get(usual=True)
    answer = as_alice.post(
        f"/designs/{design.pk}/", {**sent, "adhesive": str(theirs.pk), "do": "save"}, **HTMX
    )
    assert "adhesive" in answer.context["draft"].errors
    stranger = {**sent, "parts-0-bands-0-wood-0": "moonwood", "do": "save"}
    answer = as_alice.post(f"/designs/{design.pk}/", stranger, **HTMX)
    assert any("moonwood" in text for text in answer.context["draft"].errors["parts-0-bands-0-woods"])
    assert Design.objects.get().revision == 1


@pytest.mark.parametrize(
    "what",
    [
        "",
        "nonsense",
        "parts-0-bands-add-9999",
        "parts-0-bands-remove-7",
        "parts-0-bands-up-",
        "parts-0-outer-add-x",
        "save-x",
        "parts-0-bands-fly-0",
        "parts-0-bands-add-²",  # a digit by its nature, but no number
        pytest.param(f"parts-0-bands-add-{'9' * 5000}", id="more digits than a number may have"),
        "-" * 500,
    ],
)
def test_an_edit_that_makes_no_sense_changes_nothing_and_breaks_nothing(
    as_alice: Browser, design: Design, sent: dict[str, str], what: str
) -> None:
    answer = as_alice.post(f"/designs/{design.pk}/", {**sent, "do": what}, **HTMX)
    assert answer.status_code == 200
    assert len(answer.context["draft"].parts[0].bands) == 1


def test_a_commission_of_more_digits_than_a_number_may_have_is_no_commission(as_alice: Browser) -> None:
    assert as_alice.get("/designs/new/", {"job": "9" * 5000}).status_code == 200


@pytest.mark.parametrize("lie", ["999999999", "-1", "x", "", "1e9"])
def test_a_count_of_rows_that_lies_breaks_nothing(
    as_alice: Browser, design: Design, sent: dict[str, str], lie: str
) -> None:
    for name in (
        "parts",
        "part",
        "parts-0-bands",
        "parts-0-outer",
        "parts-0-inner",
        "parts-0-bands-0-woods",
        "laminates",
        "revision",
    ):
        answer = as_alice.post(f"/designs/{design.pk}/", {**sent, name: lie, "do": "try"}, **HTMX)
        assert answer.status_code == 200


def test_rows_are_added_moved_and_removed(studio: Studio, design: Design) -> None:
    BandFactory(part=design.parts.get(), position=2, name="rim")
    draft = saved(design, studio=studio)
    edit(draft, "parts-0-bands-add-1")
    assert [band.name for band in draft.parts[0].bands] == ["wall", "", "rim"]
    assert draft.parts[0].bands[1].woods == draft.parts[0].bands[0].woods
    edit(draft, "parts-0-bands-up-1")
    assert [band.name for band in draft.parts[0].bands] == ["wall", "rim", ""]
    edit(draft, "parts-0-bands-down-1")
    assert [band.name for band in draft.parts[0].bands] == ["rim", "wall", ""]
    edit(draft, "parts-0-bands-remove-2")
    assert [band.name for band in draft.parts[0].bands] == ["rim", "wall"]
    edit(draft, "parts-0-outer-add-1")
    assert [point.height for point in draft.parts[0].outer] == ["0", "", "100"]


def test_an_error_after_an_empty_row_stands_at_the_row_it_means(studio: Studio, design: Design) -> None:
    draft = saved(design, studio=studio)
    edit(draft, "parts-0-outer-add-1")
    piece = read(draft, studio=studio)
    assert piece is not None
    assert piece.parts[0]["form"]["outer"] == [[0.0, 60.0], [100.0, 60.0]]
    refused_sheet(draft, piece, InvalidSheet([InvalidInput("form.outer[1][1]", "is wrong")]), studio=studio)
    assert draft.errors == {"parts-0-outer-2-diameter": ["Is wrong."]}


def test_an_error_of_the_shops_settings_is_shown_and_leads_there(
    as_alice: Browser, design: Design, studio: Studio
) -> None:
    studio.shop.cup_ml = 1
    studio.shop.save()
    page = as_alice.get(f"/designs/{design.pk}/").content.decode()
    assert "Shop, cup ml" in page
    assert '<a href="/shop/settings/">' in page


def test_a_design_that_a_commission_goes_by_stays(as_alice: Browser, studio: Studio, design: Design) -> None:
    CommissionFactory(studio=studio, design=design)
    page = as_alice.post(f"/designs/{design.pk}/take-away/", follow=True).content.decode()
    assert "A commission goes by this design" in page
    assert Design.objects.filter(pk=design.pk).exists()


def test_the_estimate_page_shows_figures_with_their_workings(as_alice: Browser, design: Design) -> None:
    answer = as_alice.get(f"/designs/{design.pk}/estimate/")
    page, estimate = answer.content.decode(), answer.context["estimate"]
    # A ring of 12 closed segments is sawn to 180 / 12 degrees.
    assert "Saw to 180° ÷ 12 = 15.00°" in page
    for amount in (estimate.cost.total, estimate.price.net, estimate.price.retail):
        assert f"${amount:,.2f}" in page
    for operation in estimate.labour.operations:
        assert operation.name.split(",")[0] in page


def test_a_solid_piece_and_an_open_one_have_workings_too(
    as_alice: Browser, studio: Studio, design: Design
) -> None:
    form: Any = design.parts.get().form
    form.inside, form.wall, form.floor = "solid", None, None
    form.save()
    design.parts.get().bands.update(gap="0.2", made="sliced", ring_height=40)
    studio.pricing.wanted_hourly = 30
    studio.pricing.save()
    page = as_alice.get(f"/designs/{design.pk}/estimate/").content.decode()
    assert "(1 − gap 20 %)" in page
    assert "held." in page
    assert "$30.00 wanted" in page


def test_what_nobody_has_priced_is_said_to_count_as_free(
    as_alice: Browser, studio: Studio, design: Design
) -> None:
    studio.adhesives.update(price_per_ml="0.04")
    studio.finishes.update(price_per_ml="0.05")
    address = f"/designs/{design.pk}/estimate/"
    assert "counts as free" not in as_alice.get(address).content.decode()
    studio.woods.filter(key="walnut").update(price_per_m3=0)
    assert "entered for black walnut; the price of the usual board" in as_alice.get(address).content.decode()
    studio.adhesives.update(price_per_ml=0)
    studio.shop.usual_board_price_per_m3 = 0
    studio.shop.save()
    page = as_alice.get(address).content.decode()
    assert "counts as free: black walnut, the adhesive." in page


def test_an_edit_by_someone_logged_out_meanwhile_is_refused_without_a_page(
    client: Browser, design: Design, sent: dict[str, str]
) -> None:
    answer = client.post(f"/designs/{design.pk}/", {**sent, "do": "save", "title": "Jar"}, **HTMX)
    assert answer.status_code == 401
    assert b"<html" not in answer.content
    assert Design.objects.get().title == "Pot"
