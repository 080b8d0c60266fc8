"""Runs of a generator that has no hour meter."""

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("households", "0001_household_and_members"),
        ("vehicles", "0016_unhitched_distance"),
    ]

    operations = [
        migrations.AddField(
            model_name="meter",
            name="logged",
            field=models.BooleanField(default=False, editable=False),
        ),
        migrations.CreateModel(
            name="Run",
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
                ("on", models.DateField(verbose_name="on")),
                (
                    "hours",
                    models.DecimalField(
                        decimal_places=1, max_digits=8, verbose_name="hours run"
                    ),
                ),
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
                    "meter",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="runs",
                        to="vehicles.meter",
                    ),
                ),
            ],
            options={
                "ordering": ["on", "pk"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("hours__gt", 0), ("hours__lte", 24)),
                        name="run_fits_a_day",
                    )
                ],
            },
        ),
    ]
