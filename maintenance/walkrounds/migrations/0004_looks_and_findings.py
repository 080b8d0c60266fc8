"""Looks point down to what they found and to their photos; findings have an app of
their own.

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
    photo = apps.get_model("findings", "Photo")
    link = apps.get_model("walkrounds", "LookFinding")
    shown = apps.get_model("walkrounds", "ZoneLook_photos")

    def findings() -> Iterator[Any]:
        rows = finding.objects.filter(found_by_look__isnull=False)
        for pk, found_by in rows.values_list("pk", "found_by_look").iterator():
            yield link(finding_id=pk, look_id=found_by)

    def photos() -> Iterator[Any]:
        rows = photo.objects.filter(look__isnull=False)
        for pk, of in rows.values_list("pk", "look").iterator():
            yield shown(photo_id=pk, zonelook_id=of)

    link.objects.bulk_create(findings(), batch_size=BATCH)
    shown.objects.bulk_create(photos(), batch_size=BATCH)


class Migration(migrations.Migration):
    dependencies = [
        ("findings", "0001_findings_from_walkrounds"),
        ("walkrounds", "0003_walkrounds_zones_and_photos"),
    ]

    operations = [
        migrations.SeparateDatabaseAndState(
            state_operations=[
                migrations.AlterField(
                    model_name="sighting",
                    name="finding",
                    field=models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="sightings",
                        to="findings.finding",
                    ),
                ),
                migrations.DeleteModel(name="Photo"),
                migrations.DeleteModel(name="Finding"),
            ]
        ),
        migrations.CreateModel(
            name="LookFinding",
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
                    "finding",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="look_link",
                        to="findings.finding",
                    ),
                ),
                (
                    "look",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="+",
                        to="walkrounds.zonelook",
                    ),
                ),
            ],
        ),
        migrations.AddField(
            model_name="zonelook",
            name="photos",
            field=models.ManyToManyField(related_name="looks", to="findings.photo"),
        ),
        migrations.AddField(
            model_name="zonelook",
            name="opened",
            field=models.ManyToManyField(
                related_name="opened_in",
                through="walkrounds.LookFinding",
                to="findings.finding",
            ),
        ),
        migrations.RunPython(turn_round),
    ]
