from __future__ import annotations

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("registry", "0012_what_a_visit_needs"),
    ]

    operations = [
        migrations.AddField(
            model_name="firm",
            name="lunch_from",
            field=models.TimeField(blank=True, help_text="Lunch begins no sooner", null=True),
        ),
        migrations.AddField(
            model_name="firm",
            name="lunch_minutes",
            field=models.PositiveSmallIntegerField(
                blank=True, help_text="Lunch of its testers; empty: none is planned", null=True
            ),
        ),
        migrations.AddField(
            model_name="firm",
            name="lunch_to",
            field=models.TimeField(blank=True, help_text="Lunch is over by then", null=True),
        ),
        migrations.AddField(
            model_name="tester",
            name="lunch_from",
            field=models.TimeField(blank=True, help_text="Lunch begins no sooner", null=True),
        ),
        migrations.AddField(
            model_name="tester",
            name="lunch_minutes",
            field=models.PositiveSmallIntegerField(
                blank=True, help_text="Empty: as the testing company has it; 0: none", null=True
            ),
        ),
        migrations.AddField(
            model_name="tester",
            name="lunch_to",
            field=models.TimeField(blank=True, help_text="Lunch is over by then", null=True),
        ),
        migrations.AddField(
            model_name="tester",
            name="most_visits",
            field=models.PositiveSmallIntegerField(
                blank=True, help_text="Most visits in a day; empty: as many as fit", null=True
            ),
        ),
    ]
