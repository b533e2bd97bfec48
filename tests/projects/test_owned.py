"""Every record belongs to a studio: a query for one holds nothing of another, nor may records of two be joined."""

from typing import Any

import pytest
from django.apps import apps
from django.core.exceptions import ValidationError

from projects.models import Studio, Wood
from projects.models.owned import StudioOwned
from tests.factories import (
    AdhesiveFactory,
    ClientFactory,
    CommissionFactory,
    DesignFactory,
    HoursEntryFactory,
    MemberFactory,
    QuoteFactory,
)
from tests.furnished import furnish

pytestmark = pytest.mark.django_db


def _owned_models() -> list[type[StudioOwned]]:
    return list(apps.get_app_config("projects").get_models())


def test_every_record_belongs_to_a_studio() -> None:
    for model in _owned_models():
        assert issubclass(model, StudioOwned), model
        assert hasattr(model.objects, "for_studio"), model


def test_a_query_for_one_studio_holds_nothing_of_another(
    studio: Studio, other_studio: Studio, alice: Any, charlie: Any
) -> None:
    """Two studios with one of everything: each model's rows part into the two, none in both or in neither."""
    furnish(studio)
    furnish(other_studio)
    for model in _owned_models():
        mine = set(model.objects.for_studio(studio).values_list("pk", flat=True))
        theirs = set(model.objects.for_studio(other_studio).values_list("pk", flat=True))
        everything = set(model.objects.values_list("pk", flat=True))
        assert mine, model
        assert theirs, model
        assert not mine & theirs, model
        assert mine | theirs == everything, model
        assert set(model.objects.for_member(alice).values_list("pk", flat=True)) == mine, model
        assert set(model.objects.for_member(charlie).values_list("pk", flat=True)) == theirs, model


def test_someone_who_is_not_logged_in_sees_nothing(studio: Studio) -> None:
    from django.contrib.auth.models import AnonymousUser

    assert list(Wood.objects.for_member(AnonymousUser())) == []
    assert Wood.objects.for_studio(studio).count() == 2


def test_a_commission_takes_no_client_or_design_of_another_studio(
    studio: Studio, other_studio: Studio
) -> None:
    commission = CommissionFactory(studio=studio)
    commission.client = ClientFactory(studio=other_studio)
    commission.design = DesignFactory(studio=other_studio)
    with pytest.raises(ValidationError) as refusal:
        commission.full_clean()
    assert set(refusal.value.message_dict) == {"client", "design"}


def test_a_design_takes_no_adhesive_of_another_studio(studio: Studio, other_studio: Studio) -> None:
    design = DesignFactory(studio=studio)
    design.adhesive = AdhesiveFactory(studio=other_studio)
    with pytest.raises(ValidationError) as refusal:
        design.full_clean()
    assert set(refusal.value.message_dict) == {"adhesive"}


def test_hours_take_no_member_of_another_studio(studio: Studio, other_studio: Studio) -> None:
    entry = HoursEntryFactory(commission__studio=studio)
    entry.member = MemberFactory(studio=other_studio)
    with pytest.raises(ValidationError) as refusal:
        entry.full_clean()
    assert set(refusal.value.message_dict) == {"member"}


def test_a_quote_takes_no_commission_of_another_studio(studio: Studio, other_studio: Studio) -> None:
    quote = QuoteFactory(commission=CommissionFactory(studio=studio))
    quote.commission = CommissionFactory(studio=other_studio)
    with pytest.raises(ValidationError) as refusal:
        quote.full_clean()
    assert set(refusal.value.message_dict) == {"commission"}
