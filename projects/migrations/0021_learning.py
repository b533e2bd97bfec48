"""How the studio learns from its hours log, and how often an entry was set up for."""

from decimal import Decimal

import django.core.validators
import django.db.models.deletion
import projects.models.fields
from django.db import migrations, models


def between(low, high):
    return [
        django.core.validators.MinValueValidator(Decimal(low), message="Must be at least %(limit_value)s."),
        django.core.validators.MaxValueValidator(Decimal(high), message="Must be at most %(limit_value)s."),
    ]


def held(model, name, field, low, high, words):
    return migrations.AddConstraint(
        model_name=model,
        constraint=models.CheckConstraint(
            condition=models.Q((f"{field}__gte", Decimal(low)), (f"{field}__lte", Decimal(high))),
            name=name,
            violation_error_message=words,
        ),
    )


class Migration(migrations.Migration):
    dependencies = [("projects", "0020_hours")]

    operations = [
        migrations.CreateModel(
            name="LearningSettings",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "use_log",
                    models.BooleanField(
                        default=True,
                        help_text="Otherwise estimates go by the standing rates alone.",
                        verbose_name="estimate by the hours log",
                    ),
                ),
                (
                    "standing_weight",
                    projects.models.fields.TidyDecimalField(
                        decimal_places=2,
                        default=4,
                        help_text="The more, the slower the log moves a rate. Usual: 4. A choice of ours, no source.",
                        max_digits=6,
                        validators=between("0.5", "1000"),
                        verbose_name="a standing rate counts as so many jobs",
                    ),
                ),
                (
                    "half_life_days",
                    models.PositiveIntegerField(
                        default=365,
                        help_text="Counted back from the last day in the log. Usual: 365. "
                        "A choice of ours, no source.",
                        validators=[
                            django.core.validators.MinValueValidator(1),
                            django.core.validators.MaxValueValidator(36500),
                        ],
                        verbose_name="a job counts half after (days)",
                    ),
                ),
                (
                    "repeat_rate",
                    projects.models.fields.TidyDecimalField(
                        decimal_places=5,
                        default=1,
                        help_text="Average time of like pieces made together, each time their number doubles; "
                        "set-ups apart. 100 %: no gain. Wright found 80 % for aircraft; yours stands above once "
                        "you have made a piece again.",
                        max_digits=6,
                        validators=between("0.5", "1"),
                        verbose_name="time a piece when twice as many are made",
                    ),
                ),
                (
                    "studio",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="learning",
                        to="projects.studio",
                    ),
                ),
            ],
            options={"verbose_name": "learning settings", "verbose_name_plural": "learning settings"},
        ),
        held(
            "learningsettings",
            "learning_standing_weight_in_range",
            "standing_weight",
            "0.5",
            "1000",
            "The standing weight must be from 0.5 to 1000.",
        ),
        held(
            "learningsettings",
            "learning_half_life_days_in_range",
            "half_life_days",
            "1",
            "36500",
            "The half life days must be from 1 to 36500.",
        ),
        held(
            "learningsettings",
            "learning_repeat_rate_in_range",
            "repeat_rate",
            "0.5",
            "1",
            "The repeat rate must be from 0.5 to 1.",
        ),
        migrations.AddField(
            model_name="hoursentry",
            name="setups",
            field=projects.models.fields.TidyDecimalField(
                blank=True,
                decimal_places=3,
                help_text="How often it was set up for: fences, rings, coats, as the rate says. Blank: once.",
                max_digits=9,
                null=True,
                validators=between("0", "100000"),
                verbose_name="set-ups",
            ),
        ),
        migrations.AddConstraint(
            model_name="hoursentry",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("setups__gte", Decimal("0")), ("setups__lte", Decimal("100000"))),
                    ("setups__isnull", True),
                    _connector="OR",
                ),
                name="hours_setups_in_range",
                violation_error_message="The setups must be from 0 to 100000.",
            ),
        ),
    ]
