"""Distances told by hand on trips under way, known by the title they were given: the
closing of the trip will take their place. Those beside closed trips go on counting."""

from django.db import migrations

BY_HAND = "Towed miles entered by hand"


def mark(apps, _editor):
    trips = apps.get_model("vehicles", "Trip").objects
    for row in trips.filter(title=BY_HAND, tow_vehicle=None, told_on__isnull=False):
        around = trips.filter(
            rig=row.rig_id,
            told_on=None,
            withdrawn=False,
            start__lte=row.end,
            end__gte=row.end,
        )
        if around.exists():
            trips.filter(pk=row.pk).update(by_hand=True)


class Migration(migrations.Migration):
    dependencies = [("vehicles", "0014_towed_by_hand")]

    # Backwards there is nothing to do: the column goes.
    operations = [migrations.RunPython(mark, migrations.RunPython.noop)]
