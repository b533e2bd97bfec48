"""How prices are stepped, paid, shared and taxed, and what is lost by stage: nothing set, nothing changed."""

from decimal import Decimal

import django.core.validators
import projects.models.fields
import projects.models.money_terms
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("projects", "0021_learning"),
    ]

    operations = [
        migrations.AddField(
            model_name="commission",
            name="crate",
            field=projects.models.fields.TidyDecimalField(
                decimal_places=4,
                default=0,
                help_text="Made or bought. Charged as it costs, outside the gallery’s share.",
                max_digits=14,
                validators=[
                    django.core.validators.MinValueValidator(
                        Decimal("0"), message="Must be at least %(limit_value)s."
                    )
                ],
                verbose_name="crate",
            ),
        ),
        migrations.AddField(
            model_name="commission",
            name="discount",
            field=projects.models.fields.TidyDecimalField(
                decimal_places=5,
                default=0,
                help_text="Off the printed price.",
                max_digits=6,
                validators=[
                    django.core.validators.MinValueValidator(
                        Decimal("0"), message="Must be at least %(limit_value)s."
                    ),
                    django.core.validators.MaxValueValidator(
                        Decimal("0.9"), message="Must be at most %(limit_value)s."
                    ),
                ],
                verbose_name="discount",
            ),
        ),
        migrations.AddField(
            model_name="commission",
            name="discount_borne_by",
            field=models.CharField(
                choices=[
                    ("both", "both, by their shares"),
                    ("studio", "you alone"),
                    ("gallery", "the gallery alone"),
                ],
                default="both",
                max_length=7,
                verbose_name="who bears the discount",
            ),
        ),
        migrations.AddField(
            model_name="commission",
            name="freight",
            field=projects.models.fields.TidyDecimalField(
                decimal_places=4,
                default=0,
                help_text="To the client or the gallery. Charged as it costs, outside the gallery’s share.",
                max_digits=14,
                validators=[
                    django.core.validators.MinValueValidator(
                        Decimal("0"), message="Must be at least %(limit_value)s."
                    )
                ],
                verbose_name="freight",
            ),
        ),
        migrations.AddField(
            model_name="commission",
            name="gallery_mode",
            field=models.CharField(
                choices=[
                    ("consignment", "consignment: it sells and keeps its share"),
                    ("purchase", "purchase: it buys at the price less its share"),
                    ("commission", "commission: you sell and pay its share"),
                ],
                default="consignment",
                max_length=11,
                verbose_name="how the gallery deals",
            ),
        ),
        migrations.AddField(
            model_name="commission",
            name="price_from",
            field=models.CharField(
                choices=[("cost", "worked out from what it costs"), ("offer", "the price offered")],
                default="cost",
                help_text="A quote is issued at this price.",
                max_length=5,
                verbose_name="the price is",
            ),
        ),
        migrations.AddField(
            model_name="commission",
            name="rush",
            field=projects.models.fields.TidyDecimalField(
                decimal_places=5,
                default=0,
                help_text="On what you are paid. Usual: 20 %, 10 to 30 met.",
                max_digits=6,
                validators=[
                    django.core.validators.MinValueValidator(
                        Decimal("0"), message="Must be at least %(limit_value)s."
                    ),
                    django.core.validators.MaxValueValidator(
                        Decimal("1"), message="Must be at most %(limit_value)s."
                    ),
                ],
                verbose_name="surcharge for haste",
            ),
        ),
        migrations.AddField(
            model_name="commission",
            name="stages",
            field=models.CharField(
                blank=True,
                default="",
                help_text="In order, such as 30, 30, 40. Empty: a deposit and the balance.",
                max_length=80,
                validators=[projects.models.money_terms.validate_stages],
                verbose_name="payments (%)",
            ),
        ),
        migrations.AddField(
            model_name="commission",
            name="stand",
            field=projects.models.fields.TidyDecimalField(
                decimal_places=4,
                default=0,
                help_text="Made or bought. Charged as it costs, outside the gallery’s share.",
                max_digits=14,
                validators=[
                    django.core.validators.MinValueValidator(
                        Decimal("0"), message="Must be at least %(limit_value)s."
                    )
                ],
                verbose_name="stand",
            ),
        ),
        migrations.AddField(
            model_name="pricingdefaults",
            name="fee_borne_by",
            field=models.CharField(
                choices=[("studio", "you"), ("gallery", "the gallery")],
                default="studio",
                max_length=7,
                verbose_name="who takes the money, and bears the fee",
            ),
        ),
        migrations.AddField(
            model_name="pricingdefaults",
            name="glue_up_loss",
            field=projects.models.fields.TidyDecimalField(
                decimal_places=5,
                default=0,
                help_text="With all layers in them. Usual: 3 %, 1 to 6 met.",
                max_digits=6,
                validators=[
                    django.core.validators.MinValueValidator(
                        Decimal("0"), message="Must be at least %(limit_value)s."
                    ),
                    django.core.validators.MaxValueValidator(
                        Decimal("0.9"), message="Must be at most %(limit_value)s."
                    ),
                ],
                verbose_name="glue-ups done again",
            ),
        ),
        migrations.AddField(
            model_name="pricingdefaults",
            name="lathe_loss",
            field=projects.models.fields.TidyDecimalField(
                decimal_places=5,
                default=0,
                help_text="With all up to then. Usual: 3 %, 1 to 8 met.",
                max_digits=6,
                validators=[
                    django.core.validators.MinValueValidator(
                        Decimal("0"), message="Must be at least %(limit_value)s."
                    ),
                    django.core.validators.MaxValueValidator(
                        Decimal("0.9"), message="Must be at most %(limit_value)s."
                    ),
                ],
                verbose_name="pieces lost at the lathe",
            ),
        ),
        migrations.AddField(
            model_name="pricingdefaults",
            name="payment_fee",
            field=projects.models.fields.TidyDecimalField(
                decimal_places=5,
                default=0,
                help_text="Card or platform, of all that is paid. Usual: 3 %, 0 to 5 met.",
                max_digits=6,
                validators=[
                    django.core.validators.MinValueValidator(
                        Decimal("0"), message="Must be at least %(limit_value)s."
                    ),
                    django.core.validators.MaxValueValidator(
                        Decimal("0.5"), message="Must be at most %(limit_value)s."
                    ),
                ],
                verbose_name="payment fee",
            ),
        ),
        migrations.AddField(
            model_name="pricingdefaults",
            name="price_step",
            field=projects.models.fields.TidyDecimalField(
                decimal_places=4,
                default=0,
                help_text="The printed price of a piece is rounded up to a multiple of it. Usual: 25. Nothing: not rounded up.",
                max_digits=14,
                validators=[
                    django.core.validators.MinValueValidator(
                        Decimal("0"), message="Must be at least %(limit_value)s."
                    )
                ],
                verbose_name="price step",
            ),
        ),
        migrations.AddField(
            model_name="pricingdefaults",
            name="ring_loss",
            field=projects.models.fields.TidyDecimalField(
                decimal_places=5,
                default=0,
                help_text="With their segments. Usual: 3 %, 1 to 8 met.",
                max_digits=6,
                validators=[
                    django.core.validators.MinValueValidator(
                        Decimal("0"), message="Must be at least %(limit_value)s."
                    ),
                    django.core.validators.MaxValueValidator(
                        Decimal("0.9"), message="Must be at most %(limit_value)s."
                    ),
                ],
                verbose_name="rings glued again",
            ),
        ),
        migrations.AddField(
            model_name="pricingdefaults",
            name="segment_loss",
            field=projects.models.fields.TidyDecimalField(
                decimal_places=5,
                default=0,
                help_text="With its wood and sawing. Once any loss of a stage is given, these stand for the failures above.",
                max_digits=6,
                validators=[
                    django.core.validators.MinValueValidator(
                        Decimal("0"), message="Must be at least %(limit_value)s."
                    ),
                    django.core.validators.MaxValueValidator(
                        Decimal("0.9"), message="Must be at most %(limit_value)s."
                    ),
                ],
                verbose_name="segments cut again",
            ),
        ),
        migrations.AddField(
            model_name="pricingdefaults",
            name="tax_by",
            field=models.CharField(
                choices=[("quote", "once for the quote"), ("line", "for each line")],
                default="quote",
                max_length=5,
                verbose_name="tax is rounded",
            ),
        ),
        migrations.AddConstraint(
            model_name="commission",
            constraint=models.CheckConstraint(
                condition=models.Q(("price_from__in", ["cost", "offer"])),
                name="commission_price_from_known",
                violation_error_message="The price from must be one of: cost, offer.",
            ),
        ),
        migrations.AddConstraint(
            model_name="commission",
            constraint=models.CheckConstraint(
                condition=models.Q(("gallery_mode__in", ["consignment", "purchase", "commission"])),
                name="commission_gallery_mode_known",
                violation_error_message="The gallery mode must be one of: consignment, purchase, commission.",
            ),
        ),
        migrations.AddConstraint(
            model_name="commission",
            constraint=models.CheckConstraint(
                condition=models.Q(("discount_borne_by__in", ["both", "studio", "gallery"])),
                name="commission_discount_borne_by_known",
                violation_error_message="The discount borne by must be one of: both, studio, gallery.",
            ),
        ),
        migrations.AddConstraint(
            model_name="commission",
            constraint=models.CheckConstraint(
                condition=models.Q(("rush__gte", Decimal("0")), ("rush__lte", Decimal("1"))),
                name="commission_rush_in_range",
                violation_error_message="The rush must be from 0 to 1.",
            ),
        ),
        migrations.AddConstraint(
            model_name="commission",
            constraint=models.CheckConstraint(
                condition=models.Q(("discount__gte", Decimal("0")), ("discount__lte", Decimal("0.9"))),
                name="commission_discount_in_range",
                violation_error_message="The discount must be from 0 to 0.9.",
            ),
        ),
        migrations.AddConstraint(
            model_name="commission",
            constraint=models.CheckConstraint(
                condition=models.Q(("freight__gte", Decimal("0"))),
                name="commission_freight_in_range",
                violation_error_message="The freight must be at least 0.",
            ),
        ),
        migrations.AddConstraint(
            model_name="commission",
            constraint=models.CheckConstraint(
                condition=models.Q(("crate__gte", Decimal("0"))),
                name="commission_crate_in_range",
                violation_error_message="The crate must be at least 0.",
            ),
        ),
        migrations.AddConstraint(
            model_name="commission",
            constraint=models.CheckConstraint(
                condition=models.Q(("stand__gte", Decimal("0"))),
                name="commission_stand_in_range",
                violation_error_message="The stand must be at least 0.",
            ),
        ),
        migrations.AddConstraint(
            model_name="pricingdefaults",
            constraint=models.CheckConstraint(
                condition=models.Q(("fee_borne_by__in", ["studio", "gallery"])),
                name="pricing_fee_borne_by_known",
                violation_error_message="The fee borne by must be one of: studio, gallery.",
            ),
        ),
        migrations.AddConstraint(
            model_name="pricingdefaults",
            constraint=models.CheckConstraint(
                condition=models.Q(("tax_by__in", ["quote", "line"])),
                name="pricing_tax_by_known",
                violation_error_message="The tax by must be one of: quote, line.",
            ),
        ),
        migrations.AddConstraint(
            model_name="pricingdefaults",
            constraint=models.CheckConstraint(
                condition=models.Q(("price_step__gte", Decimal("0"))),
                name="pricing_price_step_in_range",
                violation_error_message="The price step must be at least 0.",
            ),
        ),
        migrations.AddConstraint(
            model_name="pricingdefaults",
            constraint=models.CheckConstraint(
                condition=models.Q(("payment_fee__gte", Decimal("0")), ("payment_fee__lte", Decimal("0.5"))),
                name="pricing_payment_fee_in_range",
                violation_error_message="The payment fee must be from 0 to 0.5.",
            ),
        ),
        migrations.AddConstraint(
            model_name="pricingdefaults",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("segment_loss__gte", Decimal("0")), ("segment_loss__lte", Decimal("0.9"))
                ),
                name="pricing_segment_loss_in_range",
                violation_error_message="The segment loss must be from 0 to 0.9.",
            ),
        ),
        migrations.AddConstraint(
            model_name="pricingdefaults",
            constraint=models.CheckConstraint(
                condition=models.Q(("ring_loss__gte", Decimal("0")), ("ring_loss__lte", Decimal("0.9"))),
                name="pricing_ring_loss_in_range",
                violation_error_message="The ring loss must be from 0 to 0.9.",
            ),
        ),
        migrations.AddConstraint(
            model_name="pricingdefaults",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("glue_up_loss__gte", Decimal("0")), ("glue_up_loss__lte", Decimal("0.9"))
                ),
                name="pricing_glue_up_loss_in_range",
                violation_error_message="The glue up loss must be from 0 to 0.9.",
            ),
        ),
        migrations.AddConstraint(
            model_name="pricingdefaults",
            constraint=models.CheckConstraint(
                condition=models.Q(("lathe_loss__gte", Decimal("0")), ("lathe_loss__lte", Decimal("0.9"))),
                name="pricing_lathe_loss_in_range",
                violation_error_message="The lathe loss must be from 0 to 0.9.",
            ),
        ),
    ]
