from __future__ import annotations

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("registry", "0013_how_testers_work"),
        ("reports", "0016_lunch_and_second_person"),
    ]

    operations = [
        migrations.CreateModel(
            name="PlanningRules",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "due_is_assigned",
                    models.BooleanField(
                        blank=True,
                        help_text="All that is due may be visited; empty: yes, but not for a company's customers",
                        null=True,
                    ),
                ),
                ("learns_minutes", models.BooleanField(default=True)),
                ("places_by_zip", models.BooleanField(default=False)),
                ("changed_at", models.DateTimeField()),
                ("by", models.CharField(max_length=150)),
            ],
        ),
        migrations.AddField(
            model_name="planningrules",
            name="program",
            field=models.OneToOneField(
                on_delete=django.db.models.deletion.CASCADE,
                related_name="planning_rules",
                to="registry.program",
            ),
        ),
    ]
