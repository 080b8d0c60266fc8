"""What opens a door by itself is in no backup."""

import sqlite3
from contextlib import closing

import pytest
from django.apps import apps
from django.utils import timezone

from maintenance.reminders.models import CalendarFeed, Digest
from maintenance.reminders.services import keep_calendar
from rigsite.backup.making import take_snapshot
from rigsite.backup.scrubbing import SIGNED, emptied
from tests.builders import make_member

NAMES = {"token", "secret", "key", "session_key", "form_token", "password"}
# Each by its column, with the reason why a copy may carry it or what is done with it.
LET_BE = {
    "auth.user.password": "a slow hash; without it nobody could log in after a restore",
    "exchange.exportjob.key": "names a page that wants a login",
    "exchange.importjob.key": "likewise",
    "findings.finding.token": "a form that was sent",
    "findings.photo.key": "names a photo; its page wants a login",
    "households.sentform.token": "a form that was sent",
    "packets.packet.key": "names a page that wants a login",
    "pages.searchtext.key": "a row's own",
    "plans.meterhabit.key": "a digest of readings",
    "plans.planitem.key": "the key of a procedure",
    "reminders.answeredlink.key": "lets nobody use a link again",
    "reminders.calendarfeed.secret": "made anew in the copy",
    "reminders.digest.key": "a person and a day",
    "service_records.attachment.form_token": "a form that was sent",
    "service_records.attachment.key": "names a file; its page wants a login",
    "service_records.servicerecord.form_token": "a form that was sent",
    "service_records.unfiledphoto.key": "names a photo; its page wants a login",
    "vehicles.manual.key": "names a file; its page wants a login",
    "vehicles.rigphoto.key": "names a photo; its page wants a login",
    "vehicles.spot.key": "a kind of place",
    "walkrounds.walkround.key": "names a page that wants a login",
    "walkrounds.zonelook.token": "a form that was sent",
}


def test_scrubbing_when_a_column_may_open_a_door_then_it_is_named():
    empty = set(emptied())
    found = {
        f"{model._meta.label_lower}.{field.name}"
        for model in apps.get_models()
        if model not in empty
        for field in model._meta.concrete_fields
        if field.name in NAMES
    }

    assert found - LET_BE.keys() == set(), "scrub it, or say why not"
    assert LET_BE.keys() - found == set(), "no longer there"


@pytest.mark.django_db(transaction=True)
def test_snapshot_when_made_then_what_opens_doors_and_was_deleted_is_not_in_it(
    client_as, tmp_path
):
    member, now = make_member(), timezone.now()
    client_as(member)  # a login
    keep_calendar(member, now=now, shows="all", alarm_days=None)
    secret = CalendarFeed.objects.get().secret
    link = "https://rigs.example.org/answer/done/4.1.7.739999:wH3k-x_Z/"
    stop = "https://rigs.example.org/mail/stop/1:wH3k-x_Z/"
    about = {"member": member, "day": now.date(), "made_at": now}
    Digest.objects.create(
        key="a", text=f"Done? {link}\n{stop}", html=f'<a href="{link}">', **about
    )
    Digest.objects.create(key="b", text="Deleted-for-good " * 400, **about).delete()

    copy = take_snapshot(tmp_path, now=now).database

    data = copy.read_bytes()
    for gone in (secret, "wH3k-x_Z", "Deleted-for-good"):
        assert gone.encode() not in data
    assert b"https://rigs.example.org/answer/done/gone/" in data
    assert copy.stat().st_mode & 0o077 == 0
    with closing(sqlite3.connect(copy)) as database:
        for model in emptied():
            table = model._meta.db_table
            (rows,) = database.execute(
                f"SELECT count(*) FROM {table}"  # noqa: S608
            ).fetchone()
            assert rows == 0, table
    assert CalendarFeed.objects.get().secret == secret, "the one in use was changed"


def test_signed_addresses_when_scrubbed_then_the_rest_of_the_text_stays():
    text = "See https://rigs.example.org/answer/later/1.2.3.4:abc/ now."

    assert SIGNED.sub(r"\1gone", text) == (
        "See https://rigs.example.org/answer/later/gone/ now."
    )
