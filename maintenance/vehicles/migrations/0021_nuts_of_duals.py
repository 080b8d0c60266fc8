"""How many nuts each stud of a dual wheel has."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("vehicles", "0020_rig_photos")]

    operations = [
        migrations.AddField(
            model_name="rig",
            name="dual_nuts",
            field=models.CharField(
                blank=True,
                choices=[
                    ("one", "One nut on each stud"),
                    ("two", "An inner and an outer nut on each stud"),
                ],
                default="",
                max_length=3,
                verbose_name="nuts of the dual wheels",
            ),
        ),
    ]
