"""Recording the settings of the saw that worked, and finding the last one for an angle."""

from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Any

from projects.models import Commission, Member, Studio
from projects.models.saw_settings import RingClosed, SawSetting
from projects.services.saving import changed, checked

SawAngle = tuple[Decimal, Decimal]
"""Miter and tilt in degrees, to the thousandth."""


def saw_setting_record(
    *, studio: Studio, member: Member, commission: Commission | None = None, **values: Any
) -> SawSetting:
    """Record a setting as it was proven.

    Errors: ValidationError keyed by field.
    """
    setting = SawSetting(studio=studio, member=member, commission=commission)
    return checked(changed(setting, values))


def saw_setting_delete(*, setting: SawSetting) -> None:
    """Take a setting out of the record."""
    setting.delete()


def proven_settings(studio: Studio, *, angles: Iterable[SawAngle]) -> Mapping[SawAngle, SawSetting]:
    """The last setting for each angle that closed a ring; the last of any kind where none did. One query."""
    wanted = set(angles)
    settings = SawSetting.objects.for_studio(studio).filter(miter_deg__in=[miter for miter, _ in wanted])
    found: dict[SawAngle, SawSetting] = {}
    for setting in settings.select_related("member__user"):
        angle = (setting.miter_deg, setting.tilt_deg)
        if angle not in wanted:
            continue
        known = found.get(angle)
        if known is None or (known.closed != RingClosed.TIGHT and setting.closed == RingClosed.TIGHT):
            found[angle] = setting
    return found
