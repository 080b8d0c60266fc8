from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("packets", "0001_packets")]

    operations = [
        migrations.AddField(
            model_name="packet",
            name="tries",
            field=models.PositiveSmallIntegerField(default=0),
        ),
    ]
