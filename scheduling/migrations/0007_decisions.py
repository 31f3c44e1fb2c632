"""Decisions of a person for one assembly or a group, with who is in each."""

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("registry", "0004_what_a_service_carries"),
        ("scheduling", "0006_standing_board"),
    ]

    operations = [
        migrations.CreateModel(
            name="Decision",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "kind",
                    models.CharField(help_text="A FactKind that a person decides", max_length=20),
                ),
                (
                    "name",
                    models.CharField(
                        blank=True, default="", help_text="Of the group", max_length=200
                    ),
                ),
                (
                    "chosen_by",
                    models.CharField(
                        blank=True,
                        default="",
                        help_text="How its members were found, in words",
                        max_length=300,
                    ),
                ),
                ("on", models.DateField()),
                ("until", models.DateField(blank=True, null=True)),
                ("reason", models.CharField(max_length=500)),
                ("approved_by", models.CharField(max_length=150)),
                ("made_at", models.DateTimeField()),
                ("made_by", models.CharField(max_length=150)),
                ("ended_on", models.DateField(blank=True, null=True)),
                ("ended_at", models.DateTimeField(blank=True, null=True)),
                ("ended_by", models.CharField(blank=True, default="", max_length=150)),
                ("ended_reason", models.CharField(blank=True, default="", max_length=500)),
                (
                    "program",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="decisions",
                        to="registry.program",
                    ),
                ),
            ],
            options={"ordering": ("-made_at", "-id")},
        ),
        migrations.CreateModel(
            name="DecisionMember",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("due_before", models.DateField(blank=True, null=True)),
                ("due_after", models.DateField(blank=True, null=True)),
                (
                    "assembly",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="decisions",
                        to="registry.assembly",
                    ),
                ),
                (
                    "decision",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="members",
                        to="scheduling.decision",
                    ),
                ),
                (
                    "fact",
                    models.ForeignKey(
                        help_text="The fact that holds now",
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="decided",
                        to="scheduling.fact",
                    ),
                ),
            ],
            options={"ordering": ("id",)},
        ),
        migrations.AddIndex(
            model_name="decision",
            index=models.Index(
                condition=models.Q(("ended_at__isnull", True)),
                fields=["program", "until"],
                name="decision_to_review",
            ),
        ),
        migrations.AddIndex(
            model_name="decision",
            index=models.Index(fields=["program", "-made_at", "-id"], name="decision_by_day"),
        ),
        migrations.AddConstraint(
            model_name="decisionmember",
            constraint=models.UniqueConstraint(
                fields=("decision", "assembly"), name="in_a_decision_once"
            ),
        ),
    ]
