"""Findings and photos get an app of their own; their tables stay where they are."""

import uuid

import django.db.models.deletion
from django.db import migrations, models

ID = models.BigAutoField(
    auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
)

FINDING = migrations.CreateModel(
    name="Finding",
    fields=[
        ("id", ID),
        ("token", models.UUIDField(editable=False, null=True, unique=True)),
        ("what", models.CharField(max_length=300, verbose_name="what is not right")),
        (
            "zone",
            models.SlugField(blank=True, max_length=20, verbose_name="where"),
        ),
        (
            "severity",
            models.CharField(
                choices=[
                    ("watch", "Keep an eye on it"),
                    ("soon", "Put right soon"),
                    ("trip", "Put right before the next trip"),
                ],
                default="soon",
                max_length=5,
                verbose_name="how urgent",
            ),
        ),
        (
            "unfit",
            models.BooleanField(
                default=False, verbose_name="unfit to travel until put right"
            ),
        ),
        (
            "state",
            models.CharField(
                choices=[
                    ("open", "Open"),
                    ("planned", "Planned"),
                    ("fixed", "Fixed"),
                    ("accepted", "Accepted"),
                ],
                default="open",
                max_length=8,
            ),
        ),
        ("found_on", models.DateField()),
        ("for_shop", models.BooleanField(default=False, verbose_name="for the shop")),
        (
            "due_on",
            models.DateField(blank=True, null=True, verbose_name="to be put right by"),
        ),
        ("why_accepted", models.CharField(blank=True, max_length=200)),
        ("withdrawn", models.BooleanField(default=False, editable=False)),
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
                related_name="findings",
                to="vehicles.rig",
            ),
        ),
        (
            "item",
            models.ForeignKey(
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="findings",
                to="plans.planitem",
            ),
        ),
        # What found it and what put it right turn round in the migrations that follow.
        (
            "found_by_line",
            models.OneToOneField(
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="finding",
                to="service_records.recordline",
            ),
        ),
        (
            "fixed_by_line",
            models.ForeignKey(
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="fixes",
                to="service_records.recordline",
            ),
        ),
        (
            "found_by_look",
            models.ForeignKey(
                null=True,
                on_delete=django.db.models.deletion.SET_NULL,
                related_name="+",
                to="walkrounds.zonelook",
            ),
        ),
    ],
    options={
        "db_table": "walkrounds_finding",
        "ordering": ["-unfit", "found_on", "pk"],
        "indexes": [
            models.Index(fields=["rig", "state"], name="walkrounds__rig_id_307dc3_idx")
        ],
    },
)

PHOTO = migrations.CreateModel(
    name="Photo",
    fields=[
        ("id", ID),
        ("key", models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
        ("stored", models.CharField(max_length=80)),
        ("sha256", models.CharField(max_length=64)),
        ("added_on", models.DateField()),
        (
            "rig",
            models.ForeignKey(
                on_delete=django.db.models.deletion.CASCADE,
                related_name="+",
                to="vehicles.rig",
            ),
        ),
        (
            "look",
            models.ForeignKey(
                null=True,
                on_delete=django.db.models.deletion.CASCADE,
                related_name="+",
                to="walkrounds.zonelook",
            ),
        ),
        (
            "finding",
            models.ForeignKey(
                null=True,
                on_delete=django.db.models.deletion.CASCADE,
                related_name="photos",
                to="findings.finding",
            ),
        ),
    ],
    options={
        "db_table": "walkrounds_photo",
        "ordering": ["pk"],
        "constraints": [
            models.CheckConstraint(
                condition=models.Q(
                    ("look__isnull", False), ("finding__isnull", False), _connector="OR"
                ),
                name="photo_shows_something",
            )
        ],
    },
)


class Migration(migrations.Migration):
    initial = True

    dependencies = [
        ("households", "0001_household_and_members"),
        ("plans", "0003_work_sheets_pages_and_supplies"),
        ("service_records", "0002_measures_and_supplies"),
        ("vehicles", "0003_fuel_stops"),
        ("walkrounds", "0003_walkrounds_zones_and_photos"),
    ]

    operations = [
        migrations.SeparateDatabaseAndState(state_operations=[FINDING, PHOTO])
    ]
