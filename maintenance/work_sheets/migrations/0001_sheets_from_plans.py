"""Work sheets get an app of their own; their table stays where it is."""

import django.db.models.deletion
from django.db import migrations, models

ID = models.BigAutoField(
    auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
)

MODEL = migrations.CreateModel(
    name="SheetEntry",
    fields=[
        ("id", ID),
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
        "db_table": "plans_sheetentry",
        "ordering": ["pk"],
        "constraints": [
            models.UniqueConstraint(fields=("item", "field"), name="sheet_field_once")
        ],
    },
)


class Migration(migrations.Migration):
    initial = True

    dependencies = [
        ("households", "0001_household_and_members"),
        ("plans", "0003_work_sheets_pages_and_supplies"),
    ]

    operations = [migrations.SeparateDatabaseAndState(state_operations=[MODEL])]
