from django.db import migrations


def name_founder(apps, schema):
    """Whoever kept the first household here first looks after the program."""
    members = apps.get_model("households", "Member").objects
    keepers = members.filter(
        role="keeper", left_on=None, household__is_demo=False, user__is_active=True
    )
    first = keepers.order_by("household", "pk").values_list("pk").first()
    if first and not members.filter(founder=True).exists():
        members.filter(pk=first[0]).update(founder=True)


class Migration(migrations.Migration):
    dependencies = [("households", "0007_founder")]

    operations = [migrations.RunPython(name_founder, migrations.RunPython.noop)]
