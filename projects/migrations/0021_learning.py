from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("projects", "0020_hours")]

    operations = []
