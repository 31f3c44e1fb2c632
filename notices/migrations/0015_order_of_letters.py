import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("notices", "0014_holding_letters"),
        ("registry", "0013_how_testers_work"),
    ]

    operations = [
        migrations.CreateModel(
            name="OrderMove",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "group",
                    models.CharField(
                        help_text="What the group is told by: hazard, street …", max_length=20
                    ),
                ),
                ("value", models.CharField(max_length=200)),
                ("is_forward", models.BooleanField()),
                ("reason", models.CharField(max_length=500)),
                ("made_by", models.CharField(max_length=150)),
                ("made_at", models.DateTimeField()),
                ("ended_at", models.DateTimeField(blank=True, null=True)),
                ("ended_by", models.CharField(blank=True, default="", max_length=150)),
                (
                    "program",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="order_moves",
                        to="registry.program",
                    ),
                ),
            ],
            options={
                "ordering": ("-id",),
                "constraints": [
                    models.UniqueConstraint(
                        condition=models.Q(("ended_at__isnull", True)),
                        fields=("program", "group", "value"),
                        name="one_move_of_a_group",
                    )
                ],
            },
        ),
    ]
