"""What stands in the shop: woods, adhesives, finishes, and how long things take."""

from django.core.validators import MaxValueValidator, RegexValidator
from django.db import models
from django.db.models.functions import Lower

from projects.models.fields import (
    decimal_field,
    money_field,
    named,
    share_field,
    within,
    wood_key_rule,
)
from projects.models.owned import StudioOwned
from projects.models.studio import Studio


class Wood(StudioOwned):
    """A wood the studio uses. A piece sheet calls it by its key."""

    studio = models.ForeignKey(Studio, models.CASCADE, related_name="woods")
    key = models.CharField(
        max_length=40, validators=[wood_key_rule()], help_text="Short lower-case name: walnut."
    )
    name = models.CharField(max_length=80)
    botanical = models.CharField("botanical name", max_length=120, blank=True)
    origin = models.CharField(
        "where it grew",
        max_length=120,
        blank=True,
        help_text="As your dealer says it, such as Ohio; printed on papers behind the wood's name.",
    )
    density = decimal_field(
        "density",
        digits=7,
        places=2,
        low=50,
        high=1500,
        help_text="kg/m³ at 12 % moisture.",
    )
    colour = models.CharField(
        max_length=7,
        default="#C9A77A",
        validators=[RegexValidator(r"\A#[0-9A-Fa-f]{6}\Z", message="Write the colour as #RRGGBB.")],
        help_text="As it is drawn.",
    )
    price_per_m3 = money_field("price a cubic metre", default=0, help_text="Of boards as bought.")
    shrink_radial_pct = decimal_field(
        "radial shrinkage",
        digits=5,
        places=2,
        high=50,
        null=True,
        blank=True,
        help_text="%, green to ovendry.",
    )
    shrink_tangential_pct = decimal_field(
        "tangential shrinkage",
        digits=5,
        places=2,
        high=50,
        null=True,
        blank=True,
        help_text="%, green to ovendry.",
    )
    health_note = models.CharField(max_length=200, blank=True, help_text="What its dust or sap does.")
    health_detail = models.CharField(
        "what the dust harms", max_length=300, blank=True, help_text="Eyes, skin, lungs, and how strongly."
    )
    oily = models.BooleanField(default=False, help_text="Wants wiping with a solvent before it is glued.")
    dust_stains = models.BooleanField(
        "dust stains", default=False, help_text="Its dust colours pale wood beside it."
    )
    fades = models.CharField(
        "in the light",
        max_length=200,
        blank=True,
        help_text="What light does to its colour: turns from purple to brown.",
    )
    protected_note = models.CharField(
        "protected",
        max_length=300,
        blank=True,
        help_text="In which list of protected species it stands, and since when. The lists change.",
    )
    traits_source = models.TextField(
        "source of these",
        blank=True,
        help_text="Where what is said of dust, oil, light and lists comes from.",
    )
    source = models.TextField(blank=True, help_text="Where the figures come from.")
    from_memory = models.CharField(
        max_length=200, blank=True, help_text="Which of the figures have no source at hand."
    )
    active = models.BooleanField(default=True, help_text="Offered when a design is made.")

    class Meta:
        ordering = [Lower("name"), "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["studio", "key"],
                name="wood_key_once_a_studio",
                violation_error_message="The studio already has a wood with this key.",
            ),
            named("wood"),
            within("wood", "density", low=50, high=1500),
            within("wood", "price_per_m3", low=0),
            within("wood", "shrink_radial_pct", low=0, high=50, null=True),
            within("wood", "shrink_tangential_pct", low=0, high=50, null=True),
        ]

    def __str__(self) -> str:
        return self.name


class Finish(StudioOwned):
    """A finish: how often, how much, how long between coats and until it is hard."""

    studio = models.ForeignKey(Studio, models.CASCADE, related_name="finishes")
    name = models.CharField(max_length=80)
    coats = models.PositiveSmallIntegerField(default=5, validators=[MaxValueValidator(100)])
    ml_per_dm2 = decimal_field(
        "finish a coat",
        digits=7,
        places=3,
        high=100,
        default=0.7,
        help_text="ml a square decimetre and coat.",
    )
    hours_between_coats = decimal_field(
        "between coats", digits=7, places=2, high=1000, default=18, help_text="Hours."
    )
    days_to_hard = decimal_field(
        "until hard", digits=6, places=1, high=365, default=10, help_text="Days to packing."
    )
    price_per_ml = money_field("price a millilitre", default=0)
    caution = models.TextField(blank=True)
    note = models.TextField(blank=True)
    usual = models.BooleanField(default=False, help_text="Used where a design names no other.")

    class Meta:
        ordering = ["name", "pk"]
        verbose_name_plural = "finishes"
        constraints = [
            models.UniqueConstraint(
                fields=["studio", "name"],
                name="finish_name_once_a_studio",
                violation_error_message="The studio already has a finish of this name.",
            ),
            named("finish"),
            models.UniqueConstraint(
                fields=["studio"],
                condition=models.Q(usual=True),
                name="finish_one_usual_a_studio",
                violation_error_message="Only one finish can be the usual one.",
            ),
            within("finish", "coats", low=0, high=100),
            within("finish", "ml_per_dm2", low=0, high=100),
            within("finish", "hours_between_coats", low=0, high=1000),
            within("finish", "days_to_hard", low=0, high=365),
            within("finish", "price_per_ml", low=0),
        ]

    def __str__(self) -> str:
        return self.name


class StandingRate(StudioOwned):
    """What an operation takes in this shop: median minutes a set-up and a unit, and their spread."""

    studio = models.ForeignKey(Studio, models.CASCADE, related_name="rates")
    operation = models.CharField(max_length=80)
    stage = models.CharField(max_length=20)
    setup_minutes = decimal_field("set-up minutes", digits=8, places=3, high=10_000, default=0)
    setup_per = models.CharField("set up once a", max_length=40, blank=True)
    minutes_per_unit = decimal_field("minutes a unit", digits=9, places=4, high=10_000)
    unit = models.CharField(max_length=40)
    spread = share_field(
        "spread",
        high=2,
        default=0.4,
        help_text="Of the logarithm: 0.4 means that four jobs in five take 0.6 to 1.67 times the median.",
    )
    note = models.CharField(max_length=200, blank=True)
    position = models.PositiveSmallIntegerField(default=0, help_text="Order in the list.")

    class Meta:
        ordering = ["position", "operation"]
        constraints = [
            models.UniqueConstraint(
                fields=["studio", "operation"],
                name="rate_operation_once_a_studio",
                violation_error_message="The studio already has a rate for this operation.",
            ),
            named("rate", "operation"),
            within("rate", "setup_minutes", low=0, high=10_000),
            within("rate", "minutes_per_unit", low=0, high=10_000),
            within("rate", "spread", low=0, high=2),
        ]

    def __str__(self) -> str:
        return self.operation
