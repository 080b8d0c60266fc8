from django.db import migrations

from maintenance.households.row_keys import add_row_keys


class Migration(migrations.Migration):
    dependencies = [("households", "0004_units_of_a_member")]

    operations = add_row_keys("households", "member")
