import uuid

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("households", "0001_household_and_members"),
        ("plans", "0003_work_sheets_pages_and_supplies"),
        ("service_records", "0002_measures_and_supplies"),
        ("vehicles", "0003_fuel_stops"),
    ]

    operations = [
        migrations.CreateModel(
            name="Merge",
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
                ("withdrew", models.JSONField(default=dict)),
                ("made_at", models.DateTimeField(auto_now_add=True)),
                ("undone_at", models.DateTimeField(editable=False, null=True)),
            ],
            options={
                "ordering": ["pk"],
            },
        ),
        migrations.CreateModel(
            name="PartUsed",
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
                ("position", models.PositiveSmallIntegerField(default=0)),
                ("name", models.CharField(max_length=120, verbose_name="part")),
                (
                    "number",
                    models.CharField(
                        blank=True, max_length=60, verbose_name="maker's number"
                    ),
                ),
                (
                    "quantity",
                    models.DecimalField(
                        decimal_places=2,
                        default=1,
                        max_digits=8,
                        verbose_name="quantity",
                    ),
                ),
                (
                    "price",
                    models.DecimalField(
                        blank=True,
                        decimal_places=2,
                        max_digits=10,
                        null=True,
                        verbose_name="price of one",
                    ),
                ),
            ],
            options={
                "verbose_name_plural": "parts used",
                "ordering": ["position", "pk"],
            },
        ),
        migrations.CreateModel(
            name="Snap",
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
                (
                    "title",
                    models.CharField(max_length=120, verbose_name="what it shows"),
                ),
                ("content_type", models.CharField(max_length=40)),
                ("stored", models.CharField(max_length=80)),
                ("size", models.PositiveIntegerField()),
                ("sha256", models.CharField(max_length=64)),
                ("added_at", models.DateTimeField(auto_now_add=True)),
            ],
            options={
                "ordering": ["-added_at", "-pk"],
            },
        ),
        migrations.AddField(
            model_name="servicerecord",
            name="credential",
            field=models.CharField(
                blank=True, max_length=80, verbose_name="license or certificate"
            ),
        ),
        migrations.AddField(
            model_name="servicerecord",
            name="merged_into",
            field=models.ForeignKey(
                editable=False,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="merged",
                to="service_records.servicerecord",
            ),
        ),
        migrations.AddField(
            model_name="servicerecord",
            name="signed_off_by",
            field=models.CharField(
                blank=True, max_length=80, verbose_name="signed off by"
            ),
        ),
        migrations.AddField(
            model_name="servicerecord",
            name="warranty_covers",
            field=models.CharField(
                blank=True, max_length=120, verbose_name="it covers"
            ),
        ),
        migrations.AddField(
            model_name="servicerecord",
            name="warranty_item",
            field=models.OneToOneField(
                editable=False,
                null=True,
                on_delete=django.db.models.deletion.SET_NULL,
                related_name="warranty_of",
                to="plans.planitem",
            ),
        ),
        migrations.AddField(
            model_name="servicerecord",
            name="warranty_meter",
            field=models.CharField(
                blank=True,
                choices=[
                    ("odometer", "Odometer"),
                    ("engine", "Engine hours"),
                    ("generator", "Generator hours"),
                    ("towed", "Towed distance"),
                ],
                max_length=9,
            ),
        ),
        migrations.AddField(
            model_name="servicerecord",
            name="warranty_until",
            field=models.DateField(
                blank=True, null=True, verbose_name="warranty until"
            ),
        ),
        migrations.AddField(
            model_name="servicerecord",
            name="warranty_value",
            field=models.DecimalField(
                blank=True,
                decimal_places=1,
                max_digits=8,
                null=True,
                verbose_name="or until it shows",
            ),
        ),
        migrations.AddField(
            model_name="torquecheck",
            name="makers_figure",
            field=models.DecimalField(
                blank=True,
                decimal_places=1,
                max_digits=6,
                null=True,
                verbose_name="the maker's book says",
            ),
        ),
        migrations.AddField(
            model_name="torquecheck",
            name="makers_source",
            field=models.CharField(
                blank=True, max_length=145, verbose_name="book and page"
            ),
        ),
        migrations.AddField(
            model_name="torquecheck",
            name="wrench_calibrated",
            field=models.BooleanField(null=True, verbose_name="calibration in time"),
        ),
        migrations.AddField(
            model_name="torquecheck",
            name="wrench_fits",
            field=models.BooleanField(null=True, verbose_name="covers the figure"),
        ),
        migrations.AddField(
            model_name="torquecheck",
            name="wrench_range",
            field=models.CharField(blank=True, max_length=40, verbose_name="its range"),
        ),
        migrations.AddField(
            model_name="torquecheck",
            name="wrench_words",
            field=models.CharField(blank=True, max_length=400),
        ),
        migrations.AddField(
            model_name="torqueplace",
            name="figure",
            field=models.DecimalField(
                blank=True,
                decimal_places=1,
                max_digits=6,
                null=True,
                verbose_name="specified torque",
            ),
        ),
        migrations.AlterField(
            model_name="torqueplace",
            name="place",
            field=models.CharField(max_length=60),
        ),
        migrations.AddConstraint(
            model_name="servicerecord",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("warranty_meter", ""), ("warranty_value__isnull", True)),
                    models.Q(
                        models.Q(("warranty_meter", ""), _negated=True),
                        ("warranty_value__isnull", False),
                    ),
                    _connector="OR",
                ),
                name="warranty_value_has_its_meter",
            ),
        ),
        migrations.AddField(
            model_name="merge",
            name="into",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT,
                related_name="merges_into",
                to="service_records.servicerecord",
            ),
        ),
        migrations.AddField(
            model_name="merge",
            name="made_by",
            field=models.ForeignKey(
                null=True,
                on_delete=django.db.models.deletion.SET_NULL,
                related_name="merges",
                to="households.member",
            ),
        ),
        migrations.AddField(
            model_name="merge",
            name="record",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT,
                related_name="merges",
                to="service_records.servicerecord",
            ),
        ),
        migrations.AddField(
            model_name="merge",
            name="undone_by",
            field=models.ForeignKey(
                null=True,
                on_delete=django.db.models.deletion.SET_NULL,
                related_name="merges_undone",
                to="households.member",
            ),
        ),
        migrations.AddField(
            model_name="partused",
            name="record",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.CASCADE,
                related_name="parts_used",
                to="service_records.servicerecord",
            ),
        ),
        migrations.AddField(
            model_name="snap",
            name="added_by",
            field=models.ForeignKey(
                null=True,
                on_delete=django.db.models.deletion.SET_NULL,
                related_name="snaps",
                to="households.member",
            ),
        ),
        migrations.AddField(
            model_name="snap",
            name="household",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.CASCADE,
                related_name="snaps",
                to="households.household",
            ),
        ),
        migrations.AddField(
            model_name="snap",
            name="rig",
            field=models.ForeignKey(
                null=True,
                on_delete=django.db.models.deletion.SET_NULL,
                related_name="snaps",
                to="vehicles.rig",
            ),
        ),
        migrations.AddConstraint(
            model_name="merge",
            constraint=models.UniqueConstraint(
                condition=models.Q(("undone_at__isnull", True)),
                fields=("record",),
                name="merged_once_at_a_time",
            ),
        ),
        migrations.AddConstraint(
            model_name="partused",
            constraint=models.CheckConstraint(
                condition=models.Q(("quantity__gt", 0)), name="part_of_some"
            ),
        ),
        migrations.AddConstraint(
            model_name="partused",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("price__isnull", True), ("price__gte", 0), _connector="OR"
                ),
                name="part_price_not_negative",
            ),
        ),
        migrations.AddConstraint(
            model_name="snap",
            constraint=models.UniqueConstraint(
                fields=("household", "sha256"), name="snap_once_per_household"
            ),
        ),
    ]
