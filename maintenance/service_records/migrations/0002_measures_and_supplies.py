import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("service_records", "0001_records_with_proof"),
        ("supplies", "0001_tools_and_supplies"),
    ]

    operations = [
        migrations.AddField(
            model_name="recordline",
            name="measures",
            field=models.JSONField(blank=True, default=list),
        ),
        migrations.AddField(
            model_name="recordline",
            name="steps",
            field=models.JSONField(blank=True, default=list),
        ),
        migrations.CreateModel(
            name="SupplyUsed",
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
                ("name", models.CharField(max_length=121)),
                ("amount", models.DecimalField(decimal_places=2, max_digits=8)),
                ("unit", models.CharField(max_length=5)),
                (
                    "record",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="supplies",
                        to="service_records.servicerecord",
                    ),
                ),
                (
                    "supply",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        to="supplies.supply",
                    ),
                ),
            ],
            options={
                "verbose_name_plural": "supplies used",
                "ordering": ["pk"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("amount__gt", 0)), name="used_something"
                    )
                ],
            },
        ),
    ]
