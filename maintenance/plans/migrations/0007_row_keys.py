from django.db import migrations

from maintenance.households.row_keys import add_row_keys


class Migration(migrations.Migration):
    dependencies = [("plans", "0006_habits_of_meters")]

    operations = add_row_keys("plans", "planitem")
