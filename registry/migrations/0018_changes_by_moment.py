"""Indexes for the run of the day, which asks what was found and changed since the last one."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("registry", "0017_erasures")]

    operations = [
        migrations.AddIndex(
            model_name="hazardassessment",
            index=models.Index(fields=["recorded_at"], name="finding_by_moment"),
        ),
        migrations.AddIndex(
            model_name="change",
            index=models.Index(fields=["program", "at"], name="change_by_moment"),
        ),
    ]
