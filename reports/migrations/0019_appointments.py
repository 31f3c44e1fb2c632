"""What customers were told about visits."""

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("notices", "0019_letter_invitations"),
        ("registry", "0013_how_testers_work"),
        ("reports", "0018_busy_calendars"),
    ]

    operations = [
        migrations.CreateModel(
            name="AppointmentTold",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "uid",
                    models.CharField(
                        help_text="Of the visit in the customer's calendar", max_length=255
                    ),
                ),
                ("sequence", models.PositiveIntegerField()),
                ("kind", models.CharField(max_length=30)),
                ("starts_at", models.DateTimeField()),
                ("ends_at", models.DateTimeField()),
                ("tester", models.CharField(blank=True, default="", max_length=200)),
                ("by_way", models.CharField(max_length=30)),
                ("at", models.DateTimeField()),
                ("by", models.CharField(max_length=150)),
                ("call_due", models.BooleanField(default=False)),
                ("called_at", models.DateTimeField(blank=True, null=True)),
                ("called_by", models.CharField(blank=True, default="", max_length=150)),
                ("call_words", models.CharField(blank=True, default="", max_length=300)),
                (
                    "letter",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="appointments",
                        to="notices.letter",
                    ),
                ),
                (
                    "premises",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="appointments",
                        to="registry.premises",
                    ),
                ),
                (
                    "program",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="appointments",
                        to="registry.program",
                    ),
                ),
                (
                    "stop",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="told",
                        to="reports.stop",
                    ),
                ),
            ],
            options={
                "ordering": ("-at", "-pk"),
                "indexes": [
                    models.Index(
                        condition=models.Q(("call_due", True)),
                        fields=["program"],
                        name="calls_to_make",
                    ),
                    models.Index(fields=["program", "starts_at"], name="told_by_visit"),
                ],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("uid", "sequence"), name="told_once_by_sequence"
                    )
                ],
            },
        ),
    ]
