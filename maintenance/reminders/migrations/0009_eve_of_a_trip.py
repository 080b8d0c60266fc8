"""What makes a rig unfit, told on the eve of a trip."""

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("households", "0006_sent_forms"),
        ("reminders", "0008_asked_of_quiet_rigs"),
        ("vehicles", "0013_said_in_use"),
    ]

    operations = [
        migrations.CreateModel(
            name="TripNotice",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True,
                        primary_key=True,
                        serialize=False,
                        verbose_name="ID",
                    ),
                ),
                ("start", models.DateField()),
                (
                    "digest",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="trip_notices",
                        to="reminders.digest",
                    ),
                ),
                (
                    "member",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="trip_notices",
                        to="households.member",
                    ),
                ),
                (
                    "trip",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="notices",
                        to="vehicles.trip",
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(
                        fields=("trip", "start", "member"), name="trip_told_once"
                    )
                ],
            },
        ),
    ]
