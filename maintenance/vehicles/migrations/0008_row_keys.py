from django.db import migrations

from maintenance.households.row_keys import add_row_keys


class Migration(migrations.Migration):
    dependencies = [("vehicles", "0007_readings_of_events")]

    operations = add_row_keys("vehicles", "rig")
