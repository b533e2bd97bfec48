"""Records taken out of the log, with the reason."""

import django.db.models.deletion
from django.db import migrations, models


def of_no_commission(apps, schema_editor):
    """On the way back: what was taken out stands in the log again, and may be there twice of one piece."""
    records = apps.get_model("projects", "PieceRecord").objects.filter(taken_out_at__isnull=False)
    records.update(commission=None)
    if schema_editor.connection.vendor == "postgresql":
        # What waits for the end of the transaction would keep the table from being altered.
        schema_editor.execute("SET CONSTRAINTS ALL IMMEDIATE")


class Migration(migrations.Migration):

    dependencies = [
        ('projects', '0032_lots_and_made_from'),
    ]

    operations = [
        migrations.RemoveConstraint(
            model_name='piecerecord',
            name='record_once_a_piece',
        ),
        migrations.RemoveIndex(
            model_name='piecerecord',
            name='record_by_year',
        ),
        migrations.RemoveIndex(
            model_name='piecerecord',
            name='record_by_place',
        ),
        migrations.RemoveIndex(
            model_name='piecerecord',
            name='record_by_form',
        ),
        migrations.AddField(
            model_name='piecerecord',
            name='taken_out_at',
            field=models.DateTimeField(blank=True, editable=False, null=True),
        ),
        migrations.AddField(
            model_name='piecerecord',
            name='taken_out_by',
            field=models.ForeignKey(blank=True, editable=False, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to='projects.member'),
        ),
        migrations.AddField(
            model_name='piecerecord',
            name='taken_out_why',
            field=models.CharField(blank=True, editable=False, max_length=300),
        ),
        migrations.AddIndex(
            model_name='piecerecord',
            index=models.Index(fields=['studio', 'taken_out_at', 'year'], name='record_by_year'),
        ),
        migrations.AddIndex(
            model_name='piecerecord',
            index=models.Index(fields=['studio', 'taken_out_at', 'place', 'year'], name='record_by_place'),
        ),
        migrations.AddIndex(
            model_name='piecerecord',
            index=models.Index(fields=['studio', 'taken_out_at', 'form'], name='record_by_form'),
        ),
        migrations.AddConstraint(
            model_name='piecerecord',
            constraint=models.UniqueConstraint(condition=models.Q(('commission__isnull', False), ('taken_out_at__isnull', True)), fields=('commission', 'piece'), name='record_once_a_piece', violation_error_message='This piece is in the log already.'),
        ),
        migrations.AddConstraint(
            model_name='piecerecord',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('taken_out_at__isnull', True), ('taken_out_why', '')), models.Q(('taken_out_at__isnull', False), models.Q(('taken_out_why', ''), _negated=True)), _connector='OR'), name='record_out_for_a_reason', violation_error_message='Say why it is taken out.'),
        ),
        migrations.RunPython(migrations.RunPython.noop, of_no_commission),
    ]
