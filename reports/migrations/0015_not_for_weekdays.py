from __future__ import annotations

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("reports", "0014_jobs"),
    ]

    operations = [
        migrations.RemoveConstraint(
            model_name="notforvisit",
            name="not_for_visit_says_what",
        ),
        migrations.AddField(
            model_name="notforvisit",
            name="ended_by",
            field=models.CharField(blank=True, default="", max_length=150),
        ),
        migrations.AddField(
            model_name="notforvisit",
            name="until_on",
            field=models.DateField(blank=True, help_text="The last day it holds", null=True),
        ),
        migrations.AddField(
            model_name="notforvisit",
            name="weekday",
            field=models.PositiveSmallIntegerField(blank=True, help_text="0 is Monday", null=True),
        ),
        migrations.AddConstraint(
            model_name="notforvisit",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("tester__isnull", False),
                    ("on__isnull", False),
                    ("weekday__isnull", False),
                    _connector="OR",
                ),
                name="not_for_visit_names_something",
            ),
        ),
        migrations.AddConstraint(
            model_name="notforvisit",
            constraint=models.CheckConstraint(
                condition=models.Q(("weekday__isnull", True), ("weekday__lte", 6), _connector="OR"),
                name="not_for_visit_on_a_weekday",
            ),
        ),
    ]
