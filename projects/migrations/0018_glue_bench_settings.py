from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("projects", "0017_adhesive_labels")]

    operations = []
