"""What an assembly was before a change that holds from a day on."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("registry", "0010_calibration_certificates")]

    operations = [
        migrations.AddField(
            model_name="assembly",
            name="was",
            field=models.JSONField(
                blank=True,
                default=None,
                help_text="What it was before changes that hold from a day on, oldest first: until, "
                "recorded_at, type, protects, service, has_chemicals, runs_part_year",
                null=True,
            ),
        ),
    ]
