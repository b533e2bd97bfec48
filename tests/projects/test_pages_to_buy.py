"""What to buy, and where the wood goes, as pages: they work, keep what was typed, are the studio's own."""

import html
import io
import re
from decimal import Decimal

import pypdf
import pytest
from django.test import Client as Browser

from estimating.answer_flow import flows_of, shopping_list
from projects.estimates import estimate_design
from projects.models import Commission, Design, Studio
from projects.pages.wood_flow import wood_flow
from tests.factories import BoardFactory, CommissionFactory, DesignFactory


@pytest.fixture
def design(studio: Studio) -> Design:
    return DesignFactory(studio=studio, title="Bowl <i>one</i>")


@pytest.fixture
def job(studio: Studio, design: Design) -> Commission:
    return CommissionFactory(studio=studio, design=design, title="Bowl <b>two</b>")


def said(answer: object) -> str:
    text = re.sub(r"<[^>]+>", " ", answer.content.decode())  # type: ignore[attr-defined]
    return " ".join(html.unescape(text).split())


def test_the_page_answers_first_with_boards_and_money(
    as_bob: Browser, design: Design, job: Commission
) -> None:
    for address in (f"/designs/{design.pk}/to-buy/", f"/jobs/{job.pk}/to-buy/"):
        page = as_bob.get(address)
        assert page.status_code == 200
        listed = page.context["listed"]
        assert listed.count > 0
        boards = f"{listed.count} board{'' if listed.count == 1 else 's'} ,"
        assert boards in said(page)
        assert f"for {page.context['outlay']} :" in said(page)


def test_the_total_is_the_plans_outlay_and_the_rows_add_up_to_it(as_bob: Browser, design: Design) -> None:
    _, estimate = estimate_design(design)
    page = as_bob.get(f"/designs/{design.pk}/to-buy/")
    outlay = Decimal(page.context["outlay"].lstrip("$€£").replace(",", ""))
    assert outlay == estimate.cutting.outlay
    rows = [line.together for part in page.context["parts"] for line in part.lines]
    assert sum(Decimal(row.lstrip("$€£").replace(",", "")) for row in rows) == outlay


def test_what_the_rack_has_need_not_be_bought(as_bob: Browser, studio: Studio, design: Design) -> None:
    _, estimate = estimate_design(design)
    for wood in estimate.wood:
        BoardFactory(wood=studio.woods.get(key=wood), length=2000, width=200, thickness=60, count=9)
    page = as_bob.get(f"/designs/{design.pk}/to-buy/")
    assert "Nothing to buy: the rack has it all." in said(page)
    assert all(check.lacking == 0 for _, _, check, _ in page.context["rack"])
    assert "On paper" not in said(page)


def test_the_pdf_is_the_list_and_is_named_after_the_piece(as_bob: Browser, design: Design) -> None:
    answer = as_bob.get(f"/designs/{design.pk}/to-buy/", {"paper": "a4", "unit": "mm", "make": "pdf"})
    assert answer["Content-Type"] == "application/pdf"
    assert 'filename="bowl-ione' in answer["Content-Disposition"]
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert "Timber list" in pypdf.PdfReader(io.BytesIO(answer.content)).pages[0].extract_text()


@pytest.mark.parametrize(
    ("asked", "field"),
    [({"paper": "foolscap", "unit": "in"}, "paper"), ({"paper": "a4", "unit": "ells"}, "unit")],
)
def test_a_paper_or_unit_there_is_not_is_refused_at_its_field(
    as_bob: Browser, design: Design, asked: dict[str, str], field: str
) -> None:
    page = as_bob.get(f"/designs/{design.pk}/to-buy/", {**asked, "make": "pdf"})
    assert page.status_code == 400
    assert list(page.context["form"].errors) == [field]
    assert page["Content-Type"].startswith("text/html")
    good = {"paper": "a4", "unit": "in"}[next(iter({"paper", "unit"} - {field}))]
    assert f'value="{good}" selected' in page.content.decode()


def test_sizes_are_shown_in_the_unit_that_is_asked_for(as_bob: Browser, design: Design) -> None:
    address = f"/designs/{design.pk}/to-buy/"
    metric = as_bob.get(address, {"paper": "a4", "unit": "mm"})
    inches = as_bob.get(address, {"paper": "a4", "unit": "in"})
    assert "as bought, mm" in said(metric)
    assert "as bought, in" in said(inches)
    assert metric.context["outlay"] == inches.context["outlay"]


def test_an_outsider_finds_nothing(as_charlie: Browser, design: Design, job: Commission) -> None:
    for address in (f"/designs/{design.pk}/to-buy/", f"/jobs/{job.pk}/to-buy/"):
        assert as_charlie.get(address).status_code == 404
        assert as_charlie.get(address, {"paper": "a4", "unit": "mm", "make": "pdf"}).status_code == 404


def test_a_stranger_is_sent_to_log_in(design: Design, alice: object) -> None:
    answer = Browser().get(f"/designs/{design.pk}/to-buy/")
    assert answer.status_code == 302
    assert "/log-in/" in answer["Location"]


def test_nothing_is_written_here(as_bob: Browser, design: Design) -> None:
    assert as_bob.post(f"/designs/{design.pk}/to-buy/").status_code == 405


def test_a_commission_without_a_design_leads_to_one(as_bob: Browser, studio: Studio) -> None:
    bare = CommissionFactory(studio=studio, design=None)
    answer = as_bob.get(f"/jobs/{bare.pk}/to-buy/")
    assert answer.status_code == 302
    assert answer["Location"] == f"/designs/new/?job={bare.pk}"


def test_titles_and_names_with_markup_are_shown_as_text(
    as_bob: Browser, studio: Studio, design: Design, job: Commission
) -> None:
    studio.woods.update(name="<script>wood</script>")
    for address in (
        f"/designs/{design.pk}/to-buy/",
        f"/jobs/{job.pk}/to-buy/",
        f"/designs/{design.pk}/estimate/",
    ):
        shown = as_bob.get(address).content.decode()
        assert "<script>wood" not in shown
        assert "&lt;script&gt;wood" in shown
        assert "<i>one" not in shown
        assert "<b>two" not in shown


def test_a_design_that_cannot_be_worked_out_says_why(as_bob: Browser, design: Design) -> None:
    band = design.parts.get().bands.first()
    assert band is not None
    type(band).objects.filter(pk=band.pk).update(thickness=400)
    page = as_bob.get(f"/designs/{design.pk}/to-buy/")
    assert page.status_code == 200
    assert "cannot be worked out" in said(page)


def amount(text: str) -> Decimal:
    return Decimal(re.sub(r"[^\d.]", "", text))


@pytest.mark.parametrize("unit", ["mm", "in"])
def test_the_estimate_says_where_the_wood_goes_and_every_table_adds_up(
    as_bob: Browser, studio: Studio, design: Design, unit: str
) -> None:
    studio.length_unit = unit
    studio.save()
    page = as_bob.get(f"/designs/{design.pk}/estimate/")
    every, woods = page.context["flow"], page.context["flow_woods"]
    for table in (every, *woods):
        assert sum(amount(row.volume) for row in table.rows) == amount(table.boards)
        assert sum(amount(row.money) for row in table.rows) == amount(table.charge)
        assert sum(amount(row.share) for row in table.rows) == 100
        assert all(row.why_volume and row.why_money for row in table.rows)
    assert sum(amount(table.boards) for table in woods) == amount(every.boards)
    _, estimate = estimate_design(design)
    assert amount(every.charge) == estimate.cost.wood
    assert "Where the wood goes" in said(page)
    assert page.content.decode().count("<svg") >= 2 * (1 + len(woods))


def test_a_working_subtracts_to_the_figure_beside_it(studio: Studio, design: Design) -> None:
    _, estimate = estimate_design(design)
    for row in wood_flow(estimate, studio=studio)["flow"].rows[1:-1]:
        first, second = re.findall(r"\d[\d,]*\.\d\d", row.why_volume)[:2]
        assert amount(first) - amount(second) == amount(row.volume), row.words


def test_a_woods_money_is_its_share_by_volume_of_its_own_charge(studio: Studio, design: Design) -> None:
    """The working's own figures, to the hundredth of a litre and the coin that they are printed to."""
    _, estimate = estimate_design(design)
    shown = wood_flow(estimate, studio=studio)
    for wood in shown["flow_woods"]:
        for row in wood.rows[1:]:
            part, charged, charge = map(amount, re.findall(r"\d[\d,]*\.\d\d", row.why_money))
            assert charge == amount(wood.charge)
            near = charge * Decimal("0.012") / charged + Decimal("0.02")
            assert abs(charge * part / charged - amount(row.money)) <= near
    for row in shown["flow"].rows[1:]:
        assert row.why_money == "The sum of each wood’s, which stand below."


def test_no_two_pictures_of_the_page_share_an_id(as_bob: Browser, design: Design) -> None:
    found = re.findall(r'\sid="([^"]+)"', as_bob.get(f"/designs/{design.pk}/estimate/").content.decode())
    assert len(found) == len(set(found))


def test_the_answer_has_the_flow_and_it_adds_up_to_the_cost_of_wood(design: Design) -> None:
    from estimating.answer import as_json

    _, estimate = estimate_design(design)
    found = as_json(estimate)
    parts = [part for wood in found["wood_flow"].values() for part in wood.values() if isinstance(part, dict)]
    assert sum(Decimal(part["money"]) for part in parts) == Decimal(found["cost"]["wood"])
    for wood, flow in found["wood_flow"].items():
        volumes = [part["volume"] for part in flow.values() if isinstance(part, dict)]
        assert sum(volumes) == flow["boards"] == round(found["wood"][wood]["boards"])
    assert [flow.wood for flow in flows_of(estimate)] == list(found["wood"])
    assert shopping_list(estimate).outlay == Decimal(found["cutting"]["outlay"])
