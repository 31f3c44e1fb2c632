"""The sentences an office writes itself, version by version."""

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("notices", "0005_mail_stops"),
        ("registry", "0011_what_an_assembly_was"),
    ]

    operations = [
        migrations.CreateModel(
            name="Wording",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("work", models.CharField(help_text="What the letter asks for", max_length=20)),
                ("kind", models.CharField(help_text="The letter's kind", max_length=40)),
                ("language", models.CharField(max_length=10)),
                ("number", models.PositiveIntegerField(help_text="Within work, kind and language")),
                (
                    "texts",
                    models.JSONField(default=dict, help_text="Part of the letter to its text"),
                ),
                ("state", models.CharField(default="draft", max_length=20)),
                ("made_at", models.DateTimeField()),
                ("made_by", models.CharField(max_length=150)),
                ("in_force_at", models.DateTimeField(blank=True, null=True)),
                ("in_force_by", models.CharField(blank=True, default="", max_length=150)),
                ("ended_at", models.DateTimeField(blank=True, null=True)),
                ("ended_by", models.CharField(blank=True, default="", max_length=150)),
                (
                    "taken_from",
                    models.PositiveIntegerField(
                        blank=True, help_text="The version it was restored from", null=True
                    ),
                ),
                (
                    "program",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="wordings",
                        to="registry.program",
                    ),
                ),
            ],
            options={
                "ordering": ("-number",),
                "constraints": [
                    models.UniqueConstraint(
                        fields=("program", "work", "kind", "language", "number"),
                        name="wording_once",
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(("state", "in force")),
                        fields=("program", "work", "kind", "language"),
                        name="one_wording_in_force",
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(("state", "draft")),
                        fields=("program", "work", "kind", "language"),
                        name="one_wording_draft",
                    ),
                ],
            },
        ),
    ]
