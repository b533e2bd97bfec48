"""What is known of a wood besides its figures; filled in for the woods that are still those of the table."""

import csv
from pathlib import Path

from django.db import migrations, models

import estimating

TEXTS = ("health_detail", "fades", "protected_note", "traits_source")
TICKS = ("oily", "dust_stains")


def fill_from_table(apps, schema_editor):
    """A studio's own wood is left alone: only one with the key and botanical name of a row gets its traits."""
    wood_model = apps.get_model("projects", "Wood")
    table = Path(estimating.__file__).parent / "tables" / "woods.csv"
    with table.open(encoding="utf-8", newline="") as rows:
        for row in csv.DictReader(rows):
            traits = {name: row.get(name, "") for name in TEXTS}
            traits |= {name: row.get(name) == "yes" for name in TICKS}
            wood_model.objects.filter(key=row["key"], botanical=row["botanical_name"]).update(**traits)


class Migration(migrations.Migration):

    dependencies = [
        ("projects", "0014_saw_settings"),
    ]

    operations = [
        migrations.AddField("wood", "health_detail", models.CharField(blank=True, default="", help_text="Eyes, skin, lungs, and how strongly.", max_length=300, verbose_name="what the dust harms"), preserve_default=False),
        migrations.AddField("wood", "oily", models.BooleanField(default=False, help_text="Wants wiping with a solvent before it is glued.")),
        migrations.AddField("wood", "dust_stains", models.BooleanField(default=False, help_text="Its dust colours pale wood beside it.", verbose_name="dust stains")),
        migrations.AddField("wood", "fades", models.CharField(blank=True, default="", help_text="What light does to its colour: turns from purple to brown.", max_length=200, verbose_name="in the light"), preserve_default=False),
        migrations.AddField("wood", "protected_note", models.CharField(blank=True, default="", help_text="In which list of protected species it stands, and since when. The lists change.", max_length=300, verbose_name="protected"), preserve_default=False),
        migrations.AddField("wood", "traits_source", models.TextField(blank=True, default="", help_text="Where what is said of dust, oil, light and lists comes from.", verbose_name="source of these"), preserve_default=False),
        migrations.RunPython(fill_from_table, migrations.RunPython.noop),
    ]
