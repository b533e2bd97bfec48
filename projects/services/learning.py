"""Changing how the studio learns from its hours log."""

from typing import Any

from django.db import transaction

from projects.models import LearningSettings, Studio
from projects.services.saving import changed, checked


def learning_update(*, studio: Studio, **values: Any) -> LearningSettings:
    """Change how much the log counts, and what is gained by making a piece again.

    Errors: ValidationError keyed by field.
    """
    with transaction.atomic():
        Studio.objects.select_for_update(no_key=True).get(pk=studio.pk)  # two first changes make one row
        row = LearningSettings.objects.for_studio(studio).first() or LearningSettings(studio=studio)
        return checked(changed(row, values))
