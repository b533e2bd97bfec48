from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("projects", "0016_planing_and_matching")]

    operations = []
