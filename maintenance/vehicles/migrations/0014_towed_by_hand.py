"""Which trips are only a distance that somebody told."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("vehicles", "0013_said_in_use")]

    operations = [
        migrations.AddField(
            model_name="trip",
            name="by_hand",
            field=models.BooleanField(default=False, editable=False),
        )
    ]
