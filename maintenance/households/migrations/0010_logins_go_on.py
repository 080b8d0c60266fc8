from django.contrib.auth import SESSION_KEY
from django.db import migrations
from django.utils import timezone

PORTION = 500


def move_sessions(apps, schema):
    """Nobody is logged out by the upgrade; the table of before ends empty."""
    # Only for reading: its salt, and so what it wrote, is that of the engine of before.
    from django.contrib.sessions.backends.db import SessionStore  # noqa: PLC0415

    old = apps.get_model("sessions", "Session").objects
    users = set(apps.get_model("auth", "User").objects.values_list("pk", flat=True))
    model = apps.get_model("households", "LoginSession")
    found = []
    for row in old.filter(expire_date__gt=timezone.now()).iterator(PORTION):
        user = SessionStore().decode(row.session_data).get(SESSION_KEY)
        known = user is not None and int(user) in users
        found.append(
            model(
                session_key=row.session_key,
                session_data=row.session_data,
                expire_date=row.expire_date,
                user_id=int(user) if known else None,
            )
        )
    model.objects.bulk_create(found, PORTION, ignore_conflicts=True)
    old.all().delete()


class Migration(migrations.Migration):
    dependencies = [
        ("households", "0009_login_sessions"),
        ("sessions", "0001_initial"),
    ]

    operations = [migrations.RunPython(move_sessions, migrations.RunPython.noop)]
