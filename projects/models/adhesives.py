"""An adhesive on the shelf, as its label says."""

from decimal import Decimal

from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator
from django.db import models

from projects.models.fields import decimal_field, length_field, money_field, named, one_of, within
from projects.models.owned import StudioOwned
from projects.models.studio import Studio


class AdhesiveKind(models.TextChoices):
    """The families of adhesive a turner uses."""

    EPOXY = "epoxy", "epoxy"
    PVA = "pva", "PVA or aliphatic"
    POLYURETHANE = "polyurethane", "polyurethane"
    CA = "ca", "cyanoacrylate (CA)"
    HIDE = "hide", "hide glue"
    OTHER = "other", "other"


LEAST_SLOWER_C = 5


class Adhesive(StudioOwned):
    """An adhesive and how it is used. The label decides; these are figures to start from."""

    studio = models.ForeignKey(Studio, models.CASCADE, related_name="adhesives")
    name = models.CharField(max_length=80)
    kind = models.CharField(max_length=12, choices=AdhesiveKind, default=AdhesiveKind.EPOXY)
    ratio_a = decimal_field(
        "parts of A", digits=9, places=3, low=0.01, high=1000, default=1, help_text="By volume."
    )
    ratio_b = decimal_field(
        "parts of B",
        digits=9,
        places=3,
        high=1000,
        default=1,
        help_text="By volume; 0 for an adhesive of one part.",
    )
    mass_a = decimal_field(
        "parts of A by mass",
        digits=9,
        places=3,
        low=0.01,
        high=1000,
        null=True,
        blank=True,
        help_text="Only where the label has them: parts by mass are other figures than those by volume.",
    )
    mass_b = decimal_field(
        "parts of B by mass", digits=9, places=3, low=0.01, high=1000, null=True, blank=True
    )
    density = decimal_field(
        "density", digits=5, places=3, low=0.5, high=3, default=1.1, help_text="g/ml, mixed."
    )
    film = length_field("film", high=5, default=0.1, help_text="Spread wet on a coated face.")
    pot_life_min = decimal_field(
        "pot life", digits=8, places=2, low=1, high=100_000, default=30, help_text="Minutes."
    )
    pot_life_at_c = decimal_field(
        "pot life is given at",
        digits=5,
        places=2,
        low=-20,
        high=60,
        default=21,
        help_text="°C, as on the label.",
    )
    open_min = decimal_field(
        "open time",
        digits=8,
        places=2,
        high=100_000,
        default=0,
        help_text="Minutes that coated faces may lie open; 0: as long as the pot life.",
    )
    set_min = models.PositiveIntegerField(
        "set",
        default=45,
        validators=[MaxValueValidator(100_000)],
        help_text="Minutes until it may leave the mandrel.",
    )
    set_most_min = models.PositiveIntegerField(
        "set at the latest",
        default=0,
        validators=[MaxValueValidator(100_000)],
        help_text="Minutes, where the label gives a range; 0: none.",
    )
    press_min = models.PositiveIntegerField(
        "press",
        default=120,
        validators=[MaxValueValidator(100_000)],
        help_text="Minutes under weight or in clamps.",
    )
    cure_min = models.PositiveIntegerField(
        "cure",
        default=720,
        validators=[MaxValueValidator(100_000)],
        help_text="Minutes until it can be turned.",
    )
    slower_c = decimal_field(
        "twice as slow for every",
        digits=6,
        places=2,
        high=1000,
        default=10,
        help_text="°C colder, for all of these times; 0 where no such rule holds.",
    )
    least_c = decimal_field(
        "least temperature",
        digits=5,
        places=2,
        low=-20,
        high=60,
        default=15,
        help_text="°C of bench, wood and adhesive; not to be used below.",
    )
    pressure_low = decimal_field(
        "least pressure",
        digits=6,
        places=3,
        high=10,
        default=0.02,
        help_text="MPa on the joint; 1 MPa is 145 lb/in².",
    )
    pressure_high = decimal_field(
        "most pressure", digits=6, places=3, high=10, default=0.2, help_text="MPa; more starves the joint."
    )
    exotherm_ml = decimal_field(
        "most in one cup",
        digits=9,
        places=2,
        high=100_000,
        default=90,
        help_text="ml; a larger mix heats itself. 0: not known, or it never does.",
    )
    cleaner = models.CharField(
        "cleaned up with", max_length=200, blank=True, help_text="What takes it off tools before it sets."
    )
    price_per_ml = money_field("price a millilitre", default=0)
    label_read = models.BooleanField(
        "taken from the label",
        default=False,
        help_text="Tick when the figures above are those of your own label.",
    )
    cautions = models.TextField(blank=True)
    note = models.TextField(blank=True)
    usual = models.BooleanField(default=False, help_text="Used where a design names no other.")

    class Meta:
        ordering = ["name", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["studio", "name"],
                name="adhesive_name_once_a_studio",
                violation_error_message="The studio already has an adhesive of this name.",
            ),
            named("adhesive"),
            models.UniqueConstraint(
                fields=["studio"],
                condition=models.Q(usual=True),
                name="adhesive_one_usual_a_studio",
                violation_error_message="Only one adhesive can be the usual one.",
            ),
            one_of("adhesive", "kind", AdhesiveKind),
            within("adhesive", "ratio_a", low=0.01, high=1000),
            within("adhesive", "ratio_b", low=0, high=1000),
            within("adhesive", "mass_a", low=0.01, high=1000, null=True),
            within("adhesive", "mass_b", low=0.01, high=1000, null=True),
            models.CheckConstraint(
                name="adhesive_mass_parts_together",
                condition=models.Q(mass_a__isnull=True, mass_b__isnull=True)
                | models.Q(mass_a__isnull=False, mass_b__isnull=False),
                violation_error_message="Parts by mass: give both, or neither.",
            ),
            within("adhesive", "density", low=0.5, high=3),
            within("adhesive", "film", low=0.001, high=5),
            within("adhesive", "pot_life_min", low=1, high=100_000),
            within("adhesive", "pot_life_at_c", low=-20, high=60),
            *(
                within("adhesive", field, low=0, high=100_000)
                for field in ("open_min", "set_min", "set_most_min", "press_min", "cure_min", "exotherm_ml")
            ),
            models.CheckConstraint(
                name="adhesive_slower_c_in_range",
                condition=models.Q(slower_c=0) | models.Q(slower_c__gte=LEAST_SLOWER_C, slower_c__lte=1000),
                violation_error_message="Twice as slow for every 5 °C or more, or 0 where no such rule holds.",
            ),
            within("adhesive", "least_c", low=-20, high=60),
            within("adhesive", "pressure_low", low=0, high=10),
            within("adhesive", "pressure_high", low=0, high=10),
            models.CheckConstraint(
                name="adhesive_pressure_rises",
                condition=models.Q(pressure_high__gte=models.F("pressure_low")),
                violation_error_message="The least pressure must not be above the most.",
            ),
            within("adhesive", "price_per_ml", low=0),
        ]

    def __str__(self) -> str:
        return self.name

    def clean(self) -> None:
        """Ask for both parts by mass or neither, a pressure that rises, a rule that can be, each at its field."""
        wrong = {}
        if isinstance(self.slower_c, Decimal) and 0 < self.slower_c < LEAST_SLOWER_C:
            wrong["slower_c"] = f"Must be at least {LEAST_SLOWER_C}, or 0 where no such rule holds."
        if (self.mass_a is None) != (self.mass_b is None):
            missing = "mass_a" if self.mass_a is None else "mass_b"
            wrong[missing] = "Give both parts by mass, or neither."
        first, last = self.set_min, self.set_most_min
        if isinstance(first, int) and isinstance(last, int) and 0 < last < first:
            wrong["set_most_min"] = "The latest must not be before the set; 0 where the label gives no range."
        low, high = self.pressure_low, self.pressure_high
        if isinstance(low, Decimal) and isinstance(high, Decimal) and low > high:
            wrong["pressure_high"] = "The most must not be below the least."
        if wrong:
            raise ValidationError(wrong)
