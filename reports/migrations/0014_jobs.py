from __future__ import annotations

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("registry", "0013_how_testers_work"),
        ("reports", "0013_what_a_certificate_says"),
    ]

    operations = [
        migrations.CreateModel(
            name="CallMade",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "outcome",
                    models.CharField(
                        choices=[
                            ("again", "call again"),
                            ("no", "does not want it"),
                            ("ordered", "asked for it"),
                        ],
                        max_length=10,
                    ),
                ),
                ("again_on", models.DateField(blank=True, null=True)),
                (
                    "for_due_on",
                    models.DateField(
                        blank=True,
                        help_text="The latest day then due; a no holds for it",
                        null=True,
                    ),
                ),
                ("words", models.CharField(blank=True, default="", max_length=300)),
                ("at", models.DateTimeField()),
                ("by", models.CharField(max_length=150)),
            ],
            options={
                "ordering": ("-at", "-id"),
            },
        ),
        migrations.CreateModel(
            name="Job",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("asked_by", models.CharField(help_text="Who asked for it", max_length=200)),
                ("asked_on", models.DateField()),
                ("covers_until", models.DateField(blank=True, null=True)),
                ("bill_to", models.CharField(blank=True, default="", max_length=300)),
                (
                    "repair_up_to",
                    models.DecimalField(
                        blank=True,
                        decimal_places=2,
                        help_text="Dollars; empty: ask first",
                        max_digits=9,
                        null=True,
                    ),
                ),
                ("notes", models.CharField(blank=True, default="", max_length=500)),
                ("recorded_at", models.DateTimeField()),
                ("by", models.CharField(max_length=150)),
                ("cancelled_at", models.DateTimeField(blank=True, null=True)),
                ("cancelled_by", models.CharField(blank=True, default="", max_length=150)),
                ("cancelled_why", models.CharField(blank=True, default="", max_length=300)),
            ],
            options={
                "ordering": ("-asked_on", "-id"),
            },
        ),
        migrations.AddField(
            model_name="callmade",
            name="premises",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.CASCADE,
                related_name="calls_made",
                to="registry.premises",
            ),
        ),
        migrations.AddField(
            model_name="callmade",
            name="program",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.CASCADE,
                related_name="calls_made",
                to="registry.program",
            ),
        ),
        migrations.AddField(
            model_name="job",
            name="firm",
            field=models.ForeignKey(
                blank=True,
                help_text="The testing company asked; empty: any that is approved",
                null=True,
                on_delete=django.db.models.deletion.SET_NULL,
                related_name="jobs",
                to="registry.firm",
            ),
        ),
        migrations.AddField(
            model_name="job",
            name="premises",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.CASCADE,
                related_name="jobs",
                to="registry.premises",
            ),
        ),
        migrations.AddField(
            model_name="job",
            name="program",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.CASCADE,
                related_name="jobs",
                to="registry.program",
            ),
        ),
        migrations.AddField(
            model_name="callmade",
            name="job",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.SET_NULL,
                related_name="calls_made",
                to="reports.job",
            ),
        ),
        migrations.AddIndex(
            model_name="job",
            index=models.Index(
                condition=models.Q(("cancelled_at__isnull", True)),
                fields=["program", "premises"],
                name="job_standing",
            ),
        ),
    ]
