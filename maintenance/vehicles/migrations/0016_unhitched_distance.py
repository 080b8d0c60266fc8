"""What of a trip was driven without what was towed."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("vehicles", "0015_mark_towed_by_hand")]

    operations = [
        migrations.AddField(
            model_name="trip",
            name="off",
            field=models.DecimalField(
                blank=True,
                decimal_places=1,
                max_digits=8,
                null=True,
                verbose_name="driven unhitched",
            ),
        )
    ]
