from django.db import migrations

from maintenance.households.row_keys import add_row_keys


class Migration(migrations.Migration):
    dependencies = [
        ("service_records", "0006_what_records_gave"),
        ("households", "0005_row_keys"),
        ("vehicles", "0008_row_keys"),
        ("plans", "0007_row_keys"),
    ]

    operations = add_row_keys(
        "service_records",
        "servicerecord",
        "recordline",
        "torquecheck",
        "torqueplace",
        "supplyused",
        "partused",
    )
