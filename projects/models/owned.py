"""How objects belong to a studio, and the one way to ask for them."""

from typing import TYPE_CHECKING, Any, ClassVar, Self

from django.contrib.auth.models import AbstractBaseUser, AnonymousUser
from django.db import models

if TYPE_CHECKING:
    from projects.models.studio import Studio


class StudioQuerySet(models.QuerySet):
    """Objects of one studio. Pages and API start every query with one of these two methods."""

    model: "type[StudioOwned]"  # type: ignore[assignment]  # narrower than any model

    def for_studio(self, studio: "Studio | int") -> Self:
        """Those that belong to a studio, given itself or its id."""
        return self.filter(**{self.model.studio_path: studio if isinstance(studio, int) else studio.pk})

    def for_member(self, user: AbstractBaseUser | AnonymousUser) -> Self:
        """Those of the studio that `user` works in; none for someone who works in none."""
        if not user.is_authenticated:
            return self.none()
        # A studio is its own: from it, the way to its members starts at once.
        way = "" if self.model.studio_path == "pk" else f"{self.model.studio_path}__"
        return self.filter(**{f"{way}members__user": user.pk})


class StudioOwned(models.Model):
    """Something of one studio's; `studio_path` is the way there, as a query writes it."""

    studio_path = "studio"

    objects: ClassVar[Any] = StudioQuerySet.as_manager()

    class Meta:
        abstract = True
