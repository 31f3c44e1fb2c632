from __future__ import annotations

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("reports", "0015_not_for_weekdays"),
    ]

    operations = [
        migrations.AddField(
            model_name="plan",
            name="minutes_from",
            field=models.CharField(
                blank=True,
                default="",
                help_text="Where the minutes of visits come from",
                max_length=300,
            ),
        ),
        migrations.AddField(
            model_name="planleftout",
            name="helps",
            field=models.CharField(
                blank=True, default="", help_text="What would let it be planned", max_length=300
            ),
        ),
        migrations.AddField(
            model_name="round",
            name="lunch_from",
            field=models.DateTimeField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name="round",
            name="lunch_to",
            field=models.DateTimeField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name="stop",
            name="second_of",
            field=models.ForeignKey(
                blank=True,
                help_text="The visit at which this tester is the second person",
                null=True,
                on_delete=django.db.models.deletion.CASCADE,
                related_name="seconds",
                to="reports.stop",
            ),
        ),
    ]
