from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("vehicles", "0009_more_kinds_of_rig")]

    operations = [
        migrations.AddField(
            "meter", "hub_confirmed_on", models.DateField(editable=False, null=True)
        ),
    ]
