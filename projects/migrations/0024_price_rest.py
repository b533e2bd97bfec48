"""Pairs under one price, tax by line, and carriage worked out from the box: nothing set, nothing changed."""

from decimal import Decimal

import django.core.validators
import django.db.models.deletion
import projects.models.fields
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("projects", "0023_set_range"),
    ]

    operations = [
        migrations.CreateModel(
            name="CarriageRate",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "up_to_kg",
                    projects.models.fields.TidyDecimalField(
                        decimal_places=3,
                        help_text="What a parcel is charged at, at most.",
                        max_digits=8,
                        validators=[
                            django.core.validators.MinValueValidator(
                                Decimal("0.001"), message="Must be at least %(limit_value)s."
                            ),
                            django.core.validators.MaxValueValidator(
                                Decimal("10000"), message="Must be at most %(limit_value)s."
                            ),
                        ],
                        verbose_name="up to",
                    ),
                ),
                (
                    "studio",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="carriage",
                        to="projects.studio",
                    ),
                ),
                (
                    "price",
                    projects.models.fields.TidyDecimalField(
                        decimal_places=4,
                        help_text="Of one parcel, before tax, insurance and surcharges in it.",
                        max_digits=14,
                        validators=[
                            django.core.validators.MinValueValidator(
                                Decimal("0"), message="Must be at least %(limit_value)s."
                            )
                        ],
                        verbose_name="price",
                    ),
                ),
            ],
            options={
                "ordering": ["up_to_kg"],
            },
        ),
        migrations.AddField(
            model_name="commission",
            name="crate_from",
            field=models.CharField(
                choices=[("given", "as written here"), ("worked_out", "worked out from the box")],
                default="given",
                help_text="Worked out: from the sides of the box, at the studio’s prices.",
                max_length=10,
                verbose_name="the crate is",
            ),
        ),
        migrations.AddField(
            model_name="commission",
            name="crate_tax",
            field=projects.models.fields.TidyDecimalField(
                blank=True,
                decimal_places=5,
                help_text="Empty: as the studio usually does it.",
                max_digits=6,
                null=True,
                validators=[
                    django.core.validators.MinValueValidator(
                        Decimal("0"), message="Must be at least %(limit_value)s."
                    ),
                    django.core.validators.MaxValueValidator(
                        Decimal("1"), message="Must be at most %(limit_value)s."
                    ),
                ],
                verbose_name="tax on the crate",
            ),
        ),
        migrations.AddField(
            model_name="commission",
            name="freight_from",
            field=models.CharField(
                choices=[("given", "as written here"), ("worked_out", "worked out from the box")],
                default="given",
                help_text="Worked out: by what a box weighs and takes up, from the table of carriage.",
                max_length=10,
                verbose_name="freight is",
            ),
        ),
        migrations.AddField(
            model_name="commission",
            name="freight_tax",
            field=projects.models.fields.TidyDecimalField(
                blank=True,
                decimal_places=5,
                help_text="Empty: as the studio usually does it.",
                max_digits=6,
                null=True,
                validators=[
                    django.core.validators.MinValueValidator(
                        Decimal("0"), message="Must be at least %(limit_value)s."
                    ),
                    django.core.validators.MaxValueValidator(
                        Decimal("1"), message="Must be at most %(limit_value)s."
                    ),
                ],
                verbose_name="tax on freight",
            ),
        ),
        migrations.AddField(
            model_name="commission",
            name="sold",
            field=models.CharField(
                choices=[("each", "each by itself"), ("set", "together, as a pair or a set")],
                default="each",
                help_text="As a set they have one price: a price step is then the set’s.",
                max_length=4,
                verbose_name="several pieces are sold",
            ),
        ),
        migrations.AddField(
            model_name="commission",
            name="stand_tax",
            field=projects.models.fields.TidyDecimalField(
                blank=True,
                decimal_places=5,
                help_text="Empty: as the studio usually does it.",
                max_digits=6,
                null=True,
                validators=[
                    django.core.validators.MinValueValidator(
                        Decimal("0"), message="Must be at least %(limit_value)s."
                    ),
                    django.core.validators.MaxValueValidator(
                        Decimal("1"), message="Must be at most %(limit_value)s."
                    ),
                ],
                verbose_name="tax on the stand",
            ),
        ),
        migrations.AddField(
            model_name="pricingdefaults",
            name="box_kg_m2",
            field=projects.models.fields.TidyDecimalField(
                decimal_places=3,
                default=Decimal("0.9"),
                help_text="Of a square metre of its sides. Double-wall card about 0.9, plywood of 9 mm about 6; from memory.",
                max_digits=7,
                validators=[
                    django.core.validators.MinValueValidator(
                        Decimal("0"), message="Must be at least %(limit_value)s."
                    ),
                    django.core.validators.MaxValueValidator(
                        Decimal("100"), message="Must be at most %(limit_value)s."
                    ),
                ],
                verbose_name="the box’s own weight",
            ),
        ),
        migrations.AddField(
            model_name="pricingdefaults",
            name="box_padding",
            field=projects.models.fields.TidyDecimalField(
                decimal_places=3,
                default=50,
                help_text="On every side of the piece. Usual: 50 mm. Common practice, no source.",
                max_digits=9,
                validators=[
                    django.core.validators.MinValueValidator(
                        Decimal("0"), message="Must be at least %(limit_value)s."
                    ),
                    django.core.validators.MaxValueValidator(
                        Decimal("1000"), message="Must be at most %(limit_value)s."
                    ),
                ],
                verbose_name="padding in the box",
            ),
        ),
        migrations.AddField(
            model_name="pricingdefaults",
            name="crate_fixed",
            field=projects.models.fields.TidyDecimalField(
                decimal_places=4,
                default=0,
                help_text="Whatever its size.",
                max_digits=14,
                validators=[
                    django.core.validators.MinValueValidator(
                        Decimal("0"), message="Must be at least %(limit_value)s."
                    )
                ],
                verbose_name="crate, each besides",
            ),
        ),
        migrations.AddField(
            model_name="pricingdefaults",
            name="crate_per_m2",
            field=projects.models.fields.TidyDecimalField(
                decimal_places=4,
                default=0,
                help_text="Of the box’s sides: material and work.",
                max_digits=14,
                validators=[
                    django.core.validators.MinValueValidator(
                        Decimal("0"), message="Must be at least %(limit_value)s."
                    )
                ],
                verbose_name="crate, a square metre",
            ),
        ),
        migrations.AddField(
            model_name="pricingdefaults",
            name="crate_tax",
            field=projects.models.fields.TidyDecimalField(
                blank=True,
                decimal_places=5,
                help_text="Empty: as on the pieces.",
                max_digits=6,
                null=True,
                validators=[
                    django.core.validators.MinValueValidator(
                        Decimal("0"), message="Must be at least %(limit_value)s."
                    ),
                    django.core.validators.MaxValueValidator(
                        Decimal("1"), message="Must be at most %(limit_value)s."
                    ),
                ],
                verbose_name="tax on the crate",
            ),
        ),
        migrations.AddField(
            model_name="pricingdefaults",
            name="freight_tax",
            field=projects.models.fields.TidyDecimalField(
                blank=True,
                decimal_places=5,
                help_text="Empty: as on the pieces.",
                max_digits=6,
                null=True,
                validators=[
                    django.core.validators.MinValueValidator(
                        Decimal("0"), message="Must be at least %(limit_value)s."
                    ),
                    django.core.validators.MaxValueValidator(
                        Decimal("1"), message="Must be at most %(limit_value)s."
                    ),
                ],
                verbose_name="tax on freight",
            ),
        ),
        migrations.AddField(
            model_name="pricingdefaults",
            name="stand_tax",
            field=projects.models.fields.TidyDecimalField(
                blank=True,
                decimal_places=5,
                help_text="Empty: as on the pieces.",
                max_digits=6,
                null=True,
                validators=[
                    django.core.validators.MinValueValidator(
                        Decimal("0"), message="Must be at least %(limit_value)s."
                    ),
                    django.core.validators.MaxValueValidator(
                        Decimal("1"), message="Must be at most %(limit_value)s."
                    ),
                ],
                verbose_name="tax on the stand",
            ),
        ),
        migrations.AddField(
            model_name="pricingdefaults",
            name="volume_divisor",
            field=projects.models.fields.TidyDecimalField(
                decimal_places=1,
                default=5000,
                help_text="A box that is light for its size is charged by its volume. Usual: 5000, 4000 to 6000 met, as parcel services print it; ask your carrier.",
                max_digits=8,
                validators=[
                    django.core.validators.MinValueValidator(
                        Decimal("100"), message="Must be at least %(limit_value)s."
                    ),
                    django.core.validators.MaxValueValidator(
                        Decimal("100000"), message="Must be at most %(limit_value)s."
                    ),
                ],
                verbose_name="what a kilogram may take up",
            ),
        ),
        migrations.AddConstraint(
            model_name="commission",
            constraint=models.CheckConstraint(
                condition=models.Q(("sold__in", ["each", "set"])),
                name="commission_sold_known",
                violation_error_message="The sold must be one of: each, set.",
            ),
        ),
        migrations.AddConstraint(
            model_name="commission",
            constraint=models.CheckConstraint(
                condition=models.Q(("freight_from__in", ["given", "worked_out"])),
                name="commission_freight_from_known",
                violation_error_message="The freight from must be one of: given, worked_out.",
            ),
        ),
        migrations.AddConstraint(
            model_name="commission",
            constraint=models.CheckConstraint(
                condition=models.Q(("crate_from__in", ["given", "worked_out"])),
                name="commission_crate_from_known",
                violation_error_message="The crate from must be one of: given, worked_out.",
            ),
        ),
        migrations.AddConstraint(
            model_name="commission",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("freight_tax__gte", Decimal("0")), ("freight_tax__lte", Decimal("1"))),
                    ("freight_tax__isnull", True),
                    _connector="OR",
                ),
                name="commission_freight_tax_in_range",
                violation_error_message="The freight tax must be from 0 to 1.",
            ),
        ),
        migrations.AddConstraint(
            model_name="commission",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("crate_tax__gte", Decimal("0")), ("crate_tax__lte", Decimal("1"))),
                    ("crate_tax__isnull", True),
                    _connector="OR",
                ),
                name="commission_crate_tax_in_range",
                violation_error_message="The crate tax must be from 0 to 1.",
            ),
        ),
        migrations.AddConstraint(
            model_name="commission",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("stand_tax__gte", Decimal("0")), ("stand_tax__lte", Decimal("1"))),
                    ("stand_tax__isnull", True),
                    _connector="OR",
                ),
                name="commission_stand_tax_in_range",
                violation_error_message="The stand tax must be from 0 to 1.",
            ),
        ),
        migrations.AddConstraint(
            model_name="pricingdefaults",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("freight_tax__gte", Decimal("0")), ("freight_tax__lte", Decimal("1"))),
                    ("freight_tax__isnull", True),
                    _connector="OR",
                ),
                name="pricing_freight_tax_in_range",
                violation_error_message="The freight tax must be from 0 to 1.",
            ),
        ),
        migrations.AddConstraint(
            model_name="pricingdefaults",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("crate_tax__gte", Decimal("0")), ("crate_tax__lte", Decimal("1"))),
                    ("crate_tax__isnull", True),
                    _connector="OR",
                ),
                name="pricing_crate_tax_in_range",
                violation_error_message="The crate tax must be from 0 to 1.",
            ),
        ),
        migrations.AddConstraint(
            model_name="pricingdefaults",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("stand_tax__gte", Decimal("0")), ("stand_tax__lte", Decimal("1"))),
                    ("stand_tax__isnull", True),
                    _connector="OR",
                ),
                name="pricing_stand_tax_in_range",
                violation_error_message="The stand tax must be from 0 to 1.",
            ),
        ),
        migrations.AddConstraint(
            model_name="pricingdefaults",
            constraint=models.CheckConstraint(
                condition=models.Q(("box_padding__gte", Decimal("0")), ("box_padding__lte", Decimal("1000"))),
                name="pricing_box_padding_in_range",
                violation_error_message="The box padding must be from 0 to 1000.",
            ),
        ),
        migrations.AddConstraint(
            model_name="pricingdefaults",
            constraint=models.CheckConstraint(
                condition=models.Q(("box_kg_m2__gte", Decimal("0")), ("box_kg_m2__lte", Decimal("100"))),
                name="pricing_box_kg_m2_in_range",
                violation_error_message="The box kg m2 must be from 0 to 100.",
            ),
        ),
        migrations.AddConstraint(
            model_name="pricingdefaults",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("volume_divisor__gte", Decimal("100")), ("volume_divisor__lte", Decimal("100000"))
                ),
                name="pricing_volume_divisor_in_range",
                violation_error_message="The volume divisor must be from 100 to 100000.",
            ),
        ),
        migrations.AddConstraint(
            model_name="pricingdefaults",
            constraint=models.CheckConstraint(
                condition=models.Q(("crate_per_m2__gte", Decimal("0"))),
                name="pricing_crate_per_m2_in_range",
                violation_error_message="The crate per m2 must be at least 0.",
            ),
        ),
        migrations.AddConstraint(
            model_name="pricingdefaults",
            constraint=models.CheckConstraint(
                condition=models.Q(("crate_fixed__gte", Decimal("0"))),
                name="pricing_crate_fixed_in_range",
                violation_error_message="The crate fixed must be at least 0.",
            ),
        ),
        migrations.AddConstraint(
            model_name="carriagerate",
            constraint=models.UniqueConstraint(
                fields=("studio", "up_to_kg"),
                name="carriage_step_once_a_studio",
                violation_error_message="The table already has a step up to so many kilograms.",
            ),
        ),
        migrations.AddConstraint(
            model_name="carriagerate",
            constraint=models.CheckConstraint(
                condition=models.Q(("up_to_kg__gte", Decimal("0.001")), ("up_to_kg__lte", Decimal("10000"))),
                name="carriage_up_to_kg_in_range",
                violation_error_message="The up to kg must be from 0.001 to 10000.",
            ),
        ),
        migrations.AddConstraint(
            model_name="carriagerate",
            constraint=models.CheckConstraint(
                condition=models.Q(("price__gte", Decimal("0"))),
                name="carriage_price_in_range",
                violation_error_message="The price must be at least 0.",
            ),
        ),
    ]
