"""A photo not filed yet is called so; its table keeps its name."""

from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("service_records", "0008_journal_of_earlier_records")]

    operations = [
        migrations.AlterModelTable(name="Snap", table="service_records_snap"),
        migrations.RenameModel(old_name="Snap", new_name="UnfiledPhoto"),
    ]
