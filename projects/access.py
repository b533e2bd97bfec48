"""Which studio a log-in works in."""

from typing import TYPE_CHECKING

from django.contrib.auth.models import AbstractBaseUser, AnonymousUser
from django.core.exceptions import PermissionDenied

from projects.models import Member, Studio

if TYPE_CHECKING:
    from django.contrib.auth.models import User


def member_of(user: "User | AbstractBaseUser | AnonymousUser") -> Member:
    """The membership of a log-in; PermissionDenied for one that works in no studio."""
    member: Member | None = (
        Member.objects.for_member(user).select_related("studio", "user").filter(user=user.pk).first()
    )
    if member is None:
        raise PermissionDenied("This log-in belongs to no studio. Ask the studio's owner to add it.")
    return member


def studio_of(user: "User | AbstractBaseUser | AnonymousUser") -> Studio:
    """The studio a log-in works in; PermissionDenied for one that works in none."""
    return member_of(user).studio
