"""The forms of the hours log: time on a commission, typed or by the clock."""

from typing import Any, ClassVar

from django import forms
from django.utils import timezone

from projects.models import Commission, HoursEntry, StandingRate
from projects.pages.hours_typed import clock_of, moment, read_clock, read_span, said_span
from projects.pages.record_form import RecordForm, refuse

WHEN = ("worked_on", "begins", "ends")
NEEDS_TIME = "Give the time it took, or when it began and ended."


def operation_field(form: RecordForm) -> forms.ChoiceField:
    """The studio's operations; one that an entry has and the studio no more stays where it is."""
    rates = StandingRate.objects.for_studio(form.studio)
    choices = [(rate.operation, f"{rate.operation} ({rate.unit})") for rate in rates]
    now = form.initial.get("operation")
    if now and now not in dict(choices):
        choices.append((now, now))
    return forms.ChoiceField(choices=[("", "choose …"), *choices])


def _short(label: str, help_text: str = "") -> forms.CharField:
    field = forms.CharField(label=label, max_length=20, required=False, help_text=help_text)
    field.widget.attrs |= {"class": "short figure"}
    field.needed = True  # type: ignore[attr-defined]  # one or the other: the form says which is missing
    return field


class HoursForm(RecordForm):
    """Time worked on a commission: so long, as 1:30, 1.5 h or 90, or from then to then by the bench's clock."""

    class Meta:
        model = HoursEntry
        fields: ClassVar[Any] = ("operation", "worked_on", "minutes", "quantity", "setups", "note")
        widgets: ClassVar[Any] = {
            "worked_on": forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}),
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.zone = self.studio.bench.zone
        self.fields["operation"] = operation_field(self)
        self.fields["worked_on"].label = "Day"
        self.fields["worked_on"].initial = lambda: timezone.localdate(timezone=self.zone)
        # What stands there is compared with the entry itself, not with a second, hidden field.
        self.fields["worked_on"].show_hidden_initial = False
        self.fields["minutes"] = _short("Time", "Minutes, or hours as 1:30.")
        self.fields["begins"] = _short("or from", "As 9:15, by the bench's clock.")
        self.fields["ends"] = _short("to", "Past midnight: 25:00 is one o'clock.")
        self.fields["quantity"].label = "How many"
        when = ["worked_on", "minutes", "begins", "ends"]
        self.order_fields(["commission", "operation", *when, "quantity", "setups", "note"])
        entry: HoursEntry = self.instance
        if entry.pk:
            self._show(entry)

    def _show(self, entry: HoursEntry) -> None:
        """Show an entry's time: from when to when, or how long; a share of a stretch has only its minutes."""
        begins, ends = clock_of(entry, self.zone)
        if entry.stretch is None and begins:
            self.initial.update({"begins": begins, "ends": ends, "minutes": ""})
            if ends:
                self.fields["minutes"].help_text = f"{said_span(entry.minutes)}, from begin to end."
        elif entry.minutes is not None:
            self.initial["minutes"] = format(entry.minutes.normalize(), "f")
        if entry.stretch is not None:
            del self.fields["begins"], self.fields["ends"]
            words = f"Its share of {begins} to {ends} at the bench. Changed, it is minutes of that day alone."
            self.fields["minutes"].help_text = words

    def clean_minutes(self) -> Any:
        """Minutes, or None where the field is empty."""
        text = self.cleaned_data["minutes"]
        if not text:
            return None
        minutes = _read(read_span, text)
        if minutes <= 0:
            raise forms.ValidationError("Must be more than nothing.")
        return minutes

    def clean_begins(self) -> int | None:
        """Minutes since midnight."""
        text = self.cleaned_data["begins"]
        return _read(read_clock, text) if text else None

    def clean_ends(self) -> int | None:
        """Minutes since midnight, which may be past the next."""
        text = self.cleaned_data["ends"]
        return _read(lambda typed: read_clock(typed, is_end=True), text) if text else None

    def clean(self) -> dict[str, Any]:
        """The entry as the service takes it: moments in place of the clock's times."""
        given = dict(super().clean() or {})
        begins, ends = given.pop("begins", None), given.pop("ends", None)
        if self.errors:
            return given
        if self.instance.pk and not {*WHEN, "minutes"} & set(self.changed_data):
            # As they stand: the clock's seconds, which the form does not show, stay too.
            return {name: value for name, value in given.items() if name not in (*WHEN, "minutes")}
        if "begins" not in self.fields:
            return self._timeless(given)
        return self._timed(given, begins, ends)

    def _timeless(self, given: dict[str, Any]) -> dict[str, Any]:
        if given["minutes"] is None:
            self.add_error("minutes", "Give the time it took.")
        return given

    def _timed(self, given: dict[str, Any], begins: int | None, ends: int | None) -> dict[str, Any]:
        runs_on = self.instance.pk and self.instance.is_running and begins is not None and ends is None
        if begins is None and ends is None:
            if given["minutes"] is None:
                self.add_error("minutes", NEEDS_TIME)
            return {**given, "started_at": None, "ended_at": None} if self.instance.pk else given
        if begins is None or (ends is None and not runs_on):
            self.add_error("begins" if begins is None else "ends", "Give both, or the time it took.")
            return given
        if ends is not None and ends < begins:
            self.add_error("ends", "This is before it began. Past midnight, count on: 25:00 is one o'clock.")
            return given
        for name, field, minutes in (("begins", "started_at", begins), ("ends", "ended_at", ends)):
            try:
                given[field] = None if minutes is None else moment(given["worked_on"], minutes, self.zone)
            except ValueError as refusal:
                self.add_error(name, str(refusal))
        return given

    def refused(self, refusal: Any) -> None:
        """Put a service's refusal on the form, that of a moment at the time it was typed as."""
        if hasattr(refusal, "error_dict"):
            for moment_field, name in (("started_at", "begins"), ("ended_at", "ends")):
                if moment_field in refusal.error_dict and name in self.fields:
                    refusal.error_dict[name] = refusal.error_dict.pop(moment_field)
        refuse(self, refusal)

    def written(self, service: Any, **fixed: Any) -> Any:
        """What the service made of the form; None where the form or the service refused."""
        if not self.is_valid():
            return None
        try:
            return service(**fixed, **self.cleaned_data)
        except forms.ValidationError as refusal:
            self.refused(refusal)
            return None


def _read(reader: Any, text: str) -> Any:
    try:
        return reader(text)
    except ValueError as refusal:
        raise forms.ValidationError(str(refusal)) from None


class EntryForm(HoursForm):
    """Likewise, with the commission it was for."""

    class Meta(HoursForm.Meta):
        fields: ClassVar[Any] = ("commission", *HoursForm.Meta.fields)


class ClockForm(RecordForm):
    """What a member begins to work on."""

    class Meta:
        model = HoursEntry
        fields: ClassVar[Any] = ("commission", "operation")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, auto_id="clock_%s", **kwargs)
        self.fields["operation"] = operation_field(self)
        open_jobs = Commission.objects.for_studio(self.studio).open()
        self.fields["commission"].queryset = open_jobs  # type: ignore[attr-defined]  # a choice of rows
