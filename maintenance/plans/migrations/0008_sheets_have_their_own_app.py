"""Work sheets have an app of their own."""

from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [
        ("plans", "0007_row_keys"),
        ("work_sheets", "0001_sheets_from_plans"),
    ]

    operations = [
        migrations.SeparateDatabaseAndState(
            state_operations=[migrations.DeleteModel(name="SheetEntry")]
        )
    ]
