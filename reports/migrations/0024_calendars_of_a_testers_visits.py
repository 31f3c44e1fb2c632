from django.db import migrations, models


class Migration(migrations.Migration):
    """A calendar may show a tester's visits for one program."""

    dependencies = [
        ("reports", "0023_days_that_stay"),
    ]

    operations = [
        migrations.RemoveConstraint(
            model_name="calendarfeed",
            name="feed_shows_one_thing",
        ),
        migrations.AddConstraint(
            model_name="calendarfeed",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("premises__isnull", True),
                    ("program__isnull", False),
                    ("tester__isnull", True),
                )
                | models.Q(
                    ("premises__isnull", False),
                    ("program__isnull", True),
                    ("tester__isnull", True),
                )
                | models.Q(("premises__isnull", True), ("tester__isnull", False)),
                name="feed_shows_one_thing",
            ),
        ),
    ]
