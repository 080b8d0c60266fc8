"""Models by plainer names; their tables keep theirs."""

from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("exchange", "0001_bring_history_in")]

    operations = [
        migrations.AlterModelTable(name="Bringing", table="exchange_bringing"),
        migrations.RenameModel(old_name="Bringing", new_name="ImportJob"),
        migrations.AlterModelTable(name="BroughtRow", table="exchange_broughtrow"),
        migrations.RenameModel(old_name="BroughtRow", new_name="ImportedRow"),
        migrations.AlterModelTable(name="Remembered", table="exchange_remembered"),
        migrations.RenameModel(old_name="Remembered", new_name="RememberedAnswer"),
    ]
