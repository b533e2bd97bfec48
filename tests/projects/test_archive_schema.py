"""Nothing is forgotten: every model, field and JSON field of the app is carried, or left behind for a reason."""

from typing import Any

import pytest
from django.contrib.auth.models import User
from django.db import models as db

from projects import models
from projects.archive.references import ATTACHED, MAPPED, WITHOUT_IDS
from projects.archive.schema import (
    EARLIER_NUMBERS,
    LEFT_OUT,
    NOT_OF_A_PERSON,
    PERSON,
    WITHHELD,
    carried,
)
from projects.archive.values import IN_FILES, is_plain
from projects.services import letters
from tests.projects.archived import projects_models


def _fields(model: type[db.Model]) -> list[Any]:
    return [*model._meta.concrete_fields, *model._meta.many_to_many]


def test_every_model_is_carried_or_left_out_for_a_reason() -> None:
    assert {one.model for one in carried()} - {User} | set(LEFT_OUT) == set(projects_models())
    assert not {one.model for one in carried()} & set(LEFT_OUT)
    assert all(
        len(reason) > 20 for reason in (*LEFT_OUT.values(), *WITHHELD.values(), *NOT_OF_A_PERSON.values())
    )


@pytest.mark.parametrize("model", projects_models(), ids=lambda model: model.__name__)
def test_every_field_is_carried_or_withheld_for_a_reason(model: type[db.Model]) -> None:
    if model in LEFT_OUT:
        return
    one = next(one for one in carried() if one.model is model)
    withheld = {name for owner, name in WITHHELD if owner is model}
    own_id = {
        field.name for field in model._meta.concrete_fields if field.primary_key and not field.is_relation
    }
    assert {*one.names, *withheld, *own_id} == {field.name for field in _fields(model)}
    for field in one.fields:
        known = field.is_relation or field.get_internal_type() in IN_FILES or is_plain(field)
        assert known, f"{field} is of a kind that no archive can carry yet"


def test_what_is_known_of_people_is_carried_or_left_behind_for_a_reason() -> None:
    assert {*PERSON, *NOT_OF_A_PERSON} == {field.name for field in _fields(User)}


@pytest.mark.parametrize("model", projects_models(), ids=lambda model: model.__name__)
def test_it_is_known_of_every_json_field_whether_ids_stand_in_it(model: type[db.Model]) -> None:
    """A new one asks its author: map the ids in projects/archive/references.py, or say there why none are in it."""
    for field in model._meta.concrete_fields:
        if field.get_internal_type() == "JSONField":
            key = (model, field.name)
            assert (key in MAPPED) != (key in WITHOUT_IDS), f"{model.__name__}.{field.name}"


def test_nothing_is_said_of_fields_that_are_not_there() -> None:
    for model, name in (*MAPPED, *WITHOUT_IDS, *WITHHELD, *EARLIER_NUMBERS):
        assert model._meta.get_field(name)


def test_every_field_that_refers_to_another_row_leads_to_what_is_carried() -> None:
    """And to what came before it, so that a row never has to wait for another model's."""
    known: set[Any] = set()
    for one in carried():
        assert one.refers_to <= known, one.name
        known.add(one.model)


def test_no_value_has_to_be_unlike_that_of_every_other_studio_but_these() -> None:
    """What is unique on the whole server cannot be put in twice: such a field is drawn anew, or asked about."""
    unique = {
        (model, field.name)
        for model in projects_models()
        for field in model._meta.concrete_fields
        if field.unique and not field.is_relation and not field.primary_key
    }
    assert unique == {*WITHHELD, (models.FeedAddress, "token_hash")}
    assert User._meta.get_field("username").unique


def test_whatever_may_go_with_a_letter_can_be_found_again() -> None:
    assert ATTACHED == letters.ATTACHED
