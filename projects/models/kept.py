"""Rows that are only ever added: history, and papers handed out."""

from typing import Any, ClassVar

from django.core.exceptions import ValidationError

from projects.models.owned import StudioOwned, StudioQuerySet


class KeptQuerySet(StudioQuerySet):
    """Rows that are neither changed nor thrown away in bulk."""

    def update(self, **kwargs: Any) -> int:
        """Refuse."""
        raise ValidationError(self.model.KEPT)  # type: ignore[attr-defined]  # a Kept has it

    def delete(self) -> tuple[int, dict[str, int]]:
        """Refuse."""
        raise ValidationError(self.model.KEPT)  # type: ignore[attr-defined]  # a Kept has it


class Kept(StudioOwned):
    """A row that is added and then stays as it is; `KEPT` says so to whoever tries to change it."""

    KEPT = "This is only added to."

    objects: ClassVar[Any] = KeptQuerySet.as_manager()

    class Meta:
        abstract = True

    def save(self, *args: Any, **kwargs: Any) -> None:
        """Add it; refuse to change one that is there."""
        if not self._state.adding:
            raise ValidationError(self.KEPT)
        super().save(*args, **kwargs)

    def delete(self, *args: Any, **kwargs: Any) -> tuple[int, dict[str, int]]:
        """Refuse."""
        raise ValidationError(self.KEPT)
