"""What is settled of delivery, damage, joints and rights, in words; who the parties are, and why no tax is charged."""

from decimal import ROUND_HALF_UP, Decimal
from typing import Any

import pytest

from projects.models import PaperDefaults, Studio
from projects.papers.between import between_lines, insured_value, packed
from projects.papers.clauses import edition, protected_clauses, settled_clauses, window
from projects.papers.parties import client_lines, studio_lines, untaxed_because
from projects.papers.quote import quote_context
from projects.papers.terms import STANDARD_TERMS, Clause, clauses, in_full
from projects.pricing_data import pricing_of
from projects.services.freezing import USUAL
from tests.factories import ClientFactory, CommissionFactory, StudioFactory
from tests.projects.frozen import frozen_quote

CENT = Decimal("0.01")
USUALLY: dict[str, Any] = {name: getattr(PaperDefaults(), name) for name in USUAL}


def said(usual: dict[str, Any] | None = None, **delivery: Any) -> dict[str, str]:
    found = settled_clauses(USUALLY if usual is None else USUALLY | usual, delivery)
    return {clause.head: clause.body for clause in found}


def test_what_a_studio_usually_agrees_is_said_in_full() -> None:
    found = said(ships="studio")
    assert list(found) == ["Delivery.", "Damage.", "Returns.", "Joints."]
    assert found["Delivery."] == (
        "The studio sends it, packed and insured. It becomes the buyer’s when it is paid in full; its risk passes when "
        "it is delivered."
    )
    assert "within three days, with photographs" in found["Damage."]
    assert found["Returns."].startswith("A piece made to order is not taken back. Rights that the law gives")
    assert "for twelve months in a room kept between 40 and 55\u00a0% humidity" in found["Joints."]


def test_every_choice_changes_what_is_said_and_nothing_is_said_of_nothing() -> None:
    other = said(
        {
            "title_passes": "delivered",
            "risk_passes": "handed_over",
            "report_days": 0,
            "return_days": 1,
            "warranty_months": 1,
            "repairs": "we mend it",
            "signature": "signed under the foot",
            "copyright_words": "Ours.",
        },
        ships="client",
        edition="series",
        edition_number=3,
        edition_size=12,
    )
    assert (
        "becomes the buyer’s when it is delivered; its risk passes when it is handed to the carrier."
        in other["Delivery."]
    )
    assert other["Delivery."].startswith("The client fetches it at the studio.")
    assert "reported at once" in other["Damage."]
    assert "within one day of its arrival" in other["Returns."]
    assert "for one month in a room" in other["Joints."]
    assert other["Repairs."] == "we mend it."
    assert other["The piece."] == "It is number 3 of a series of 12. Signed under the foot."
    assert other["Copyright."] == "Ours."
    assert "Joints." not in said({"warranty_months": 0})
    assert settled_clauses({}, {}) == []
    assert said(payment_days=14)["Payment."] == "Each request for money is due within 14 days of its date."
    assert said(payment_days=0)["Payment."] == "Each request for money is due on its date."


@pytest.mark.parametrize(
    ("first", "last", "wanted"),
    [
        ("2027-05-03", "2027-05-14", "between 3 May and 14 May 2027"),
        ("2026-12-28", "2027-01-09", "between 28 December 2026 and 9 January 2027"),
        ("2027-05-03", "2027-05-03", "on 3 May 2027"),
        ("2027-05-03", None, "from 3 May 2027"),
        (None, "2027-05-14", "by 14 May 2027"),
        (None, None, ""),
    ],
)
def test_a_window_is_said_in_days(first: str | None, last: str | None, wanted: str) -> None:
    assert window({"ready_from": first, "ready_to": last}) == wanted


def test_a_quote_says_the_window_agreed_in_the_place_of_the_usual_lead_time() -> None:
    agreed = frozen_quote(addressee={"delivery": {"ready_to": "2027-05-14"}})
    for quote, wanted in ((frozen_quote(), "7 to 9 weeks from the deposit"), (agreed, "By 14 May 2027")):
        assert ("Ready", [wanted]) in quote_context(quote, copy="client")["facts"]


def test_a_piece_is_unique_or_one_of_a_series_or_nothing_is_said() -> None:
    assert edition({"edition": "unique"}) == "It is unique and will not be made again as it stands here."
    assert edition({"edition": ""}) == edition({}) == ""


def test_protected_woods_alike_are_said_once_with_both_names() -> None:
    woods = [
        {"name": "cocobolo", "botanical": "Dalbergia retusa", "protected_note": "CITES Appendix II"},
        {"name": "rosewood", "botanical": "Dalbergia latifolia", "protected_note": "CITES Appendix II"},
        {"name": "maple", "botanical": "Acer", "protected_note": ""},
    ]
    wanted = "cocobolo (Dalbergia retusa), rosewood (Dalbergia latifolia): CITES Appendix II."
    assert protected_clauses(woods) == [Clause("Protected.", wanted)]


def test_terms_in_full_come_back_as_the_clauses_they_were_made_of() -> None:
    settled = settled_clauses(USUALLY, {"ships": "studio"})
    whole = in_full("", settled)
    assert clauses(whole) == [*clauses(STANDARD_TERMS), *settled]
    own = in_full("Joints: they hold for ever.", settled)
    assert [clause.body for clause in clauses(own) if clause.head == "Joints."] == ["they hold for ever."]


def test_parties_are_named_with_what_is_known_of_them() -> None:
    studio = {
        "address": "4 Lane\nBay",
        "email": "a@b.example",
        "tax_number": "QB-77",
        "legal_name": "Bay Ltd",
        "company_number": "12",
    }
    assert studio_lines(studio) == [
        "Bay Ltd, company number 12",
        "4 Lane, Bay",
        "a@b.example · Tax number QB-77",
    ]
    assert studio_lines({}) == []
    client = {
        "name": "G",
        "contact": "P",
        "legal_name": "G Ltd",
        "address": "1 Row\n\nTown",
        "tax_number": "T-1",
    }
    assert client_lines(client) == ["G, P", "G Ltd", "1 Row", "Town", "Tax number T-1"]


def test_a_rule_stands_beside_our_words_where_the_studio_charges_tax_otherwise() -> None:
    head = {"tax_status": "charged", "tax_note": "Article 196.", "tax_name": "VAT"}
    assert untaxed_because(head, {"tax_status": "reverse"}) == (
        "Reverse charge: the client accounts for the VAT. Article 196."
    )
    assert untaxed_because(head, {"tax_status": "usual"}) == untaxed_because({}, {}) == ""


@pytest.mark.parametrize(
    ("mode", "via", "wanted"),
    [
        ("consignment", "direct", "The gallery pays the studio a deposit of {part} with the order."),
        ("consignment", "gallery_whole", "is paid to the gallery, which passes it on whole."),
        ("consignment", "gallery_less", "is paid to the gallery, which passes on {part}: less its share."),
        ("commission", "direct", "is paid to the studio."),
        ("purchase", "direct", ""),
    ],
)
def test_between_gallery_and_studio_it_is_said_who_invoices_whom_and_how_the_deposit_goes(
    mode: str, via: str, wanted: str
) -> None:
    quote = frozen_quote(pricing={"gallery_mode": mode})
    lines = between_lines(quote.estimate, quote.sheet["pricing"], {"deposit_via": via})
    # The studio's part is its net with tax at 8.25 % on it, of which the deposit is 40 %.
    net = Decimal(quote.estimate["price"]["net"])
    part = (net + (net * Decimal("0.0825")).quantize(CENT, ROUND_HALF_UP)) * Decimal("0.4")
    wanted = wanted.replace("{part}", f"${part.quantize(CENT, ROUND_HALF_UP):,}")
    assert "invoices" in lines[0]
    assert len(lines) == (3 if wanted else 2)
    assert not wanted or lines[1].endswith(wanted)
    assert lines[-1].startswith("Insured for $")
    assert between_lines(quote.estimate, quote.sheet["pricing"], {}) == []


def test_the_insured_value_is_the_net_unless_another_is_agreed() -> None:
    estimate = frozen_quote().estimate
    assert insured_value(estimate, {}) == Decimal(estimate["price"]["net"])
    assert insured_value(estimate, {"insured_value": "1500.0000"}) == 1500


def test_the_box_is_said_where_carriage_was_worked_out() -> None:
    box = {"width": 240.0, "height": 220.4, "gross_kg": 1.25}
    estimate = {"money": {"carriage": {"boxes": 2, "box": box}}}
    assert packed(estimate, {"length_unit": "mm"}) == "2 boxes, 240 × 240 × 220\u00a0mm, about 1.2 kg each"
    assert packed({"money": {}}, {}) == ""


@pytest.mark.django_db
@pytest.mark.parametrize("usual_client", [True, False])
@pytest.mark.parametrize("registered", [True, False])
def test_tax_is_charged_where_the_studio_charges_it_and_the_client_is_as_usual(
    registered: bool, usual_client: bool
) -> None:
    studio: Studio = StudioFactory(tax_status="charged" if registered else "none")
    row = studio.pricing
    row.tax, row.tax_inclusive, row.freight_tax = Decimal("0.2"), True, Decimal("0.05")
    row.save()
    client = ClientFactory(studio=studio, tax_status="usual" if usual_client else "export")
    commission = CommissionFactory(studio=studio, client=client, tax=Decimal("0.3"))
    found = pricing_of(studio, adhesive=None, commission=commission)
    if registered and usual_client:
        assert (found.tax, found.tax_inclusive, found.rates[1]) == (Decimal("0.3"), True, Decimal("0.05"))
    else:
        assert found.rates == (0, 0, 0, 0)
        assert not found.tax_inclusive
