"""A photo of each rig, as its household knows it."""

import uuid

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("vehicles", "0019_make_and_model")]

    operations = [
        migrations.CreateModel(
            name="RigPhoto",
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
                    "rig",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="photo",
                        to="vehicles.rig",
                    ),
                ),
                (
                    "key",
                    models.UUIDField(default=uuid.uuid4, editable=False, unique=True),
                ),
                ("stored", models.CharField(max_length=80)),
                ("sha256", models.CharField(max_length=64)),
                ("added_on", models.DateField()),
            ],
        ),
    ]
