from django.db import migrations, models
from django.db.models import deletion


class Migration(migrations.Migration):
    dependencies = [
        ("findings", "0002_findings_below_records"),
        ("reminders", "0006_unfit_findings"),
        ("vehicles", "0003_fuel_stops"),
    ]

    operations = [
        migrations.AlterField(
            model_name="notice",
            name="stage",
            field=models.CharField(
                choices=[
                    ("safety", "Safety, at once"),
                    ("overdue", "Overdue"),
                    ("due", "Due"),
                    ("book", "Book a shop"),
                    ("heads_up", "Coming"),
                    ("withdrawn", "Told, and withdrawn since"),
                ],
                max_length=9,
            ),
        ),
        migrations.AlterField(
            model_name="findingnotice",
            name="finding",
            field=models.ForeignKey(
                null=True,
                on_delete=deletion.SET_NULL,
                related_name="notices",
                to="findings.finding",
            ),
        ),
        migrations.AddField(
            model_name="findingnotice",
            name="rig",
            field=models.ForeignKey(
                null=True,
                on_delete=deletion.CASCADE,
                related_name="+",
                to="vehicles.rig",
            ),
        ),
        migrations.AddField(
            model_name="findingnotice",
            name="what",
            field=models.CharField(blank=True, max_length=300),
        ),
        migrations.AddField(
            model_name="findingnotice",
            name="withdrawn",
            field=models.BooleanField(default=False),
        ),
    ]
