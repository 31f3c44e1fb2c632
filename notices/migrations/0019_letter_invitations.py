"""The calendar part that an e-mail carries."""

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("notices", "0018_delivered_on"),
    ]

    operations = [
        migrations.CreateModel(
            name="LetterInvitation",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("method", models.CharField(help_text="REQUEST or CANCEL", max_length=10)),
                ("text", models.TextField()),
                (
                    "letter",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="invitation",
                        to="notices.letter",
                    ),
                ),
            ],
        ),
    ]
