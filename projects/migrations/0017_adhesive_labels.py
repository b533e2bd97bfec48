"""More of an adhesive's label: parts by mass, open time, temperature, pressure, heat in the cup, clean-up."""

from decimal import Decimal

import django.core.validators
from django.db import migrations, models

import projects.models.fields

# Degrees C that double its times, least temperature, pressure from and to in MPa, most in one cup in ml, what cleans it
# up: the usual figures of each kind when these were first asked for.
USUAL = {
    "epoxy": ("10", "15", "0.02", "0.2", "90", "denatured alcohol, on tools, before it sets"),
    "pva": ("8.3", "10", "0.69", "1.72", "0", "water, while it is wet"),
    "polyurethane": ("10", "10", "0.69", "1.72", "0", "acetone, on tools, while it is wet"),
    "hide": ("0", "18", "0.1", "0.7", "0", "warm water"),
    "other": ("10", "15", "0.2", "0.7", "0", ""),
}
ASKED_ANEW = "Its label was read before temperature, pressure, open time and heat were asked for: look these up as well."


def fill_by_kind(apps, schema_editor):
    """Every adhesive on a shelf gets its kind's usual figures; one whose label was read is to be read again for them.

    Its open time stays 0, as long as the pot life, which is what estimates took it for.
    """
    adhesive_model = apps.get_model("projects", "Adhesive")
    for kind, (slower, least, low, high, cup, cleaner) in USUAL.items():
        adhesive_model.objects.filter(kind=kind).update(
            slower_c=Decimal(slower),
            least_c=Decimal(least),
            pressure_low=Decimal(low),
            pressure_high=Decimal(high),
            exotherm_ml=Decimal(cup),
            cleaner=cleaner,
        )
    for adhesive in adhesive_model.objects.filter(label_read=True):
        adhesive.label_read = False
        adhesive.note = f"{adhesive.note}\n{ASKED_ANEW}".strip()
        adhesive.save(update_fields=["label_read", "note"])


def forget_ca(apps, schema_editor):
    """Cyanoacrylate is no kind of its own any more."""
    apps.get_model("projects", "Adhesive").objects.filter(kind="ca").update(kind="other")


class Migration(migrations.Migration):
    dependencies = [("projects", "0016_planing_and_matching")]

    operations = [
        migrations.RemoveConstraint(
            model_name='adhesive',
            name='adhesive_kind_known',
        ),
        migrations.AddField(
            model_name='adhesive',
            name='cleaner',
            field=models.CharField(blank=True, help_text='What takes it off tools before it sets.', max_length=200, verbose_name='cleaned up with'),
        ),
        migrations.AddField(
            model_name='adhesive',
            name='exotherm_ml',
            field=projects.models.fields.TidyDecimalField(decimal_places=2, default=90, help_text='ml; a larger mix heats itself. 0: not known, or it never does.', max_digits=9, validators=[django.core.validators.MinValueValidator(Decimal('0'), message='Must be at least %(limit_value)s.'), django.core.validators.MaxValueValidator(Decimal('100000'), message='Must be at most %(limit_value)s.')], verbose_name='most in one cup'),
        ),
        migrations.AddField(
            model_name='adhesive',
            name='least_c',
            field=projects.models.fields.TidyDecimalField(decimal_places=2, default=15, help_text='°C of bench, wood and adhesive; not to be used below.', max_digits=5, validators=[django.core.validators.MinValueValidator(Decimal('-20'), message='Must be at least %(limit_value)s.'), django.core.validators.MaxValueValidator(Decimal('60'), message='Must be at most %(limit_value)s.')], verbose_name='least temperature'),
        ),
        migrations.AddField(
            model_name='adhesive',
            name='mass_a',
            field=projects.models.fields.TidyDecimalField(blank=True, decimal_places=3, help_text='Only where the label has them: parts by mass are other figures than those by volume.', max_digits=9, null=True, validators=[django.core.validators.MinValueValidator(Decimal('0.01'), message='Must be at least %(limit_value)s.'), django.core.validators.MaxValueValidator(Decimal('1000'), message='Must be at most %(limit_value)s.')], verbose_name='parts of A by mass'),
        ),
        migrations.AddField(
            model_name='adhesive',
            name='mass_b',
            field=projects.models.fields.TidyDecimalField(blank=True, decimal_places=3, max_digits=9, null=True, validators=[django.core.validators.MinValueValidator(Decimal('0.01'), message='Must be at least %(limit_value)s.'), django.core.validators.MaxValueValidator(Decimal('1000'), message='Must be at most %(limit_value)s.')], verbose_name='parts of B by mass'),
        ),
        migrations.AddField(
            model_name='adhesive',
            name='open_min',
            field=projects.models.fields.TidyDecimalField(decimal_places=2, default=0, help_text='Minutes that coated faces may lie open; 0: as long as the pot life.', max_digits=8, validators=[django.core.validators.MinValueValidator(Decimal('0'), message='Must be at least %(limit_value)s.'), django.core.validators.MaxValueValidator(Decimal('100000'), message='Must be at most %(limit_value)s.')], verbose_name='open time'),
        ),
        migrations.AddField(
            model_name='adhesive',
            name='pressure_high',
            field=projects.models.fields.TidyDecimalField(decimal_places=3, default=Decimal('0.2'), help_text='MPa; more starves the joint.', max_digits=6, validators=[django.core.validators.MinValueValidator(Decimal('0'), message='Must be at least %(limit_value)s.'), django.core.validators.MaxValueValidator(Decimal('10'), message='Must be at most %(limit_value)s.')], verbose_name='most pressure'),
        ),
        migrations.AddField(
            model_name='adhesive',
            name='pressure_low',
            field=projects.models.fields.TidyDecimalField(decimal_places=3, default=Decimal('0.02'), help_text='MPa on the joint; 1 MPa is 145 lb/in².', max_digits=6, validators=[django.core.validators.MinValueValidator(Decimal('0'), message='Must be at least %(limit_value)s.'), django.core.validators.MaxValueValidator(Decimal('10'), message='Must be at most %(limit_value)s.')], verbose_name='least pressure'),
        ),
        migrations.AddField(
            model_name='adhesive',
            name='slower_c',
            field=projects.models.fields.TidyDecimalField(decimal_places=2, default=10, help_text='°C colder, for all of these times; 0 where no such rule holds.', max_digits=6, validators=[django.core.validators.MinValueValidator(Decimal('0'), message='Must be at least %(limit_value)s.'), django.core.validators.MaxValueValidator(Decimal('1000'), message='Must be at most %(limit_value)s.')], verbose_name='twice as slow for every'),
        ),
        migrations.AlterField(
            model_name='adhesive',
            name='kind',
            field=models.CharField(choices=[('epoxy', 'epoxy'), ('pva', 'PVA or aliphatic'), ('polyurethane', 'polyurethane'), ('ca', 'cyanoacrylate (CA)'), ('hide', 'hide glue'), ('other', 'other')], default='epoxy', max_length=12),
        ),
        migrations.AddConstraint(
            model_name='adhesive',
            constraint=models.CheckConstraint(condition=models.Q(('kind__in', ['epoxy', 'pva', 'polyurethane', 'ca', 'hide', 'other'])), name='adhesive_kind_known', violation_error_message='The kind must be one of: epoxy, pva, polyurethane, ca, hide, other.'),
        ),
        migrations.AddConstraint(
            model_name='adhesive',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('mass_a__gte', Decimal('0.01')), ('mass_a__lte', Decimal('1000'))), ('mass_a__isnull', True), _connector='OR'), name='adhesive_mass_a_in_range', violation_error_message='The mass a must be from 0.01 to 1000.'),
        ),
        migrations.AddConstraint(
            model_name='adhesive',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('mass_b__gte', Decimal('0.01')), ('mass_b__lte', Decimal('1000'))), ('mass_b__isnull', True), _connector='OR'), name='adhesive_mass_b_in_range', violation_error_message='The mass b must be from 0.01 to 1000.'),
        ),
        migrations.AddConstraint(
            model_name='adhesive',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('mass_a__isnull', True), ('mass_b__isnull', True)), models.Q(('mass_a__isnull', False), ('mass_b__isnull', False)), _connector='OR'), name='adhesive_mass_parts_together', violation_error_message='Parts by mass: give both, or neither.'),
        ),
        migrations.AddConstraint(
            model_name='adhesive',
            constraint=models.CheckConstraint(condition=models.Q(('open_min__gte', Decimal('0')), ('open_min__lte', Decimal('100000'))), name='adhesive_open_min_in_range', violation_error_message='The open min must be from 0 to 100000.'),
        ),
        migrations.AddConstraint(
            model_name='adhesive',
            constraint=models.CheckConstraint(condition=models.Q(('exotherm_ml__gte', Decimal('0')), ('exotherm_ml__lte', Decimal('100000'))), name='adhesive_exotherm_ml_in_range', violation_error_message='The exotherm ml must be from 0 to 100000.'),
        ),
        migrations.AddConstraint(
            model_name='adhesive',
            constraint=models.CheckConstraint(condition=models.Q(('slower_c', 0), models.Q(('slower_c__gte', 5), ('slower_c__lte', 1000)), _connector='OR'), name='adhesive_slower_c_in_range', violation_error_message='Twice as slow for every 5 °C or more, or 0 where no such rule holds.'),
        ),
        migrations.AddConstraint(
            model_name='adhesive',
            constraint=models.CheckConstraint(condition=models.Q(('least_c__gte', Decimal('-20')), ('least_c__lte', Decimal('60'))), name='adhesive_least_c_in_range', violation_error_message='The least c must be from -20 to 60.'),
        ),
        migrations.AddConstraint(
            model_name='adhesive',
            constraint=models.CheckConstraint(condition=models.Q(('pressure_low__gte', Decimal('0')), ('pressure_low__lte', Decimal('10'))), name='adhesive_pressure_low_in_range', violation_error_message='The pressure low must be from 0 to 10.'),
        ),
        migrations.AddConstraint(
            model_name='adhesive',
            constraint=models.CheckConstraint(condition=models.Q(('pressure_high__gte', Decimal('0')), ('pressure_high__lte', Decimal('10'))), name='adhesive_pressure_high_in_range', violation_error_message='The pressure high must be from 0 to 10.'),
        ),
        migrations.AddConstraint(
            model_name='adhesive',
            constraint=models.CheckConstraint(condition=models.Q(('pressure_high__gte', models.F('pressure_low'))), name='adhesive_pressure_rises', violation_error_message='The least pressure must not be above the most.'),
        ),
        migrations.RunPython(fill_by_kind, forget_ca),
    ]
