from __future__ import annotations

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("registry", "0011_what_an_assembly_was"),
    ]

    operations = [
        migrations.AddField(
            model_name="assembly",
            name="has_twin",
            field=models.BooleanField(
                db_default=False,
                default=False,
                help_text="A second one stands in parallel, so that the water need not go off",
            ),
        ),
        migrations.AddField(
            model_name="assembly",
            name="permit_space",
            field=models.BooleanField(
                blank=True,
                help_text="A confined space that asks for a permit: two people; empty: nobody judged it",
                null=True,
            ),
        ),
        migrations.AddField(
            model_name="premises",
            name="call_when",
            field=models.CharField(
                blank=True,
                db_default="",
                default="",
                help_text="Best time to telephone",
                max_length=120,
            ),
        ),
        migrations.AddField(
            model_name="premises",
            name="shutdown_days",
            field=models.PositiveSmallIntegerField(
                db_default=0, default=0, help_text="How many days before the water goes off"
            ),
        ),
        migrations.AddField(
            model_name="premises",
            name="shutdown_tell",
            field=models.CharField(
                blank=True,
                db_default="",
                default="",
                help_text="Whom to tell before the water goes off",
                max_length=300,
            ),
        ),
    ]
