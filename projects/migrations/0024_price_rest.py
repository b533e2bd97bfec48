"""Pairs under one price, tax by line, and carriage worked out from the box."""

from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("projects", "0023_set_range")]
    operations: list = []
