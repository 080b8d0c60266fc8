"""What the upgrade makes of people and logins that were there before."""

from importlib import import_module

import pytest
from django.apps import apps
from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
from django.contrib.sessions.backends.db import SessionStore
from django.contrib.sessions.models import Session
from django.urls import reverse

from maintenance.households.login_sessions import sessions_of
from maintenance.households.models import Member, Role
from tests import builders

pytestmark = pytest.mark.django_db
MIGRATIONS = "maintenance.households.migrations."
founding = import_module(f"{MIGRATIONS}0008_first_keeper_founds")
logins = import_module(f"{MIGRATIONS}0010_logins_go_on")


def test_first_keeper_here_is_the_founder():
    builders.make_member(builders.make_household(is_demo=True))
    home = builders.make_household()
    builders.make_member(home, Role.CREW)
    builders.make_member(home, left_on=builders.TODAY)
    first = builders.make_member(home)
    builders.make_member(home)
    builders.make_member(builders.make_household(name="Next door"))

    founding.name_founder(apps, None)
    founding.name_founder(apps, None)

    assert Member.objects.get(founder=True) == first


def test_demo_alone_has_no_founder():
    builders.make_member(builders.make_household(is_demo=True))

    founding.name_founder(apps, None)

    assert not Member.objects.filter(founder=True).exists()


def test_who_was_logged_in_stays_so(client):
    user = builders.make_member().user
    old = SessionStore()
    old[SESSION_KEY] = str(user.pk)
    old[BACKEND_SESSION_KEY] = "django.contrib.auth.backends.ModelBackend"
    old[HASH_SESSION_KEY] = user.get_session_auth_hash()
    old.save()

    logins.move_sessions(apps, None)

    client.cookies["rigsite_session"] = old.session_key
    assert client.get(reverse("due")).status_code == 200
    assert [row.session_key for row in sessions_of(user)] == [old.session_key]
    assert not Session.objects.exists()
