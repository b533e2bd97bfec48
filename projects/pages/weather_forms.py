"""The forms of the weather page: where a piece will live, and what the moisture meter read."""

from collections.abc import Collection
from typing import Any

from django import forms
from django.utils import timezone

from projects.models import Commission, MoistureReading, Wood
from projects.models.climate import BOTH_OR_NEITHER, USUAL_ROOMS, Room
from projects.pages.record_form import RecordForm

WHOSE = (("client", "the client's: for all their pieces"), ("job", "for this commission alone"))


class RoomForm(RecordForm):
    """Where the piece will live, and for which commissions that holds."""

    for_client = forms.TypedChoiceField(
        label="Whose room", choices=WHOSE, coerce=lambda chosen: chosen == "client", widget=forms.RadioSelect
    )

    class Meta:
        model = Commission
        fields = ("room_temperature_c", "room_humidity")
        labels = {"room_temperature_c": "Temperature (°C)", "room_humidity": "Relative humidity (%)"}

    def _fit(self, name: str) -> None:
        if name != "for_client":  # no field of the record's
            super()._fit(name)

    def full_clean(self) -> None:
        """A usual room whose button was pressed stands in place of what is typed."""
        usual = USUAL_ROOMS.get(self.data.get("usual", ""))
        if usual is not None:
            room = usual.room
            typed = {"room_temperature_c": str(room.temperature_c), "room_humidity": str(room.humidity)}
            self.data = {**self.data.dict(), **typed}  # type: ignore[attr-defined]  # a QueryDict
        super().full_clean()


class TriedRoomForm(forms.ModelForm):
    """A room to try a design in; nothing of it is kept."""

    class Meta(RoomForm.Meta):
        pass

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name, field in self.fields.items():
            record: Any = Commission._meta.get_field(name)
            field.validators += [rule for rule in record.validators if rule not in field.validators]
            field.widget = forms.TextInput(attrs={"inputmode": "decimal", "class": "short figure"})

    def _post_clean(self) -> None:
        """There is no record to check."""

    def clean(self) -> dict[str, Any]:
        """Both figures, or neither."""
        given = super().clean() or {}
        missing = [name for name in self.fields if name not in self.errors and given.get(name) is None]
        if len(missing) == 1 and not self.errors:
            self.add_error(missing[0], BOTH_OR_NEITHER)
        return given

    @property
    def room(self) -> Room | None:
        """The room asked for; None where none is, or what was typed is no room."""
        if not self.is_valid() or self.cleaned_data["room_humidity"] is None:
            return None
        return Room(self.cleaned_data["room_temperature_c"], self.cleaned_data["room_humidity"])


class ReadingForm(RecordForm):
    """A reading of the moisture meter."""

    class Meta:
        model = MoistureReading
        fields = ("wood", "what", "percent", "read_on", "milled_on", "note")
        widgets = {
            name: forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"})
            for name in ("read_on", "milled_on")
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.initial.setdefault("read_on", timezone.localdate())
        self.fields["wood"].required = True

    def offer(self, used: Collection[str]) -> None:
        """Put the woods of the piece first, by their keys."""
        wood: Any = self.fields["wood"]
        rows = Wood.objects.for_studio(self.studio)
        theirs = [(row.pk, row.name) for row in rows if row.key in used]
        others = [(row.pk, row.name) for row in rows if row.active and row.key not in used]
        groups = [("", "choose …"), ("Of this piece", theirs), ("Others", others)]
        wood.choices = [group for group in groups if group[1]]
