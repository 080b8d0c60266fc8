"""Who made a rig, and which model it is."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("vehicles", "0018_not_towed")]

    operations = [
        migrations.AddField(
            model_name="rig",
            name="make",
            field=models.CharField(blank=True, max_length=40, verbose_name="make"),
        ),
        migrations.AddField(
            model_name="rig",
            name="model",
            field=models.CharField(blank=True, max_length=60, verbose_name="model"),
        ),
    ]
