"""The logo drawn at the head of letters, kept under its digest."""

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("notices", "0006_own_wording"),
        ("registry", "0011_what_an_assembly_was"),
    ]

    operations = [
        migrations.CreateModel(
            name="LetterLogo",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("sha256", models.CharField(max_length=64)),
                ("png", models.BinaryField()),
                ("width", models.PositiveIntegerField(help_text="Pixels")),
                ("height", models.PositiveIntegerField(help_text="Pixels")),
                ("added_at", models.DateTimeField()),
                ("added_by", models.CharField(max_length=150)),
                (
                    "program",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="logos",
                        to="registry.program",
                    ),
                ),
            ],
            options={
                "ordering": ("-added_at", "-id"),
                "constraints": [
                    models.UniqueConstraint(fields=("program", "sha256"), name="letter_logo_once")
                ],
            },
        ),
    ]
