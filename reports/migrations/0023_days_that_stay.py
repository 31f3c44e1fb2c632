"""What moving a visit that is planned already must save, by a program's own word."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("reports", "0022_all_due_is_assigned"),
    ]

    operations = [
        migrations.AddField(
            model_name="planningrules",
            name="stay_minutes",
            field=models.PositiveSmallIntegerField(
                default=10,
                help_text="Driving that moving a planned visit must save, in minutes",
            ),
        ),
    ]
