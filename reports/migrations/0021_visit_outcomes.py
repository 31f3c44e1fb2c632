"""What became of visits on their day."""

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("registry", "0015_letters_held_until"),
        ("reports", "0020_lapse_letters"),
    ]

    operations = [
        migrations.CreateModel(
            name="VisitTold",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("on", models.DateField(help_text="The day it was planned for")),
                ("arrives_at", models.DateTimeField(help_text="As it was planned")),
                ("outcome", models.CharField(max_length=20)),
                ("words", models.CharField(blank=True, default="", max_length=300)),
                ("at", models.DateTimeField()),
                ("by", models.CharField(max_length=150)),
                (
                    "premises",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="visits_told",
                        to="registry.premises",
                    ),
                ),
                (
                    "program",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="visits_told",
                        to="registry.program",
                    ),
                ),
                (
                    "stop",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="outcomes",
                        to="reports.stop",
                    ),
                ),
                (
                    "tester",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="visits_told",
                        to="registry.tester",
                    ),
                ),
            ],
            options={
                "ordering": ("-at", "-pk"),
                "indexes": [models.Index(fields=["program", "on"], name="outcomes_by_day")],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("stop", "on"), name="one_outcome_a_visit_and_day"
                    )
                ],
            },
        ),
    ]
