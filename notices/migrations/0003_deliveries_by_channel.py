"""Deliveries become one row for each channel of a letter, with a lease and a log of tries."""

import django.db.models.deletion
from django.db import migrations, models
from django.db.models import Q


class Migration(migrations.Migration):
    dependencies = [
        ("notices", "0002_brought_along"),
        ("registry", "0004_what_a_service_carries"),
    ]

    operations = [
        migrations.CreateModel(
            name="PaperRun",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("number", models.PositiveIntegerField(help_text="Counts within the program")),
                ("channel", models.CharField(max_length=30)),
                ("made_on", models.DateField()),
                ("made_at", models.DateTimeField()),
                ("made_by", models.CharField(max_length=150)),
                ("letters", models.PositiveIntegerField()),
                (
                    "sheets",
                    models.PositiveIntegerField(help_text="Of paper, printed on both sides"),
                ),
                ("mailed_on", models.DateField(blank=True, null=True)),
                ("mailed_at", models.DateTimeField(blank=True, null=True)),
                ("mailed_by", models.CharField(blank=True, default="", max_length=150)),
                (
                    "program",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="paper_runs",
                        to="registry.program",
                    ),
                ),
            ],
            options={"ordering": ("-number",)},
        ),
        migrations.AddConstraint(
            model_name="paperrun",
            constraint=models.UniqueConstraint(
                fields=("program", "number"), name="paper_run_number_once"
            ),
        ),
        migrations.AddField(
            model_name="letter",
            name="also_by",
            field=models.JSONField(
                default=list, help_text="Channels the rulebook asks for besides; it has left by all"
            ),
        ),
        migrations.RenameField(model_name="delivery", old_name="outcome", new_name="state"),
        migrations.RenameField(model_name="delivery", old_name="on", new_name="left_on"),
        migrations.RenameField(model_name="delivery", old_name="at", new_name="left_at"),
        migrations.AlterModelOptions(
            name="delivery", options={"ordering": ("id",), "verbose_name_plural": "deliveries"}
        ),
        migrations.AlterField(
            "delivery", "state", models.CharField(default="waiting", max_length=40)
        ),
        migrations.AlterField("delivery", "left_on", models.DateField(blank=True, null=True)),
        migrations.AlterField("delivery", "left_at", models.DateTimeField(blank=True, null=True)),
        migrations.AddField(
            "delivery",
            "is_required",
            models.BooleanField(default=True, help_text="The rung has not left before this has"),
        ),
        migrations.AddField(
            "delivery",
            "address",
            models.CharField(blank=True, default="", help_text="E-mail, as used", max_length=254),
        ),
        migrations.AddField(
            "delivery", "message_id", models.CharField(blank=True, default="", max_length=200)
        ),
        migrations.AddField(
            "delivery",
            "came_from",
            models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.SET_NULL,
                related_name="became",
                to="notices.delivery",
            ),
        ),
        migrations.AddField(
            "delivery",
            "run",
            models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.SET_NULL,
                related_name="deliveries",
                to="notices.paperrun",
            ),
        ),
        migrations.AddField(
            "delivery",
            "place",
            models.PositiveIntegerField(blank=True, help_text="In its paper run", null=True),
        ),
        migrations.AddField("delivery", "tries", models.PositiveSmallIntegerField(default=0)),
        migrations.AddField(
            "delivery",
            "unknown_tries",
            models.PositiveSmallIntegerField(
                default=0, help_text="Tries that ended without an answer"
            ),
        ),
        migrations.AddField(
            "delivery", "first_tried_at", models.DateTimeField(blank=True, null=True)
        ),
        migrations.AddField("delivery", "not_before", models.DateTimeField(blank=True, null=True)),
        migrations.AddField(
            "delivery", "claim", models.CharField(blank=True, default="", max_length=32)
        ),
        migrations.AddField(
            "delivery", "claimed_until", models.DateTimeField(blank=True, null=True)
        ),
        migrations.CreateModel(
            name="DeliveryTry",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("at", models.DateTimeField()),
                ("outcome", models.CharField(max_length=20)),
                ("code", models.CharField(blank=True, default="", max_length=20)),
                ("words", models.CharField(blank=True, default="", max_length=500)),
                (
                    "source",
                    models.TextField(blank=True, default="", help_text="A bounce as it came"),
                ),
                (
                    "delivery",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="log",
                        to="notices.delivery",
                    ),
                ),
            ],
            options={"ordering": ("at", "id"), "verbose_name_plural": "delivery tries"},
        ),
        migrations.AddConstraint(
            "delivery",
            models.UniqueConstraint(fields=("letter", "channel"), name="delivery_once_by_channel"),
        ),
        migrations.AddConstraint(
            "delivery",
            models.UniqueConstraint(
                condition=~Q(message_id=""), fields=("message_id",), name="message_id_once"
            ),
        ),
        migrations.AddConstraint(
            "delivery", models.UniqueConstraint(fields=("run", "place"), name="one_place_in_a_run")
        ),
        migrations.AddIndex(
            "delivery",
            models.Index(
                condition=Q(state__in=("waiting", "going")),
                fields=["channel", "id"],
                name="delivery_to_go",
            ),
        ),
    ]
