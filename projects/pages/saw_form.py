"""The form for a setting of the saw that worked."""

from django import forms

from projects.models import SawSetting
from projects.pages.record_form import RecordForm


class SawSettingForm(RecordForm):
    """The angle wanted, what the saw showed when a ring closed, and how it closed."""

    lengths = ("gap",)

    class Meta:
        model = SawSetting
        fields = (
            *("saw", "miter_deg", "tilt_deg", "shown_deg", "segments"),
            *("closed", "gap", "proven_on", "note"),
        )
        widgets = {"proven_on": forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"})}
