"""The hours log keeps what was changed and taken out, and which entries share one stretch of time at the bench."""

import django.db.models.deletion
import django.utils.timezone
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("projects", "0019_bench")]

    operations = [
        migrations.CreateModel(
            name="HoursChange",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("entry_number", models.PositiveBigIntegerField(verbose_name="entry")),
                ("worked_on", models.DateField()),
                (
                    "what",
                    models.CharField(choices=[("changed", "changed"), ("taken_out", "taken out")], max_length=9),
                ),
                ("before", models.JSONField()),
                ("at", models.DateTimeField(default=django.utils.timezone.now)),
                (
                    "by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to="projects.member",
                    ),
                ),
                (
                    "commission",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to="projects.commission",
                    ),
                ),
                (
                    "member",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="projects.member"
                    ),
                ),
            ],
            options={"ordering": ["-at", "-pk"]},
        ),
        migrations.AddIndex(
            model_name="hourschange",
            index=models.Index(fields=["entry_number"], name="hours_change_by_entry"),
        ),
        migrations.AddConstraint(
            model_name="hourschange",
            constraint=models.CheckConstraint(
                condition=models.Q(("what__in", ["changed", "taken_out"])),
                name="hours_change_what_known",
                violation_error_message="The what must be one of: changed, taken_out.",
            ),
        ),
        migrations.AddField(
            model_name="hoursentry",
            name="stretch",
            field=models.UUIDField(blank=True, editable=False, null=True),
        ),
        migrations.AddIndex(
            model_name="hoursentry",
            index=models.Index(fields=["member", "worked_on"], name="hours_by_member_and_day"),
        ),
        migrations.AddConstraint(
            model_name="hoursentry",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("stretch__isnull", True),
                    models.Q(("ended_at__isnull", False), ("started_at__isnull", False)),
                    _connector="OR",
                ),
                name="hours_stretch_is_timed",
                violation_error_message="A stretch of time begins and ends.",
            ),
        ),
    ]
