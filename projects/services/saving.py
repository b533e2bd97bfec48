"""The checked write that every service ends in."""

from collections.abc import Callable, Iterable, Mapping
from typing import Any, TypeVar

from django.core.exceptions import FieldError, ValidationError
from django.db import DatabaseError, IntegrityError, connections, models, router, transaction
from django.db.models.functions import Coalesce
from django.db.models.sql import Query
from django.db.models.sql.constants import SINGLE

M = TypeVar("M", bound=models.Model)

# What ties an object to its studio is set when it is made and never by an edit.
FIXED = frozenset({"id", "pk", "studio", "studio_id"})


def checked(instance: M, *, exclude: Iterable[str] = ()) -> M:
    """Check an object as its model says, save it, and return it; ValidationError keyed by field otherwise."""
    try:
        with transaction.atomic():
            _clean(instance, exclude=set(exclude))
            instance.save()
    except IntegrityError:
        # Someone else's write came between the check and the save: checking again finds it and says so.
        instance.full_clean(exclude=set(exclude))
        raise ValidationError("The database refused this. Nothing was saved; try again.") from None
    return instance


def held_to(instance: M, *, known: Iterable[str], asking: bool = True) -> M:
    """Check an object as its model says, and return it unsaved: for many that are written at once.

    Of the fields that are `known` to be right nothing is asked, nor whether any is there once: that is the caller's.
    Without `asking` the table's own rules are left to the table. Errors: ValidationError keyed by field.
    """
    known, errors = set(known), dict[str, Any]()
    try:
        instance.full_clean(exclude=known, validate_unique=False, validate_constraints=False)
    except ValidationError as refusal:
        errors = refusal.update_error_dict(errors)
    if asking:
        try:
            _hold(instance, exclude=known | set(errors), surely=not errors)
        except ValidationError as refusal:
            errors = refusal.update_error_dict(errors)
    if errors:
        raise ValidationError(errors)
    return instance


def _hold(instance: models.Model, *, exclude: set[str], surely: bool) -> None:
    """Ask about all constraints at once where all may `surely` hold, else about each."""
    checks = [one for one in instance._meta.constraints if isinstance(one, models.CheckConstraint)]
    using = router.db_for_write(type(instance), instance=instance)
    if not surely or not _all_hold(instance, checks, exclude=set(), using=using):
        instance.validate_constraints(exclude=exclude)


def _clean(instance: models.Model, *, exclude: set[str]) -> None:
    """What `full_clean` does, and its errors, but where nothing is wrong with fewer questions.

    Django asks the database about each check constraint by itself, which is most of what a write takes.
    """
    constraints = [constraint for _, several in instance.get_constraints() for constraint in several]
    checks = [one for one in constraints if isinstance(one, models.CheckConstraint)]
    using = router.db_for_write(type(instance), instance=instance)
    try:
        instance.full_clean(exclude=exclude, validate_constraints=False)
        for other in constraints:
            if other not in checks:
                other.validate(type(instance), instance, exclude=exclude, using=using)
        sound = _all_hold(instance, checks, exclude=exclude, using=using)
    except ValidationError:
        sound = False
    if not sound:
        instance.full_clean(exclude=exclude)


def _all_hold(
    instance: models.Model, checks: list[models.CheckConstraint], *, exclude: set[str], using: str
) -> bool:
    """Whether all constraints surely hold, asked at once; False where only each by itself can tell."""
    if not connections[using].features.supports_comparing_boolean_expr:
        return False
    question = Query(None)
    values = instance._get_field_expression_map(meta=instance._meta, exclude=exclude)  # type: ignore[attr-defined]
    for name, value in values.items():
        value = value if hasattr(value, "resolve_expression") else models.Value(value)
        question.add_annotation(value, name, select=False)
    question.add_annotation(models.Value(1), "_check")
    try:
        for check in checks:
            # What is unknown is no violation, as in a table.
            holds = Coalesce(models.Q(check.condition), True, output_field=models.BooleanField())
            question.add_q(models.Q(holds))
        with transaction.atomic(using=using):
            return question.get_compiler(using=using).execute_sql(SINGLE) is not None
    except (FieldError, DatabaseError):
        return False


def changed(instance: M, values: Mapping[str, Any]) -> M:
    """Set fields of an object without saving; TypeError for a name that is no field a form may set."""
    open_fields = {field.name for field in instance._meta.concrete_fields if field.editable} - FIXED
    for name, value in values.items():
        if name not in open_fields:
            raise TypeError(f"{type(instance).__name__} has no field {name!r} that may be changed.")
        setattr(instance, name, value)
    return instance


def gather(checks: Iterable[tuple[str, Callable[[], object]]]) -> None:
    """Run every check and raise what they refuse all at once, each place under its check's prefix."""
    refused: dict[str, list[str]] = {}
    for prefix, check in checks:
        try:
            check()
        except ValidationError as refusal:
            for place, messages in placed(refusal, prefix=prefix).items():
                refused.setdefault(place, []).extend(messages)
    if refused:
        raise ValidationError(refused)


def placed(refusal: ValidationError, *, prefix: str) -> dict[str, list[str]]:
    """The messages of a refusal by place, `prefix` before every field."""
    if not hasattr(refusal, "error_dict"):
        return {prefix: list(refusal.messages)}
    return {
        prefix if field == "__all__" else f"{prefix}.{field}" if prefix else field: list(messages)
        for field, messages in refusal.message_dict.items()
    }
