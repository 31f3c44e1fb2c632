import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("notices", "0015_order_of_letters"),
        ("registry", "0013_how_testers_work"),
    ]

    operations = [
        migrations.CreateModel(
            name="Gathering",
            fields=[
                (
                    "party",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.CASCADE,
                        primary_key=True,
                        related_name="gathering",
                        serialize=False,
                        to="registry.party",
                    ),
                ),
                ("day_of_month", models.PositiveSmallIntegerField(help_text="1 to 28")),
                ("set_by", models.CharField(max_length=150)),
                ("set_at", models.DateTimeField()),
            ],
            options={
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("day_of_month__gte", 1), ("day_of_month__lte", 28)),
                        name="gathered_on_a_day_of_every_month",
                    )
                ],
            },
        ),
    ]
