import uuid

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("households", "0001_household_and_members"),
        ("vehicles", "0001_rigs_and_meters"),
    ]

    operations = [
        migrations.CreateModel(
            name="Manual",
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
                    "key",
                    models.UUIDField(default=uuid.uuid4, editable=False, unique=True),
                ),
                ("title", models.CharField(max_length=120, verbose_name="title")),
                (
                    "about",
                    models.CharField(
                        blank=True, max_length=80, verbose_name="what it is about"
                    ),
                ),
                ("content_type", models.CharField(max_length=40)),
                ("stored", models.CharField(max_length=80)),
                ("size", models.PositiveIntegerField()),
                ("sha256", models.CharField(max_length=64)),
                ("pages", models.PositiveIntegerField(null=True)),
                ("added_at", models.DateTimeField(auto_now_add=True)),
                (
                    "added_by",
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
                        related_name="manuals",
                        to="vehicles.rig",
                    ),
                ),
            ],
            options={
                "ordering": ["title", "pk"],
            },
        ),
        migrations.CreateModel(
            name="PageNote",
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
                ("page", models.PositiveIntegerField(verbose_name="page")),
                (
                    "text",
                    models.CharField(max_length=200, verbose_name="what stands there"),
                ),
                (
                    "manual",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="notes",
                        to="vehicles.manual",
                    ),
                ),
            ],
            options={
                "ordering": ["page", "pk"],
            },
        ),
        migrations.CreateModel(
            name="Spot",
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
                ("name", models.SlugField(max_length=40)),
                (
                    "words",
                    models.CharField(
                        blank=True, max_length=300, verbose_name="where it is"
                    ),
                ),
                (
                    "key",
                    models.UUIDField(default=uuid.uuid4, editable=False, unique=True),
                ),
                ("photo", models.CharField(blank=True, max_length=80)),
                ("sha256", models.CharField(blank=True, max_length=64)),
                ("told_on", models.DateField()),
                (
                    "rig",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="spots",
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
            options={
                "ordering": ["name", "pk"],
            },
        ),
        migrations.AddConstraint(
            model_name="manual",
            constraint=models.UniqueConstraint(
                fields=("rig", "title"), name="manual_title_once_per_rig"
            ),
        ),
        migrations.AddConstraint(
            model_name="pagenote",
            constraint=models.CheckConstraint(
                condition=models.Q(("page__gte", 1)), name="page_from_one"
            ),
        ),
        migrations.AddConstraint(
            model_name="spot",
            constraint=models.UniqueConstraint(
                fields=("rig", "name"), name="spot_once_per_rig"
            ),
        ),
        migrations.AddConstraint(
            model_name="spot",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("words", ""), _negated=True),
                    models.Q(("photo", ""), _negated=True),
                    _connector="OR",
                ),
                name="spot_tells_something",
            ),
        ),
    ]
