"""The forms of the bench hours: a week as one would write it on the door, what the bench has, days off."""

import datetime
import re
from collections.abc import Iterable, Sequence
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from projects.models import BenchHours, BenchSettings, DayOff, Studio
from projects.models.calendar import Weekday, holiday_regions
from projects.pages.record_form import RecordForm
from projects.services.bench_hours import Stretch, hours_set

_CLOCK = r"(\d{1,2})(?:[:.h](\d{2}))?\s*([ap]\.?m\.?)?"
_STRETCH = re.compile(rf"\s*{_CLOCK}\s*(?:-|–|—|to)\s*{_CLOCK}\s*", re.IGNORECASE)
HOW = "Write hours such as 8-12, 13:30-17; leave the day empty where the bench is closed."


def read_stretches(text: str) -> list[Stretch]:
    """A day's hours from what was typed: `8-12, 13:30 to 17`, `8am-12pm`.

    Errors: ValueError with a sentence that says what would be right.
    """
    parts = [part for part in re.split("[,;\n]| and ", text) if part.strip()]
    return [_stretch(part) for part in parts]


def _stretch(part: str) -> Stretch:
    match = _STRETCH.fullmatch(part)
    if match is None:
        raise ValueError(f"“{part.strip()}” is no stretch of hours. {HOW}")
    return _time(match[1], match[2], match[3]), _time(match[4], match[5], match[6])


def _time(hour: str, minute: str | None, half: str | None) -> datetime.time:
    """A time of the day; `half` is am or pm where it was written."""
    at, past = int(hour), int(minute or 0)
    if half:
        if not 1 <= at <= 12:
            raise ValueError(f"{at} {half} is no time of the day.")
        at = at % 12 + (12 if half.lower().startswith("p") else 0)
    if at > 23 or past > 59:
        raise ValueError(f"{at}:{past:02d} is no time of the day; the latest is 23:59.")
    return datetime.time(at, past)


def said_stretches(stretches: Iterable[Stretch]) -> str:
    """A day's hours as they are printed: `8:00–12:00, 13:30–17:00`."""
    return ", ".join(f"{said_time(opens)}–{said_time(closes)}" for opens, closes in stretches)


def said_time(at: datetime.time) -> str:
    """A time of the day without a nought before the hour."""
    return f"{at.hour}:{at.minute:02d}"


def week_of(studio: Studio) -> dict[int, list[Stretch]]:
    """The stretches of each weekday; 0 is Monday, and a closed day has none."""
    week: dict[int, list[Stretch]] = {day: [] for day in Weekday.values}
    for row in BenchHours.objects.for_studio(studio):
        week[row.weekday].append((row.opens, row.closes))
    return week


class WeekForm(forms.Form):
    """The hours of each weekday, a line a day."""

    def __init__(self, data: Any = None, *, studio: Studio) -> None:
        super().__init__(data)
        self.studio = studio
        self.initial = {f"day_{day}": said_stretches(hours) for day, hours in week_of(studio).items()}
        for day in Weekday:
            field = forms.CharField(label=day.label, required=False, max_length=120)
            field.needed = True  # type: ignore[attr-defined]  # an empty day is said to be closed, above the form
            self.fields[f"day_{day.value}"] = field

    def clean(self) -> dict[str, Any]:
        """The week as the service takes it."""
        given = super().clean() or {}
        week: dict[int, Sequence[Stretch]] = {}
        for day in Weekday.values:
            try:
                week[day] = read_stretches(given.get(f"day_{day}", ""))
            except ValueError as refusal:
                self.add_error(f"day_{day}", str(refusal))
        return {"week": week}

    def saved(self) -> bool:
        """Whether the hours were good and are kept; if not, what is wrong stands at each day."""
        if not self.is_valid():
            return False
        try:
            hours_set(studio=self.studio, week=self.cleaned_data["week"])
        except ValidationError as refusal:
            for place, messages in refusal.message_dict.items():
                field = f"day_{place.split('.')[0]}"
                self.add_error(field if field in self.fields else None, messages)
            return False
        return True


class BenchForm(RecordForm):
    """What the bench has, and whose public holidays are kept."""

    class Meta:
        model = BenchSettings
        fields = (
            *("people", "mandrels", "jigs", "presses", "session_min"),
            *("time_zone", "holiday_country", "holiday_region"),
        )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        country: Any = self.fields["holiday_country"]
        country.widget = forms.Select(choices=[("", "none"), *_countries()])
        country.help_text = ""
        chosen = self.data.get("holiday_country") or self.instance.holiday_country
        if regions := holiday_regions().get(chosen):
            region: Any = self.fields["holiday_region"]
            region.widget = forms.Select(
                choices=[("", "those of the whole country"), *_regions(chosen, regions)]
            )
            region.help_text = ""
        self.fields["time_zone"].widget.attrs |= {"list": "time-zones", "autocomplete": "off"}


def _countries() -> list[tuple[str, str]]:
    """Countries by name, for those whose public holidays are known."""
    from holidays.registry import COUNTRIES

    names = {codes[1]: re.sub("(?<=[a-z])(?=[A-Z])", " ", codes[0]) for codes in COUNTRIES.values()}
    known = ((code, names.get(code, code)) for code in holiday_regions() if len(code) == 2)
    return sorted(known, key=lambda country: country[1])


def _regions(country: str, codes: Iterable[str]) -> list[tuple[str, str]]:
    """Regions by name where the library has one."""
    from holidays import country_holidays

    names = country_holidays(country).get_subdivision_aliases()
    return [(code, f"{names[code][0]} ({code})" if names.get(code) else code) for code in codes]


class DayOffForm(RecordForm):
    """Days on which nobody works at the bench."""

    class Meta:
        model = DayOff
        fields = ("first", "last", "reason")
        widgets = {
            name: forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}) for name in ("first", "last")
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["last"].required = False
        self.fields["last"].help_text = "Empty: that one day."
