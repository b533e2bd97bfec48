from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("projects", "0018_glue_bench_settings")]

    operations = []
