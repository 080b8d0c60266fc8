"""Jobs point down to what they found and what they put right.

There is no way back: a copy of the database is made before it is migrated.
"""

from collections.abc import Iterator
from typing import Any

import django.db.models.deletion
from django.apps.registry import Apps
from django.db import migrations, models

BATCH = 1000


def turn_round(apps: Apps, _editor: object) -> None:
    finding = apps.get_model("findings", "Finding")
    link = apps.get_model("service_records", "LineFinding")

    def links() -> Iterator[Any]:
        for how in ("found", "fixed"):
            rows = finding.objects.filter(**{f"{how}_by_line__isnull": False})
            for pk, line in rows.values_list("pk", f"{how}_by_line").iterator():
                yield link(finding_id=pk, line_id=line, how=how)

    link.objects.bulk_create(links(), batch_size=BATCH)


class Migration(migrations.Migration):
    dependencies = [
        ("findings", "0001_findings_from_walkrounds"),
        ("service_records", "0004_chain_of_records"),
    ]

    operations = [
        migrations.CreateModel(
            name="LineFinding",
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
                (
                    "how",
                    models.CharField(
                        choices=[("found", "Found"), ("fixed", "Fixed")], max_length=5
                    ),
                ),
                (
                    "finding",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="line_links",
                        to="findings.finding",
                    ),
                ),
                (
                    "line",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="finding_links",
                        to="service_records.recordline",
                    ),
                ),
            ],
            options={
                "ordering": ["pk"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("line", "finding", "how"), name="line_finding_once"
                    )
                ],
            },
        ),
        migrations.RunPython(turn_round),
    ]
