"""The day on which a delivery is known to have been handed over."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("notices", "0016_gathered_monthly")]

    operations = [
        migrations.AddField(
            model_name="delivery",
            name="delivered_on",
            field=models.DateField(
                blank=True, help_text="By a receipt or a person who handed it over", null=True
            ),
        ),
    ]
