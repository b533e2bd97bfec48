"""Links from one record to another: what is not the caller's own studio's does not exist."""

from typing import Any

from rest_framework.relations import PrimaryKeyRelatedField, SlugRelatedField

from projects.models import Wood
from projects.models.owned import StudioOwned


class OwnRelatedField(PrimaryKeyRelatedField):
    """A link by number to an object of the caller's own studio."""

    def __init__(self, *, to: type[StudioOwned], **options: Any) -> None:
        super().__init__(queryset=to.objects.all(), **options)
        self.to = to

    def get_queryset(self) -> Any:
        """Only what the caller may see."""
        return self.to.objects.for_member(self.context["request"].user)


class OwnWoodField(SlugRelatedField):
    """A wood of the caller's own studio, by its key."""

    def __init__(self, **options: Any) -> None:
        super().__init__(slug_field="key", queryset=Wood.objects.all(), **options)

    def get_queryset(self) -> Any:
        """Only the caller's woods."""
        return Wood.objects.for_member(self.context["request"].user)
