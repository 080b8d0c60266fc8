from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("vehicles", "0008_row_keys")]

    operations = [
        migrations.AddField(
            "meter", "hub_confirmed_on", models.DateField(editable=False, null=True)
        ),
    ]
