import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    initial = True

    dependencies = [
        ("households", "0001_household_and_members"),
    ]

    operations = [
        migrations.CreateModel(
            name="Supply",
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
                ("name", models.CharField(max_length=80, verbose_name="name")),
                (
                    "part_number",
                    models.CharField(
                        blank=True, max_length=40, verbose_name="part number"
                    ),
                ),
                (
                    "unit",
                    models.CharField(
                        choices=[
                            ("piece", "pieces"),
                            ("qt", "qt"),
                            ("gal", "gal"),
                            ("fl oz", "fl oz"),
                            ("L", "L"),
                            ("oz", "oz"),
                            ("lb", "lb"),
                            ("kg", "kg"),
                            ("ft", "ft"),
                            ("m", "m"),
                        ],
                        default="piece",
                        max_length=5,
                        verbose_name="counted in",
                    ),
                ),
                (
                    "stock",
                    models.DecimalField(
                        blank=True,
                        decimal_places=2,
                        max_digits=8,
                        null=True,
                        verbose_name="in stock",
                    ),
                ),
                (
                    "note",
                    models.CharField(blank=True, max_length=200, verbose_name="note"),
                ),
                (
                    "household",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="supplies",
                        to="households.household",
                    ),
                ),
            ],
            options={
                "verbose_name_plural": "supplies",
                "ordering": ["name", "part_number", "pk"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("household", "name", "part_number"),
                        name="supply_once_per_household",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("stock__isnull", True), ("stock__gte", 0), _connector="OR"
                        ),
                        name="stock_not_below_zero",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Tool",
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
                    "kind",
                    models.CharField(
                        choices=[
                            ("torque_wrench", "Torque wrench"),
                            ("socket", "Socket"),
                            ("other", "Another tool"),
                        ],
                        max_length=13,
                        verbose_name="kind",
                    ),
                ),
                ("name", models.CharField(max_length=80, verbose_name="name")),
                (
                    "drive",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("1/4", "1/4 in"),
                            ("3/8", "3/8 in"),
                            ("1/2", "1/2 in"),
                            ("3/4", "3/4 in"),
                            ("1", "1 in"),
                        ],
                        max_length=3,
                        verbose_name="drive",
                    ),
                ),
                (
                    "size",
                    models.CharField(blank=True, max_length=20, verbose_name="size"),
                ),
                (
                    "unit",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("ft·lbf", "ft·lbf"),
                            ("in·lbf", "in·lbf"),
                            ("N·m", "N·m"),
                        ],
                        max_length=6,
                        verbose_name="scale in",
                    ),
                ),
                (
                    "lowest_mark",
                    models.DecimalField(
                        blank=True,
                        decimal_places=1,
                        max_digits=6,
                        null=True,
                        verbose_name="lowest mark",
                    ),
                ),
                (
                    "full_scale",
                    models.DecimalField(
                        blank=True,
                        decimal_places=1,
                        max_digits=6,
                        null=True,
                        verbose_name="highest mark",
                    ),
                ),
                (
                    "calibrated_on",
                    models.DateField(
                        blank=True, null=True, verbose_name="calibrated on"
                    ),
                ),
                (
                    "cycles",
                    models.PositiveIntegerField(
                        default=0, verbose_name="clicks since then"
                    ),
                ),
                (
                    "mishap",
                    models.BooleanField(
                        default=False, verbose_name="dropped or overloaded since"
                    ),
                ),
                (
                    "note",
                    models.CharField(blank=True, max_length=200, verbose_name="note"),
                ),
                (
                    "household",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="tools",
                        to="households.household",
                    ),
                ),
            ],
            options={
                "ordering": ["kind", "name", "pk"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("household", "name"),
                        name="tool_name_once_per_household",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("kind", "torque_wrench"), _negated=True),
                            models.Q(
                                ("full_scale__gt", 0),
                                ("full_scale__isnull", False),
                                models.Q(("unit", ""), _negated=True),
                            ),
                            _connector="OR",
                        ),
                        name="torque_wrench_has_a_scale",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("lowest_mark__isnull", True),
                            models.Q(
                                ("lowest_mark__gte", 0),
                                ("lowest_mark__lt", models.F("full_scale")),
                            ),
                            _connector="OR",
                        ),
                        name="lowest_mark_below_highest",
                    ),
                ],
            },
        ),
    ]
