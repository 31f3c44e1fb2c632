from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("registry", "0014_what_a_premises_was"),
    ]

    operations = [
        migrations.AddField(
            model_name="program",
            name="letters_held_until",
            field=models.DateField(
                blank=True,
                help_text="The last day of a hold on all letters; its row says why",
                null=True,
            ),
        ),
    ]
