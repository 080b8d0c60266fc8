"""Where a torque figure comes from, said plainly."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("service_records", "0010_nuts_that_held")]

    operations = [
        migrations.AlterField(
            model_name="torquecheck",
            name="origin",
            field=models.CharField(
                choices=[
                    ("invoice", "Invoice from the shop that put the wheel on"),
                    ("manual", "Manufacturer's manual"),
                    ("placard", "Placard on the rig"),
                ],
                max_length=7,
                verbose_name="figure from",
            ),
        ),
    ]
