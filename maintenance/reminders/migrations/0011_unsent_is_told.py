"""What a mail carried that was refused or given up comes with the next one, also where
that was before."""

from django.db import migrations


def give_back(apps, schema_editor):
    digests = apps.get_model("reminders", "Digest").objects.filter(
        state__in=["refused", "given_up"]
    )
    for name in ("Notice", "FindingNotice", "StayQuestion"):
        carried = apps.get_model("reminders", name).objects
        carried.filter(digest__in=digests).update(digest=None)


class Migration(migrations.Migration):
    dependencies = [("reminders", "0010_clock_of_a_machine")]

    # Going back changes nothing: it waits for the next mail all the same.
    operations = [migrations.RunPython(give_back, migrations.RunPython.noop)]
