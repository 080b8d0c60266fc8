from django.db import migrations, models


def withdrawn() -> models.BooleanField:
    return models.BooleanField(default=False, editable=False)


class Migration(migrations.Migration):
    dependencies = [("vehicles", "0011_questionable_readings")]

    operations = [
        migrations.AddField("meterreplacement", "withdrawn", withdrawn()),
        migrations.AddField("severeduty", "withdrawn", withdrawn()),
        migrations.AddField("stay", "withdrawn", withdrawn()),
        migrations.AddField("trip", "withdrawn", withdrawn()),
    ]
