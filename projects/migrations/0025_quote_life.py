"""The life of a quote: what happened to it, its options, sign-offs, change orders, papers and payments."""

from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("projects", "0024_price_rest")]
    operations: list = []
