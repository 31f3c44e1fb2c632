from django.db import migrations

# An empty next day meant that it was looked at every day; now that nothing is to come.
LOOK = (
    "UPDATE scheduling_obligation SET next_action_on = opened_on"
    " WHERE closed_on IS NULL AND opened_on IS NOT NULL AND next_action_on IS NULL"
)


class Migration(migrations.Migration):
    dependencies = [("scheduling", "0009_opened_by_next_day")]

    operations = [migrations.RunSQL(LOOK, migrations.RunSQL.noop)]
