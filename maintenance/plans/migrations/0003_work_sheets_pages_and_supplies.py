import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("households", "0001_household_and_members"),
        ("plans", "0002_own_procedures_and_makers_figures"),
        ("supplies", "0001_tools_and_supplies"),
        ("vehicles", "0002_manuals_and_spots"),
    ]

    operations = [
        migrations.CreateModel(
            name="ItemPage",
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
                ("page", models.PositiveIntegerField(default=1, verbose_name="page")),
                (
                    "item",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="pages",
                        to="plans.planitem",
                    ),
                ),
                (
                    "manual",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="items",
                        to="vehicles.manual",
                    ),
                ),
            ],
            options={
                "ordering": ["manual__title", "page", "pk"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("item", "manual", "page"), name="item_page_once"
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="ItemSupply",
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
                ("asked", models.CharField(blank=True, max_length=200)),
                (
                    "amount",
                    models.DecimalField(
                        decimal_places=2, max_digits=8, verbose_name="each time"
                    ),
                ),
                (
                    "item",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="supplies",
                        to="plans.planitem",
                    ),
                ),
                (
                    "supply",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="items",
                        to="supplies.supply",
                    ),
                ),
            ],
            options={
                "ordering": ["pk"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("item", "supply"), name="item_supply_once"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("amount__gt", 0)),
                        name="item_supply_takes_something",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="SheetEntry",
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
                ("field", models.SlugField(max_length=80)),
                ("value", models.TextField()),
                ("kept_at", models.DateTimeField()),
                (
                    "item",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="sheet",
                        to="plans.planitem",
                    ),
                ),
                (
                    "kept_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        to="households.member",
                    ),
                ),
            ],
            options={
                "verbose_name_plural": "sheet entries",
                "ordering": ["pk"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("item", "field"), name="sheet_field_once"
                    )
                ],
            },
        ),
    ]
