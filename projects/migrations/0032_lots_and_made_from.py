"""Lots of adhesive kept at the bench; which piece a design was made from."""

import django.db.models.deletion
import django.utils.timezone
from django.db import migrations, models


def without_lots(apps, schema_editor):
    """On the way back: the bench of then knows no such tap."""
    apps.get_model("projects", "BenchTap").objects.filter(act="lot").delete()
    if schema_editor.connection.vendor == "postgresql":
        # What waits for the end of the transaction would keep the table from being altered.
        schema_editor.execute("SET CONSTRAINTS ALL IMMEDIATE")


class Migration(migrations.Migration):

    dependencies = [
        ('projects', '0031_what_a_gallery_owes'),
    ]

    operations = [
        migrations.CreateModel(
            name='AdhesiveLot',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name', models.CharField(max_length=80)),
                ('part', models.CharField(choices=[('a', 'resin (A)'), ('b', 'hardener (B)'), ('one', 'adhesive')], max_length=3)),
                ('lot', models.CharField(max_length=60)),
                ('use_by', models.DateField(blank=True, null=True, verbose_name='use by')),
                ('at', models.DateTimeField(default=django.utils.timezone.now)),
                ('adhesive', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='lots', to='projects.adhesive')),
                ('member', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='adhesive_lots', to='projects.member')),
                ('step', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='lots', to='projects.benchstep')),
            ],
            options={
                'ordering': ['at', 'pk'],
            },
        ),
        migrations.CreateModel(
            name='MadeFrom',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('design', models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, related_name='made_from', to='projects.design')),
                ('record', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='made_again', to='projects.piecerecord')),
            ],
            options={
                'verbose_name_plural': 'made from',
                'ordering': ['pk'],
            },
        ),
        migrations.AddConstraint(
            model_name='adhesivelot',
            constraint=models.UniqueConstraint(fields=('step', 'part', 'lot'), name='adhesive_lot_once_a_step', violation_error_message='This lot is kept with the step already.'),
        ),
        migrations.AddConstraint(
            model_name='adhesivelot',
            constraint=models.CheckConstraint(condition=models.Q(('name', ''), _negated=True), name='adhesive_lot_name_given', violation_error_message='The name must not be empty.'),
        ),
        migrations.AddConstraint(
            model_name='adhesivelot',
            constraint=models.CheckConstraint(condition=models.Q(('lot', ''), _negated=True), name='adhesive_lot_lot_given', violation_error_message='The lot must not be empty.'),
        ),
        migrations.AddConstraint(
            model_name='adhesivelot',
            constraint=models.CheckConstraint(condition=models.Q(('part__in', ['a', 'b', 'one'])), name='adhesive_lot_part_known', violation_error_message='The part must be one of: a, b, one.'),
        ),
        migrations.RemoveConstraint(
            model_name='benchtap',
            name='bench_tap_act_known',
        ),
        migrations.AlterField(
            model_name='benchtap',
            name='act',
            field=models.CharField(choices=[('start', 'start'), ('end', 'end'), ('mixed', 'mixed'), ('note', 'note'), ('photo', 'photo'), ('measure', 'measure'), ('wrong', 'it went wrong'), ('lot', 'lot of adhesive'), ('undo', 'undo')], max_length=7),
        ),
        migrations.AddConstraint(
            model_name='benchtap',
            constraint=models.CheckConstraint(condition=models.Q(('act__in', ['start', 'end', 'mixed', 'note', 'photo', 'measure', 'wrong', 'lot', 'undo'])), name='bench_tap_act_known', violation_error_message='The act must be one of: start, end, mixed, note, photo, measure, wrong, lot, undo.'),
        ),
        migrations.RunPython(migrations.RunPython.noop, without_lots),
    ]
