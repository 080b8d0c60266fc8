"""When somebody last said of a quiet rig that it is in use."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("vehicles", "0012_withdrawn_facts")]

    operations = [
        migrations.AddField(
            model_name="rig",
            name="said_in_use_on",
            field=models.DateField(blank=True, editable=False, null=True),
        )
    ]
