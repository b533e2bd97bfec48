"""What travels with a piece: condition report and packing note, as printed and as handed out."""

from decimal import Decimal
from typing import Any

import pytest
from django.test import Client as Browser

from projects.models import PieceRecord, Studio
from projects.papers.piece_notes import LOOKED_AT, condition_pdf, packing_facts, packing_pdf
from projects.services.freezing import frozen_letterhead, frozen_species
from tests.factories import CommissionFactory
from tests.factories_records import RecordDrawingFactory, RecordFactory, RecordWoodFactory
from tests.projects.frozen import pages_of, text_of
from tests.projects.test_papers_pieces import EVIL, a_piece, check_accessible

pytestmark = pytest.mark.django_db


def facts(record: PieceRecord) -> dict[str, str]:
    found = dict(packing_facts(record, letterhead=frozen_letterhead(record.studio)))
    return {name: said.replace("\N{NO-BREAK SPACE}", " ") for name, said in found.items()}


def test_a_condition_report_is_signed_at_both_ends(studio: Studio) -> None:
    record = a_piece(studio, title=EVIL, place="consigned", place_words="Sill Gallery", mass_g=Decimal(900))
    RecordDrawingFactory(record=record)
    printed = condition_pdf(record, letterhead=frozen_letterhead(studio))
    text = text_of(printed)
    for said in (EVIL, "Condition report KH-7", "Sill Gallery", "about 900 g", *LOOKED_AT):
        assert said in text, said
    assert text.count("signed, name, date") == 2
    assert text.count("sound") == 2 * len(LOOKED_AT) + 1
    assert len(pages_of(printed)) == 1
    check_accessible(printed, title=f"Condition report KH-7: {EVIL}", figures=1)
    assert condition_pdf(record, letterhead=frozen_letterhead(studio)) == printed


def test_a_packing_note_has_the_box_its_masses_and_the_species(studio: Studio) -> None:
    pricing = studio.pricing
    pricing.box_padding, pricing.box_kg_m2 = Decimal(50), Decimal(1)
    pricing.save()
    record = a_piece(studio, mass_g=Decimal(900), title=EVIL)
    studio.woods.filter(key="walnut").update(origin="Ohio", protected_note="On no list.")
    species = frozen_species(studio, ["walnut", "maple"])
    printed = packing_pdf(record, letterhead=frozen_letterhead(studio), species=species)
    text = text_of(printed).replace("\N{NO-BREAK SPACE}", " ")
    # 90 high and 210 across with 50 on every side; its sides, 2 x 0.31^2 + 4 x 0.31 x 0.19 m2, weigh 0.43 kg.
    for said in (
        EVIL,
        "310 × 310 × 190 mm",
        "Gross mass about 1.3 kg",
        "Net mass about 900 g",
        "Value $480.00",
        "Wood: Juglans nigra, Acer saccharum.",
        "Juglans nigra 70 % Ohio On no list.",
        "ask their authorities",
    ):
        assert said in text, said
    assert len(pages_of(printed)) == 1
    check_accessible(printed, title=f"Packing note KH-7: {EVIL}", figures=0)


def test_what_is_not_known_of_a_parcel_is_left_to_be_written(studio: Studio) -> None:
    found = facts(RecordFactory(studio=studio, height=None, mass_g=None, price=None, form=""))
    empty = [name for name, said in found.items() if not said]
    unknown = ["Going to", "Net mass", "Box, outside", "Gross mass", "Value", "Insured for"]
    assert empty == [*unknown, "Tariff number", "Made in"]
    assert found["For customs"] == "Wooden piece, turned on a lathe by the sender, 2024; one piece."


@pytest.mark.parametrize(
    ("values", "said"),
    [
        ({}, ""),
        ({"insured_value": Decimal(700), "quantity": 1}, "$700.00, before tax"),
        # A value of two together is not that of one.
        ({"insured_value": Decimal(700), "quantity": 2}, ""),
    ],
)
def test_a_piece_is_insured_as_its_commission_says(studio: Studio, values: dict[str, Any], said: str) -> None:
    record = RecordFactory(studio=studio, commission=CommissionFactory(studio=studio, **values))
    assert facts(record)["Insured for"] == said


def test_both_are_handed_out_to_the_studio_alone(
    as_alice: Browser, as_charlie: Browser, studio: Studio
) -> None:
    record = RecordFactory(studio=studio, serial="KH-7", title="Harbour bowl")
    RecordWoodFactory(record=record)
    page = as_alice.get(f"/log/{record.pk}/").content.decode()
    for name in ("condition", "packing"):
        address = f"/log/{record.pk}/{name}.pdf"
        assert address in page
        answer = as_alice.get(address)
        assert answer["Content-Disposition"] == f'inline; filename="{name}-kh-7.pdf"'
        assert "Harbour bowl" in text_of(answer.content)
        assert as_charlie.get(address).status_code == 404
