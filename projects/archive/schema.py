"""What an archive carries: every model of the app, from its fields; and what it leaves out, each with the reason.

An archive is a ZIP file:

    manifest.json               format, schema, made_at, turnery, studio, passwords, rows, missing, members
    rows/<model>.jsonl          a row a line, as JSON: id, and every field by its name
    files/<model>/<id>/<field>  photos and PDFs as they are

`rows` has {model: {count, fields}} in the order in which rows are put in, `members` {name: {size, sha256}} of all but
the manifest. Ids count from 1 within a model and hold within the archive alone. Decimals are text, days and moments
ISO 8601, moments with their offset; a file's field has its member's name, empty for none, or {"missing": true}. People
are log-ins: the rows of members refer to them. A field that a later program adds is read as its default; one that this
program does not know is refused.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from django.apps import apps
from django.contrib.auth.models import User

from projects import models
from projects.archive.references import MAPPED, Model

FORMAT = "turnery-studio"
VERSION = 1
MANIFEST = "manifest.json"

LEFT_OUT: Mapping[Model, str] = {
    models.FeedAddress: "An address that opens without a password is not handed on: its owner makes a new one.",
}
"""Models of which no row is carried. No other model may refer to one."""

WITHHELD: Mapping[tuple[Model, str], str] = {
    (models.ClientLink, "nonce"): "The link's address is made from it. Restored links are revoked.",
    (models.ClientLink, "token_hash"): "A request is known by it. Restored links are revoked.",
}
"""Fields that are not carried of models that are: secrets, which are drawn anew."""

PERSON = ("username", "first_name", "last_name", "email", "is_active", "date_joined")
"""What is carried of a log-in, and its password's hash where that is asked for."""

NOT_OF_A_PERSON: Mapping[str, str] = {
    "id": "Ids are the archive's own.",
    "password": "Only where it is asked for. Otherwise the log-in has no password until one is set.",
    "is_staff": "What a person may do on one server is that server's to say.",
    "is_superuser": "What a person may do on one server is that server's to say.",
    "groups": "What a person may do on one server is that server's to say.",
    "user_permissions": "What a person may do on one server is that server's to say.",
    "last_login": "It tells of the old server.",
}
"""The other fields of a log-in, and why they stay behind."""

EARLIER_NUMBERS: Mapping[tuple[Model, str], Model] = {
    (models.HoursChange, "entry_number"): models.HoursEntry,
}
"""Plain numbers that are the id of a row which may be gone; a gone one gets a number that no row will ever have."""


@dataclass(frozen=True)
class Carried:
    """A model as the archive has it: its name there, its fields, and its many-to-many fields."""

    model: Model
    name: str
    fields: tuple[Any, ...]
    many: tuple[Any, ...] = ()

    @property
    def names(self) -> list[str]:
        """The keys of a row but its id."""
        return [field.name for field in (*self.fields, *self.many)]

    @property
    def refers_to(self) -> set[Model]:
        """The models whose rows its rows refer to, but itself."""
        fields = [field for field in (*self.fields, *self.many) if field.is_relation]
        found = {field.related_model for field in fields}
        for name in self.names:
            if (self.model, name) in MAPPED:
                found |= set(MAPPED[self.model, name].models)
            if (self.model, name) in EARLIER_NUMBERS:
                found.add(EARLIER_NUMBERS[self.model, name])
        return found - {self.model}


@cache
def carried(*, passwords: bool = False) -> tuple[Carried, ...]:
    """Everything that is carried, each model after all that it refers to but itself."""
    people = Carried(
        User, "person", tuple(map(User._meta.get_field, (*PERSON, *(("password",) if passwords else ()))))
    )
    waiting = [_of(model) for model in apps.get_app_config("projects").get_models() if model not in LEFT_OUT]
    placed = [people]
    while waiting:
        known = {one.model for one in placed}
        ready = [one for one in waiting if one.refers_to <= known]
        if not ready:
            raise TypeError(f"These refer to one another in a ring: {[one.name for one in waiting]}")
        placed += ready
        waiting = [one for one in waiting if one not in ready]
    return tuple(placed)


def _of(model: Model) -> Carried:
    fields = [
        field
        for field in model._meta.concrete_fields
        if (field.is_relation or not field.primary_key) and (model, field.name) not in WITHHELD
    ]
    return Carried(model, str(model._meta.model_name), tuple(fields), tuple(model._meta.many_to_many))


def rows_of(one: Carried, studio: models.Studio) -> Any:
    """A studio's rows of a model, the oldest first."""
    if one.model is User:
        return User.objects.filter(member__studio=studio).order_by("pk")
    found: Any = one.model
    # A model of which some rows are taken out of sight names the manager that has them all.
    rows = getattr(found, "everything", found.objects)
    return rows.for_studio(studio).order_by("pk")


def rows_name(one: Carried) -> str:
    """The member that its rows are in."""
    return f"rows/{one.name}.jsonl"


class UnreadableArchive(ValueError):
    """An archive that cannot be taken in: where, and why."""


class UnwritableArchive(ValueError):
    """A studio that cannot be written down as it is: where, and why."""
