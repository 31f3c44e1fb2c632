"""Busy calendars of testers and the hours they hold."""

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("registry", "0013_how_testers_work"),
        ("reports", "0017_planning_rules"),
    ]

    operations = [
        migrations.CreateModel(
            name="BusyCalendar",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("name", models.CharField(max_length=80)),
                ("sha256", models.CharField(help_text="Of the file as it came", max_length=64)),
                ("read_at", models.DateTimeField()),
                ("by", models.CharField(max_length=150)),
                (
                    "until_on",
                    models.DateField(help_text="Repeating entries were followed until this day"),
                ),
                (
                    "tester",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="busy_calendars",
                        to="registry.tester",
                    ),
                ),
            ],
            options={
                "ordering": ("name", "pk"),
            },
        ),
        migrations.CreateModel(
            name="BusySpan",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("starts_at", models.DateTimeField()),
                ("ends_at", models.DateTimeField()),
                (
                    "calendar",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="spans",
                        to="reports.busycalendar",
                    ),
                ),
            ],
            options={
                "ordering": ("starts_at", "pk"),
            },
        ),
        migrations.AddConstraint(
            model_name="busycalendar",
            constraint=models.UniqueConstraint(
                fields=("tester", "name"), name="busy_calendar_once"
            ),
        ),
        migrations.AddIndex(
            model_name="busyspan",
            index=models.Index(fields=["calendar", "ends_at"], name="busy_by_end"),
        ),
        migrations.AddConstraint(
            model_name="busyspan",
            constraint=models.CheckConstraint(
                condition=models.Q(("ends_at__gt", models.F("starts_at"))), name="busy_runs_forward"
            ),
        ),
    ]
