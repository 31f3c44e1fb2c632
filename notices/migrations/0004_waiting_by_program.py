from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("notices", "0003_deliveries_by_channel"),
        ("scheduling", "0009_opened_by_next_day"),
    ]

    operations = [
        migrations.AddIndex(
            model_name="notice",
            index=models.Index(
                condition=models.Q(("left_on__isnull", True), ("withdrawn_on__isnull", True)),
                fields=["program", "obligation"],
                name="notice_waiting",
            ),
        ),
    ]
