from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("vehicles", "0010_hub_meter_confirmed")]

    operations = [
        migrations.AddField(
            "reading",
            "questionable",
            models.BooleanField(default=False, editable=False),
        ),
    ]
