"""Guides get an app of their own; the table of their outcomes stays where it is."""

import django.db.models.deletion
from django.db import migrations, models

ID = models.BigAutoField(
    auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
)

MODEL = migrations.CreateModel(
    name="TroubleOutcome",
    fields=[
        ("id", ID),
        ("guide", models.SlugField(max_length=40)),
        ("cause", models.SlugField(max_length=40)),
        ("was_it", models.BooleanField()),
        ("path", models.CharField(blank=True, max_length=600)),
        ("on", models.DateField()),
        (
            "rig",
            models.ForeignKey(
                on_delete=django.db.models.deletion.CASCADE,
                related_name="outcomes",
                to="vehicles.rig",
            ),
        ),
        (
            "told_by",
            models.ForeignKey(
                null=True,
                on_delete=django.db.models.deletion.SET_NULL,
                to="households.member",
            ),
        ),
    ],
    options={"db_table": "walkrounds_troubleoutcome", "ordering": ["-on", "-pk"]},
)


class Migration(migrations.Migration):
    initial = True

    dependencies = [
        ("households", "0001_household_and_members"),
        ("vehicles", "0001_rigs_and_meters"),
        ("walkrounds", "0002_trouble_outcomes"),
    ]

    operations = [migrations.SeparateDatabaseAndState(state_operations=[MODEL])]
