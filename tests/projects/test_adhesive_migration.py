"""Adhesives of before labels were asked for get their kind's usual figures, and are to be read again."""

from decimal import Decimal

import pytest

from tests.conftest import Migrate

pytestmark = pytest.mark.django_db(transaction=True)

BEFORE, AFTER = "0016_planing_and_matching", "0017_adhesive_labels"


def test_adhesives_keep_what_they_are_and_get_the_figures_of_their_kind(migrate: Migrate) -> None:
    old = migrate(BEFORE)
    studio = old.get_model("projects", "Studio").objects.create(name="Fern Gully")
    make = old.get_model("projects", "Adhesive").objects.create
    kept = {"set_min": 77, "cure_min": 999, "pot_life_min": Decimal("12.5"), "film": Decimal("0.15")}
    make(studio=studio, name="Ours", kind="epoxy", label_read=True, note="Shelf B", **kept)
    make(studio=studio, name="White", kind="pva", ratio_b=0)
    make(studio=studio, name="Pot", kind="hide", ratio_b=0)

    adhesives = migrate(AFTER).get_model("projects", "Adhesive").objects
    ours, white, pot = (adhesives.get(name=name) for name in ("Ours", "White", "Pot"))
    assert {name: getattr(ours, name) for name in kept} == kept
    assert (ours.slower_c, ours.least_c, ours.pressure_high, ours.exotherm_ml) == (10, 15, Decimal("0.2"), 90)
    assert (white.slower_c, white.least_c, white.pressure_low) == (Decimal("8.3"), 10, Decimal("0.69"))
    assert (pot.slower_c, pot.cleaner) == (0, "warm water")
    for adhesive in (ours, white, pot):
        assert (adhesive.mass_a, adhesive.mass_b, adhesive.open_min) == (None, None, 0)
    assert not ours.label_read
    assert ours.note.startswith("Shelf B\nIts label was read before")
    assert white.note == ""


def test_a_cyanoacrylate_goes_back_as_another_adhesive(migrate: Migrate) -> None:
    new = migrate(AFTER)
    studio = new.get_model("projects", "Studio").objects.create(name="Fern Gully")
    new.get_model("projects", "Adhesive").objects.create(studio=studio, name="Quick", kind="ca", ratio_b=0)
    assert migrate(BEFORE).get_model("projects", "Adhesive").objects.get().kind == "other"
