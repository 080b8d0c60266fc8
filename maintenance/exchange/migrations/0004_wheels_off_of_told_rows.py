"""What rows that tell in words of work on wheels mean."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("exchange", "0003_export_jobs")]

    operations = [
        migrations.AddField(
            model_name="importjob",
            name="wheels_off",
            field=models.CharField(blank=True, default="", max_length=4),
        )
    ]
