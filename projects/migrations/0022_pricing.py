from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("projects", "0021_learning")]

    operations = []
