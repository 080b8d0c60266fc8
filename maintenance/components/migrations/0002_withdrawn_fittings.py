"""An installation that never was so is kept, and counts nowhere."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("components", "0001_components")]

    operations = [
        migrations.RemoveConstraint("fitting", "fitted_at_one_place"),
        migrations.AddField(
            "fitting",
            "withdrawn",
            models.BooleanField(default=False, editable=False),
        ),
        migrations.AddConstraint(
            "fitting",
            models.UniqueConstraint(
                fields=["component"],
                condition=models.Q(end__isnull=True, withdrawn=False),
                name="fitted_at_one_place",
            ),
        ),
    ]
