"""A checked write asks about all constraints at once, and refuses what Django's checks refuse, in the same words."""

from decimal import Decimal
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.db import connection, models
from django.test.utils import CaptureQueriesContext

from projects.models import Adhesive, Board, ShopSettings, Studio, Wood
from projects.services.saving import checked
from tests.factories import AdhesiveFactory, BoardFactory

pytestmark = pytest.mark.django_db


def refused(act: Any) -> dict[str, list[str]]:
    with pytest.raises(ValidationError) as refusal:
        act()
    return refusal.value.message_dict


def checks(model: type[models.Model]) -> int:
    return sum(isinstance(one, models.CheckConstraint) for one in model._meta.constraints)


def test_all_checks_of_a_sound_object_are_one_question(studio: Studio) -> None:
    shop = ShopSettings.objects.get(studio=studio)
    with CaptureQueriesContext(connection) as asked:
        checked(shop)
    assert checks(ShopSettings) > 20
    assert len([query for query in asked if "COALESCE" in query["sql"]]) == 1


@pytest.mark.parametrize(
    "wrong",
    [
        {"price_per_ml": Decimal(-1)},  # one constraint
        {"set_min": 0, "ratio_a": Decimal(0), "price_per_ml": Decimal(-1)},  # several
        {"name": ""},  # a field
        {"name": "", "set_min": -1},  # a field and a constraint
        {"set_min": None},  # unknown in a constraint
        {"name": "Epoxy"},  # another has it
        {"price_per_ml": Decimal(10) ** 30},  # more than its column holds
    ],
)
def test_what_is_refused_is_refused_as_by_full_clean(studio: Studio, wrong: dict[str, Any]) -> None:
    adhesive = AdhesiveFactory(studio=studio, name="Other")
    for name, value in wrong.items():
        setattr(adhesive, name, value)
    assert refused(lambda: checked(adhesive)) == refused(adhesive.full_clean)
    assert Adhesive.objects.get(pk=adhesive.pk).name == "Other"


def test_constraints_over_two_fields_are_among_those_asked(studio: Studio) -> None:
    board: Board = BoardFactory(wood=studio.woods.get(key="maple"), count=1)
    board.reserved = 2
    assert refused(lambda: checked(board)) == refused(board.full_clean)


def test_a_field_left_out_leaves_out_what_needs_it(studio: Studio) -> None:
    wood = Wood(studio=studio, key="plum", name="plum", botanical="Prunus", density=-1)
    assert "density" in str(refused(lambda: checked(wood)))
    with pytest.raises(ValidationError) as alone:
        wood.full_clean(exclude={"studio"})
    with pytest.raises(ValidationError) as ours:
        checked(wood, exclude={"studio"})
    assert ours.value.message_dict == alone.value.message_dict


def test_what_the_database_cannot_work_out_is_asked_one_by_one(studio: Studio, monkeypatch: Any) -> None:
    # An error in one constraint must not pass for an answer to the others.
    adhesive = AdhesiveFactory(studio=studio, name="Other")
    strange = models.CheckConstraint(condition=models.Q(no_such_field__gt=0), name="strange")
    monkeypatch.setattr(Adhesive._meta, "constraints", [strange, *Adhesive._meta.constraints])
    checked(adhesive)
    adhesive.price_per_ml = Decimal(-1)
    assert refused(lambda: checked(adhesive)) == refused(adhesive.full_clean)
