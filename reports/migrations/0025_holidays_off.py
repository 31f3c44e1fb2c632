"""Whether nobody is planned on public holidays, by a program's own word."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("reports", "0024_calendars_of_a_testers_visits"),
    ]

    operations = [
        migrations.AddField(
            model_name="planningrules",
            name="holidays_off",
            field=models.BooleanField(
                default=True,
                help_text="Nobody is planned on public holidays of the program's state",
            ),
        ),
    ]
