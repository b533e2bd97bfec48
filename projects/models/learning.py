"""How the studio learns its rates from the hours log."""

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models

from projects.models.fields import decimal_field, within
from projects.models.owned import StudioOwned
from projects.models.studio import Studio


class LearningSettings(StudioOwned):
    """How much the hours log counts against the standing rates, and what is gained by making a piece again."""

    studio = models.OneToOneField(Studio, models.CASCADE, related_name="learning")
    use_log = models.BooleanField(
        "estimate by the hours log",
        default=True,
        help_text="Otherwise estimates go by the standing rates alone.",
    )
    standing_weight = decimal_field(
        "a standing rate counts as so many jobs",
        digits=6,
        places=2,
        low=0.5,
        high=1000,
        default=4,
        help_text="The more, the slower the log moves a rate. Usual: 4. A choice of ours, no source.",
    )
    half_life_days = models.PositiveIntegerField(
        "a job counts half after (days)",
        default=365,
        validators=[MinValueValidator(1), MaxValueValidator(36_500)],
        help_text="Counted back from the last day in the log. Usual: 365. A choice of ours, no source.",
    )
    repeat_rate = decimal_field(
        "time a piece when twice as many are made",
        digits=6,
        places=5,
        low=0.5,
        high=1,
        default=1,
        help_text="Average time of like pieces made together, each time their number doubles; set-ups apart. "
        "100 %: no gain. Wright found 80 % for aircraft; yours stands above once you have made a piece again.",
    )

    class Meta:
        verbose_name = verbose_name_plural = "learning settings"
        constraints = [
            within("learning", "standing_weight", low=0.5, high=1000),
            within("learning", "half_life_days", low=1, high=36_500),
            within("learning", "repeat_rate", low=0.5, high=1),
        ]

    def __str__(self) -> str:
        return f"Learning of {self.studio}"
