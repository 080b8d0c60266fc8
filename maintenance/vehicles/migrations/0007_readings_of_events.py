from django.db import migrations, models
from django.db.models import deletion


class Migration(migrations.Migration):
    dependencies = [("vehicles", "0006_weights_and_labels")]

    operations = [
        migrations.AddField(
            "reading",
            "event",
            models.ForeignKey(
                editable=False,
                null=True,
                on_delete=deletion.SET_NULL,
                related_name="readings",
                to="vehicles.event",
            ),
        ),
    ]
