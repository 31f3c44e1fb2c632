from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("scheduling", "0008_services_and_premises")]

    operations = [
        migrations.RemoveIndex(model_name="obligation", name="obligation_to_act_on"),
        migrations.AddIndex(
            model_name="obligation",
            index=models.Index(
                condition=models.Q(("closed_on__isnull", True), ("opened_on__isnull", False)),
                fields=["program", "next_action_on"],
                name="obligation_to_act_on",
            ),
        ),
        migrations.AlterField(
            model_name="obligation",
            name="next_action_on",
            field=models.DateField(
                blank=True,
                help_text="When a run looks at it next; empty: nothing is to come",
                null=True,
            ),
        ),
    ]
