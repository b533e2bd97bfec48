"""The record of a finished piece: what it is and is made of, what it took, where it is. Lengths mm, mass g."""

import datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator, RegexValidator
from django.db import models
from django.db.models import F, Q
from django.utils import timezone

from projects.models.commissions import Commission
from projects.models.designs import Design
from projects.models.fields import (
    decimal_field,
    length_field,
    money_field,
    named,
    one_of,
    share_field,
    within,
)
from projects.models.kept import Kept
from projects.models.owned import StudioOwned
from projects.models.serials import LONGEST_SERIAL
from projects.models.studio import Member, Studio, validate_currency
from projects.models.taken_out import IN_LOG, CanBeTakenOut, out_for_a_reason

FIRST_YEAR = 1900
LAST_YEAR = 2200


class PlaceKind(models.TextChoices):
    """Where a piece can be."""

    STUDIO = "studio", "in the studio"
    CONSIGNED = "consigned", "at a gallery, on consignment"
    SOLD = "sold", "sold"
    LENT = "lent", "lent"
    GIVEN = "given", "given away"


class TakenKind(models.TextChoices):
    """What is compared with the estimate: wood in mm³, adhesive in ml, an operation in minutes."""

    WOOD = "wood", "wood"
    ADHESIVE = "adhesive", "adhesive"
    OPERATION = "operation", "operation"


def mass_field(name: str, **options: Any) -> models.DecimalField:
    """A mass, g."""
    return decimal_field(name, digits=9, places=1, low=0.1, high=1_000_000, **options)


def _words(name: str, **options: Any) -> models.TextField:
    return models.TextField(name, blank=True, max_length=4000, **options)


class PieceRecord(CanBeTakenOut):
    """One finished piece, from a commission or from before there were any here.

    `designed_...` and `known` are copies taken when it was finished: `known` has lists of plain rows under `moisture`,
    `adhesive`, `boards`, `saw`, `as_built`, `mishaps` and `notes`; the words beside them are the maker's to change.
    `size` is the larger of height and diameter, as measured where measured; `place`, `place_since`, `place_words` and
    `due_back` say what the last of its places says. `year` follows from `made_on` where the day is known.
    """

    studio = models.ForeignKey(Studio, models.CASCADE, related_name="records")
    commission = models.ForeignKey(
        Commission, models.SET_NULL, null=True, blank=True, related_name="records", editable=False
    )
    piece = models.PositiveSmallIntegerField("piece of the commission", default=1, editable=False)
    design = models.ForeignKey(
        Design, models.SET_NULL, null=True, blank=True, related_name="records", editable=False
    )
    serial = models.CharField("serial number", max_length=LONGEST_SERIAL)
    title = models.CharField(max_length=160)
    made_on = models.DateField("finished on", null=True, blank=True)
    year = models.PositiveSmallIntegerField(
        null=True,
        blank=True,
        validators=[MinValueValidator(FIRST_YEAR), MaxValueValidator(LAST_YEAR)],
        help_text="Where the day is not known.",
    )
    form = models.CharField(
        max_length=80, blank=True, help_text="In a word or two: bowl, vase, hollow form ..."
    )
    height = length_field("height, measured", null=True, blank=True)
    diameter = length_field("largest diameter, measured", null=True, blank=True)
    mass_g = mass_field("mass, measured", null=True, blank=True)
    designed_height = length_field("height, as designed", null=True, blank=True, editable=False)
    designed_diameter = length_field("largest diameter, as designed", null=True, blank=True, editable=False)
    designed_mass_g = mass_field("mass, as designed", null=True, blank=True, editable=False)
    size = length_field("largest side", null=True, blank=True, editable=False)
    segments = models.PositiveIntegerField(null=True, blank=True, validators=[MaxValueValidator(1_000_000)])
    price = money_field("price", null=True, blank=True, help_text="As asked or sold, what the buyer pays.")
    currency = models.CharField(max_length=3, validators=[RegexValidator(r"\A[A-Z]{3}\Z"), validate_currency])
    moisture_words = _words("moisture at glue-up")
    adhesive_words = _words("adhesive and its lot", help_text="The lot as on the label, one a line.")
    boards_words = _words("where the boards come from")
    saw_words = _words("saw settings")
    as_built_words = _words("as-built heights")
    failures = _words("what failed")
    repairs = _words("repairs")
    lessons = _words("what to do otherwise next time")
    care = _words("care, for the buyer")
    known = models.JSONField(default=dict, blank=True, editable=False)
    place = models.CharField(max_length=9, choices=PlaceKind, default=PlaceKind.STUDIO, editable=False)
    place_since = models.DateField(null=True, blank=True, editable=False)
    place_words = models.CharField(max_length=160, blank=True, editable=False)
    due_back = models.DateField(null=True, blank=True, editable=False)
    created_at = models.DateTimeField(auto_now_add=True)
    updated_at = models.DateTimeField(auto_now=True)

    class Meta:
        ordering = [F("year").desc(nulls_last=True), F("made_on").desc(nulls_last=True), "-pk"]
        indexes = [
            models.Index(fields=["studio", "taken_out_at", "year"], name="record_by_year"),
            # With all that the log's first line and its choices ask, so that no long text is read for them.
            models.Index(fields=["studio", "taken_out_at", "place", "year"], name="record_by_place"),
            models.Index(fields=["studio", "taken_out_at", "form"], name="record_by_form"),
            models.Index(
                fields=["studio", "due_back"],
                name="record_by_due_back",
                condition=Q(due_back__isnull=False),
            ),
        ]
        constraints = [
            models.UniqueConstraint(
                fields=["studio", "serial"],
                name="record_serial_once_a_studio",
                violation_error_message="The studio already has a piece of this serial number.",
            ),
            models.UniqueConstraint(
                fields=["commission", "piece"],
                condition=Q(commission__isnull=False) & IN_LOG,
                name="record_once_a_piece",
                violation_error_message="This piece is in the log already.",
            ),
            named("record", "serial"),
            named("record", "title"),
            out_for_a_reason("record"),
            one_of("record", "place", PlaceKind),
            within("record", "year", low=FIRST_YEAR, high=LAST_YEAR, null=True),
            within("record", "height", low=0.001, high=10_000, null=True),
            within("record", "diameter", low=0.001, high=10_000, null=True),
            within("record", "mass_g", low=0.1, high=1_000_000, null=True),
            within("record", "price", low=0, null=True),
        ]

    def __str__(self) -> str:
        return f"{self.serial} {self.title}"

    @property
    def height_shown(self) -> Any:
        """As measured, else as designed, mm."""
        return self.designed_height if self.height is None else self.height

    @property
    def diameter_shown(self) -> Any:
        """As measured, else as designed, mm."""
        return self.designed_diameter if self.diameter is None else self.diameter

    @property
    def mass_shown(self) -> Any:
        """As measured, else as designed, g."""
        return self.designed_mass_g if self.mass_g is None else self.mass_g

    def clean(self) -> None:
        """Set year and size by what they follow from; refuse a day to come, and another studio's rows."""
        wrong: dict[str, str] = {}
        today = timezone.localdate()
        if isinstance(self.made_on, datetime.date):
            if self.made_on > today:
                wrong["made_on"] = "This day is yet to come."
            elif self.made_on.year < FIRST_YEAR:
                wrong["made_on"] = f"Not before {FIRST_YEAR}."
            else:
                self.year = self.made_on.year
        elif isinstance(self.year, int) and self.year > today.year:
            wrong["year"] = "This year is yet to come."
        sides = [side for side in (self.height_shown, self.diameter_shown) if side is not None]
        self.size = max(sides) if sides else None
        for field in ("commission", "design"):
            row = getattr(self, field)
            if row is not None and row.studio_id != self.studio_id:
                wrong[field] = f"Choose a {field} of this studio."
        # The constraint says so as well, but not at the field. A number that was taken out with its piece stays taken.
        same = PieceRecord.everything.filter(studio=self.studio_id, serial=self.serial).exclude(pk=self.pk)
        if same.exists():
            wrong["serial"] = "The studio already has a piece of this serial number."
        # Amounts that were paid for it stay what they are.
        paid = self.pk and self.places.filter(payments__isnull=False).exclude(
            payments__currency=self.currency
        )
        if paid and paid.exists():
            wrong["currency"] = "What a gallery paid for it is written down in another."
        if wrong:
            raise ValidationError(wrong)


class RecordWood(StudioOwned):
    """A wood of a piece, copied: its share of the finished piece by volume, empty where nobody knows."""

    studio_path = "record__studio"

    record = models.ForeignKey(PieceRecord, models.CASCADE, related_name="woods")
    position = models.PositiveSmallIntegerField(default=1)
    key = models.CharField(max_length=40, blank=True)
    name = models.CharField(max_length=80)
    botanical = models.CharField("botanical name", max_length=120, blank=True)
    colour = models.CharField(max_length=7, blank=True, validators=[RegexValidator(r"\A#[0-9A-Fa-f]{6}\Z")])
    share = share_field("share", null=True, blank=True)

    class Meta:
        ordering = ["position", "pk"]
        indexes = [models.Index(fields=["record", "name"], name="record_wood_by_name")]
        constraints = [named("record_wood"), within("record_wood", "share", low=0, high=1, null=True)]

    def __str__(self) -> str:
        return self.name


class RecordDrawing(StudioOwned):
    """A piece as it was drawn when it was written into the log, as SVG: what stands for it while it has no photo."""

    studio_path = "record__studio"

    record = models.OneToOneField(PieceRecord, models.CASCADE, related_name="drawing")
    svg = models.TextField()

    class Meta:
        ordering = ["record"]
        constraints = [named("record_drawing", "svg")]

    def __str__(self) -> str:
        return f"drawing of {self.record}"


class RecordCoat(StudioOwned):
    """A coat of finish on a piece, and when it was put on."""

    studio_path = "record__studio"

    record = models.ForeignKey(PieceRecord, models.CASCADE, related_name="coats")
    position = models.PositiveSmallIntegerField(default=1)
    name = models.CharField(max_length=120)
    put_on = models.DateField("put on", null=True, blank=True)

    class Meta:
        ordering = ["position", "pk"]
        constraints = [named("record_coat")]

    def __str__(self) -> str:
        return self.name


class TakenLine(StudioOwned):
    """What a piece took of one thing beside what its estimate said, and why where the two are far apart.

    Its share of the commission where that was of several pieces. Either is empty where nothing says it.
    """

    studio_path = "record__studio"

    record = models.ForeignKey(PieceRecord, models.CASCADE, related_name="taken")
    position = models.PositiveSmallIntegerField(default=1, editable=False)
    kind = models.CharField(max_length=9, choices=TakenKind, editable=False)
    key = models.CharField(max_length=80, editable=False)
    name = models.CharField(max_length=120, editable=False)
    estimated = decimal_field("estimated", digits=16, places=2, null=True, blank=True, editable=False)
    taken = decimal_field("taken", digits=16, places=2, null=True, blank=True, editable=False)
    reason = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["position", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["record", "kind", "key"],
                name="taken_line_once",
                violation_error_message="This line is there already.",
            ),
            one_of("taken_line", "kind", TakenKind),
            within("taken_line", "estimated", low=0, null=True),
            within("taken_line", "taken", low=0, null=True),
        ]

    def __str__(self) -> str:
        return self.name


class RecordChange(Kept):
    """What was changed on a record: `before` has the fields as they were. Only ever added."""

    KEPT = "The history of a record is only added to."

    studio_path = "record__studio"

    record = models.ForeignKey(PieceRecord, models.CASCADE, related_name="changes")
    what = models.CharField(max_length=200)
    before = models.JSONField(default=dict, blank=True)
    member = models.ForeignKey(Member, models.SET_NULL, null=True, blank=True, related_name="+")
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["-at", "-pk"]

    def __str__(self) -> str:
        return self.what


class RecordWords(StudioOwned):
    """All the words of a record as they are searched for, folded: `projects.record_search` writes and reads them.

    In a table of their own, since triggers hang on it in SQLite: whoever changes this table makes them anew.
    """

    studio_path = "record__studio"

    record = models.OneToOneField(PieceRecord, models.CASCADE, primary_key=True, related_name="words")
    words = models.TextField(blank=True)

    class Meta:
        verbose_name_plural = "record words"

    def __str__(self) -> str:
        return self.words[:60]


class SavedSearch(StudioOwned):
    """A search of the log under a name; `query` as it stands in the page's address."""

    studio = models.ForeignKey(Studio, models.CASCADE, related_name="saved_searches")
    name = models.CharField(max_length=80)
    query = models.CharField(max_length=1000, blank=True)

    class Meta:
        ordering = ["name", "pk"]
        verbose_name_plural = "saved searches"
        constraints = [
            models.UniqueConstraint(
                fields=["studio", "name"],
                name="saved_search_once_a_studio",
                violation_error_message="There is a saved search of this name already.",
            ),
            named("saved_search"),
        ]

    def __str__(self) -> str:
        return self.name
