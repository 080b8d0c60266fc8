"""Outcomes of guides have an app of their own."""

from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [
        ("troubleshooting", "0001_outcomes_from_walkrounds"),
        ("walkrounds", "0004_looks_and_findings"),
    ]

    operations = [
        migrations.SeparateDatabaseAndState(
            state_operations=[migrations.DeleteModel(name="TroubleOutcome")]
        )
    ]
