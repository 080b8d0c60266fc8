"""A journal of what each record gave; and records say of themselves which wheels were
off and whether their figures were confirmed."""

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("service_records", "0005_lines_and_findings")]

    operations = [
        migrations.AddField(
            model_name="servicerecord",
            name="values_confirmed",
            field=models.BooleanField(default=False),
        ),
        migrations.AddField(
            model_name="servicerecord",
            name="wheels_off",
            field=models.JSONField(blank=True, default=list),
        ),
        migrations.CreateModel(
            name="JournalEntry",
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
                ("model", models.CharField(max_length=60)),
                ("row", models.PositiveBigIntegerField()),
                ("was", models.JSONField(null=True)),
                ("now", models.JSONField(null=True)),
                (
                    "record",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="journal",
                        to="service_records.servicerecord",
                    ),
                ),
            ],
            options={
                "ordering": ["pk"],
                "verbose_name_plural": "journal entries",
            },
        ),
    ]
