"""That a rig was not towed since a day, as somebody said."""

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("households", "0001_household_and_members"),
        ("vehicles", "0017_generator_runs"),
    ]

    operations = [
        migrations.CreateModel(
            name="NotTowed",
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
                ("said_on", models.DateField(verbose_name="said on")),
                ("since", models.DateField(verbose_name="not towed since")),
                ("withdrawn", models.BooleanField(default=False, editable=False)),
                ("entered_at", models.DateTimeField(auto_now_add=True)),
                (
                    "entered_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        to="households.member",
                    ),
                ),
                (
                    "rig",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="not_towed",
                        to="vehicles.rig",
                    ),
                ),
            ],
            options={
                "verbose_name_plural": "not towed",
                "ordering": ["said_on", "pk"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("since__lte", models.F("said_on"))),
                        name="not_towed_since_before",
                    )
                ],
            },
        ),
    ]
