"""Wheels whose nuts were checked and held, also where nobody read the figure."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("service_records", "0009_unfiled_photos")]

    operations = [
        migrations.AddField(
            model_name="torqueplace",
            name="held",
            field=models.BooleanField(default=False, verbose_name="the nuts held"),
        ),
    ]
