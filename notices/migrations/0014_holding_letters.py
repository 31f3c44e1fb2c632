import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("notices", "0013_shutoffs"),
        ("registry", "0013_how_testers_work"),
    ]

    operations = [
        migrations.CreateModel(
            name="LetterHold",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("since_on", models.DateField()),
                ("until_on", models.DateField(help_text="The last day on which nothing leaves")),
                ("reason", models.CharField(max_length=500)),
                ("made_by", models.CharField(max_length=150)),
                ("made_at", models.DateTimeField()),
                (
                    "ended_on",
                    models.DateField(
                        blank=True,
                        help_text="The first day on which letters leave again",
                        null=True,
                    ),
                ),
                ("ended_by", models.CharField(blank=True, default="", max_length=150)),
                (
                    "program",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="letter_holds",
                        to="registry.program",
                    ),
                ),
            ],
            options={
                "ordering": ("-since_on", "-id"),
                "constraints": [
                    models.UniqueConstraint(
                        condition=models.Q(("ended_on__isnull", True)),
                        fields=("program",),
                        name="one_hold_at_a_time",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("until_on__gte", models.F("since_on"))),
                        name="a_hold_ends_after_it_begins",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="QuietDays",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("from_on", models.DateField()),
                ("to_on", models.DateField()),
                ("why", models.CharField(max_length=200)),
                ("made_by", models.CharField(max_length=150)),
                ("made_at", models.DateTimeField()),
                (
                    "program",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="quiet_days",
                        to="registry.program",
                    ),
                ),
            ],
            options={
                "verbose_name_plural": "quiet days",
                "ordering": ("from_on", "id"),
                "constraints": [
                    models.UniqueConstraint(
                        fields=("program", "from_on", "to_on"), name="quiet_days_once"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("to_on__gte", models.F("from_on"))),
                        name="quiet_days_end_after_they_begin",
                    ),
                ],
            },
        ),
    ]
