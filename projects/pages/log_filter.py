"""What of the log is asked for: words, filters and order, read from the page's address."""

from dataclasses import dataclass, field
from typing import Any
from urllib.parse import urlencode

from django import forms
from django.db.models import Exists, F, OuterRef, Prefetch, QuerySet
from django.http import QueryDict
from django.utils import timezone

from projects.models import PieceRecord, RecordDrawing, RecordPhoto, RecordWood, Studio
from projects.models.records import FIRST_YEAR, LAST_YEAR, PlaceKind
from projects.pages.fields import LengthField, MoneyField
from projects.record_search import search

SORTS: dict[str, tuple[str, tuple[Any, ...]]] = {
    "": ("newest first", (F("year").desc(nulls_last=True), F("made_on").desc(nulls_last=True), "-pk")),
    "oldest": ("oldest first", (F("year").asc(nulls_last=True), F("made_on").asc(nulls_last=True), "pk")),
    "title": ("by title", ("title", "pk")),
    "serial": ("by serial number", ("serial",)),
    "largest": ("largest first", (F("size").desc(nulls_last=True), "pk")),
    "smallest": ("smallest first", (F("size").asc(nulls_last=True), "pk")),
    "dearest": ("dearest first", (F("price").desc(nulls_last=True), "pk")),
    "cheapest": ("cheapest first", (F("price").asc(nulls_last=True), "pk")),
    "back": ("to be back first", (F("due_back").asc(nulls_last=True), "pk")),
}
# What of a record is text for its own page, which no list needs.
LONG = (
    *("known", "care", "moisture_words", "adhesive_words", "boards_words", "saw_words", "as_built_words"),
    *("failures", "repairs", "lessons"),
)
BACK = {"due": "by a set day", "late": "late"}
ORDER = (
    *("q", "wood", "form", "place", "back", "made_from", "made_to", "size_from", "size_to"),
    *("price_from", "price_to", "sort"),
)


class LogForm(forms.Form):
    """The filters of the log; every field may stay empty."""

    q = forms.CharField(label="any word", max_length=200, required=False)
    wood = forms.ChoiceField(label="wood", required=False)
    form = forms.ChoiceField(label="form", required=False)
    place = forms.ChoiceField(label="where it is", required=False)
    back = forms.ChoiceField(label="to be back", required=False)
    made_from = forms.IntegerField(
        label="made from", required=False, min_value=FIRST_YEAR, max_value=LAST_YEAR
    )
    made_to = forms.IntegerField(label="made to", required=False, min_value=FIRST_YEAR, max_value=LAST_YEAR)
    sort = forms.ChoiceField(
        label="order", required=False, choices=[(key, words) for key, (words, _) in SORTS.items()]
    )

    def __init__(self, data: Any, *, studio: Studio) -> None:
        super().__init__(data, auto_id="log-%s")
        there = RecordWood.objects.for_studio(studio).filter(record__taken_out_at=None)
        woods = there.order_by("name").values_list("name", flat=True)
        forms_there = PieceRecord.objects.for_studio(studio).exclude(form="").order_by("form")
        self._choices("wood", "any wood", [(name, name) for name in woods.distinct()])
        self._choices(
            "form", "any form", [(w, w) for w in forms_there.values_list("form", flat=True).distinct()]
        )
        self._choices("place", "anywhere", PlaceKind.choices)
        self._choices("back", "any", BACK.items())
        for name, label in (("size_from", "largest side from"), ("size_to", "largest side to")):
            self.fields[name] = LengthField(studio=studio, label=label, required=False)
        for name, label in (("price_from", "price from"), ("price_to", "price to")):
            self.fields[name] = MoneyField(currency=studio.currency, label=label, required=False, min_value=0)
            self.fields[name].widget = forms.TextInput(
                attrs={"inputmode": "decimal", "class": "short figure"}
            )
        for name in ("made_from", "made_to"):
            self.fields[name].widget = forms.TextInput(
                attrs={"inputmode": "numeric", "class": "short figure"}
            )
        self.order_fields(ORDER)

    def _choices(self, name: str, none: str, choices: Any) -> None:
        there: Any = self.fields[name]
        there.choices = [("", none), *choices]


@dataclass
class Asked:
    """What was asked of the log, and what answers it."""

    form: LogForm
    records: QuerySet[PieceRecord]
    given: dict[str, str] = field(default_factory=dict)

    @property
    def query(self) -> str:
        """As it stands in an address, without the page."""
        return urlencode(self.given)

    @property
    def narrows(self) -> bool:
        """Whether anything but the order was asked."""
        return any(name != "sort" for name in self.given)


def asked(data: QueryDict, studio: Studio) -> Asked:
    """What an address asks for; a filter that cannot be read is said on the form, and filters nothing."""
    form = LogForm(data, studio=studio)
    form.is_valid()
    sent = {name: data.get(name, "") for name in form.fields}
    given = {name: text for name, text in sent.items() if text.strip()}
    values = form.cleaned_data
    records: QuerySet[PieceRecord] = PieceRecord.objects.for_studio(studio)
    for name, lookup in {
        "form": "form",
        "place": "place",
        "made_from": "year__gte",
        "made_to": "year__lte",
        "size_from": "size__gte",
        "size_to": "size__lte",
        "price_from": "price__gte",
        "price_to": "price__lte",
    }.items():
        if values.get(name) not in (None, ""):
            records = records.filter(**{lookup: values[name]})
    if back := values.get("back"):
        late = {"due_back__lt": timezone.localdate()}
        records = records.filter(due_back__isnull=False, **(late if back == "late" else {}))
    if wood := values.get("wood"):
        of_it = RecordWood.objects.for_studio(studio).filter(name=wood)
        records = records.filter(pk__in=of_it.values("record"))
    records = search(records, values.get("q", ""))
    return Asked(form, records.order_by(*SORTS[values.get("sort", "")][1]), given)


def with_pictures(records: QuerySet[PieceRecord]) -> QuerySet[PieceRecord]:
    """Records with their woods and the photo that stands for each, in two queries more however many there are.

    `is_drawn` says whether there is a drawing for one without a photo.
    """
    chosen = RecordPhoto.objects.filter(chosen=True)
    drawn = Exists(RecordDrawing.objects.filter(record=OuterRef("pk")))
    return (
        records.annotate(is_drawn=drawn)
        .defer(*LONG)
        .prefetch_related("woods", Prefetch("photos", chosen, to_attr="chosen_photos"))
    )
