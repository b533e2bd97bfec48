"""The forms of a record of the log: the piece, where it is, and the scheme of its serial number."""

import re
from datetime import date
from decimal import ROUND_HALF_UP, Decimal, InvalidOperation
from typing import Any

from django import forms

from projects.models import PieceRecord, Place, SerialScheme
from projects.models.fields import plain_text
from projects.models.taken_out import LONGEST_REASON
from projects.pages.csv_files import with_point
from projects.pages.record_form import RecordForm
from projects.services.records import CoatSaid, WoodSaid

ENTRY = re.compile(r"[;\n]")
_SHARE = re.compile(r"(.*?)[\s,:]*(\d{1,3}(?:[.,]\d+)?)\s*%\Z", re.DOTALL)
_DAY = re.compile(r"(.*?)[\s,:]*(\d{4}-\d{1,2}-\d{1,2})\Z", re.DOTALL)
GROUPS = {
    "The piece": ("title", "serial", "form", "made_on", "year"),
    "As measured": ("height", "diameter", "mass_g", "segments"),
    "What it is of": ("woods", "coats"),
    "Its price": ("price", "currency"),
    "How it was made": (
        *("moisture_words", "adhesive_words", "boards_words", "saw_words", "as_built_words"),
    ),
    "What it taught": ("failures", "repairs", "lessons"),
    "For the buyer": ("care",),
}


def read_woods(text: str) -> list[WoodSaid]:
    """Woods with their shares, one a line or parted by semicolons: `black walnut 60 %`.

    Errors: ValueError with a sentence that says which is wrong.
    """
    return [_wood(entry) for entry in _entries(text)]


def _wood(entry: str) -> WoodSaid:
    if not (match := _SHARE.match(entry)):
        if entry.endswith("%"):
            raise ValueError(f"“{entry[:40]}”: write the share as 60 %.")
        return WoodSaid(_named(entry, entry))
    share = Decimal(match[2].replace(",", ".")) / 100
    if share > 1:
        raise ValueError(f"“{entry[:40]}”: no share is more than 100 %.")
    return WoodSaid(_named(match[1], entry), share.quantize(Decimal("0.00001"), rounding=ROUND_HALF_UP))


def read_coats(text: str) -> list[CoatSaid]:
    """Coats with their days, one a line or parted by semicolons: `varnish 2026-03-05`.

    Errors: ValueError with a sentence that says which is wrong.
    """
    return [_coat(entry) for entry in _entries(text)]


def _coat(entry: str) -> CoatSaid:
    if not (match := _DAY.match(entry)):
        return CoatSaid(_named(entry, entry, most=120))
    return CoatSaid(_named(match[1], entry, most=120), read_day(match[2]))


def read_day(text: str) -> date:
    """A day as 2026-03-05. Errors: ValueError with a sentence."""
    try:
        year, month, day = map(int, text.strip().split("-"))
        return date(year, month, day)
    except ValueError:
        raise ValueError(f"“{text[:20]}” is no day. Write it as 2026-03-05.") from None


def _entries(text: str) -> list[str]:
    return [entry.strip() for entry in ENTRY.split(text) if entry.strip()]


def _named(name: str, entry: str, *, most: int = 80) -> str:
    name = name.strip()
    if not name:
        raise ValueError(f"“{entry[:40]}”: write a name first.")
    if len(name) > most:
        raise ValueError(f"“{entry[:40]}”: at most {most} characters.")
    return name


def written_woods(woods: Any, *, parted_by: str = "\n") -> str:
    """Woods as `read_woods` reads them."""
    return parted_by.join(
        wood.name if wood.share is None else f"{wood.name} {plain_text(wood.share * 100)} %" for wood in woods
    )


def written_coats(coats: Any, *, parted_by: str = "\n") -> str:
    """Coats as `read_coats` reads them."""
    return parted_by.join(
        f"{coat.name} {coat.put_on.isoformat()}" if coat.put_on else coat.name for coat in coats
    )


class LinesField(forms.CharField):
    """A list, one entry a line, read by a function that says in a sentence what is wrong."""

    def __init__(self, read: Any, **options: Any) -> None:
        area = forms.Textarea(attrs={"rows": 4, "class": "wide"})
        super().__init__(required=False, max_length=6000, widget=area, **options)
        self.read = read

    def clean(self, value: Any) -> Any:
        """The entries."""
        try:
            return self.read(super().clean(value))
        except ValueError as refusal:
            raise forms.ValidationError(str(refusal)) from None


class MassField(forms.CharField):
    """A mass in g, typed with or without its unit: `812`, `1.2 kg`, `2 lb`."""

    unit = "g"

    def __init__(self, **options: Any) -> None:
        super().__init__(max_length=20, **options)
        self.widget.attrs |= {"inputmode": "text", "class": "short figure"}

    def prepare_value(self, value: Any) -> Any:
        """A mass from the record; what was typed stays."""
        return plain_text(value) if isinstance(value, Decimal) else value

    def clean(self, value: Any) -> Any:
        """Grams."""
        text = super().clean(value)
        try:
            return read_mass(text) if text else None
        except ValueError as refusal:
            raise forms.ValidationError(str(refusal)) from None


# The avoirdupois pound is 0.45359237 kg exactly, an ounce its sixteenth (NIST Special Publication 811, appendix B).
GRAMS = {
    "": Decimal(1),
    "g": Decimal(1),
    "kg": Decimal(1000),
    "lb": Decimal("453.59237"),
    "oz": Decimal("28.349523125"),
}


def read_mass(text: str, *, unit: str = "g") -> Decimal:
    """Grams to a tenth, from what was typed. Errors: ValueError with a sentence."""
    match = re.fullmatch(r"\s*([\d.,]+)\s*(g|kg|lb|oz|)\s*", text, re.IGNORECASE)
    try:
        mass = Decimal(with_point(match[1])) if match else Decimal("NaN")
    except InvalidOperation:
        mass = Decimal("NaN")
    if match is None or not mass.is_finite() or mass >= 10**7:
        raise ValueError("Write a mass such as 812, 1.2 kg or 2 lb.")
    return (mass * GRAMS[match[2].lower() or unit]).quantize(Decimal("0.1"), rounding=ROUND_HALF_UP)


class PieceForm(RecordForm):
    """A finished piece."""

    lengths = ("height", "diameter")
    money = ("price",)

    class Meta:
        model = PieceRecord
        fields = tuple(name for names in GROUPS.values() for name in names if name not in ("woods", "coats"))
        widgets = {
            "made_on": forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}),
            **{
                name: forms.Textarea(attrs={"rows": 3, "class": "wide"})
                for name in (*GROUPS["How it was made"], *GROUPS["What it taught"], "care")
            },
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        record = self.instance
        is_new = record.pk is None
        woods, coats = ((), ()) if is_new else (record.woods.all(), record.coats.all())
        self.fields["woods"] = LinesField(
            read_woods,
            label="Woods",
            help_text="One a line, with its share where it is known: black walnut 60 %.",
        )
        self.fields["coats"] = LinesField(
            read_coats,
            label="Coats of finish",
            help_text="One a line, with its day where it is known: oil 2026-03-05.",
        )
        self.fields["mass_g"] = MassField(label="Mass, measured", required=False)
        self.initial.update(woods=written_woods(woods), coats=written_coats(coats))
        if is_new:
            self.fields["serial"].required = False
            self.fields["serial"].help_text = "Empty: the next number by the studio's scheme."


class PlaceForm(RecordForm):
    """Where a piece went."""

    money = ("price",)

    class Meta:
        model = Place
        fields = ("kind", "since", "due_back", "client", "words", "price", "note")
        widgets = {
            name: forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}) for name in ("since", "due_back")
        }


class SerialForm(RecordForm):
    """The studio's scheme of serial numbers."""

    class Meta:
        model = SerialScheme
        fields = ("pattern",)


class OutForm(forms.Form):
    """Why a piece goes out of the log."""

    reason = forms.CharField(
        label="Why",
        max_length=LONGEST_REASON,
        error_messages={
            "required": "Say why it goes out of the log.",
            "max_length": f"At most {LONGEST_REASON} characters.",
        },
        help_text="It is kept with the piece.",
    )

    def __init__(self, data: object = None) -> None:
        super().__init__(data, auto_id="out-%s")  # type: ignore[arg-type]  # a request's
        # A reason that is too long is refused whole, not cut short.
        self.fields["reason"].widget.attrs.pop("maxlength", None)
