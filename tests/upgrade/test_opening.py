"""Data of the first version, opened by this one: copied, migrated, as it was."""

import shutil
import sqlite3
from contextlib import closing
from datetime import date

import pytest
from django.core.management import call_command
from django.db import connection
from django.db.migrations.recorder import MigrationRecorder
from django.urls import reverse
from django.utils import timezone

from maintenance.households.models import Member
from maintenance.library.reading import load_library
from maintenance.plans.models import PlanItem, Standing
from maintenance.reminders.models import Digest, Notice
from maintenance.reminders.services import make_digests, raise_everywhere
from maintenance.vehicles.models import Rig
from rigsite.backup.scratch import database_in_use
from rigsite.upgrade import UpgradeError, upgrade
from tests.upgrade.conftest import (
    OF_THE_PROGRAM,
    ON_SQLITE,
    SPLIT_OFF,
    rows_by_table,
    said,
    same_rows,
    shape_of_tables,
    standings,
)


def nothing(apps, schema):
    """A migration that changes nothing."""


def before_the_split(dropped=None):
    """As if the library had not split the leak test of Wren yet; the whole job dropped
    on that day."""
    rows = PlanItem.objects.filter(rig__name="Wren")
    rows.filter(key="exit_lighting").delete()
    if dropped:
        whole = rows.filter(key="exit_propane_test")
        whole.update(dropped_on=dropped, why_dropped="a shop does it")


def break_off(apps, schema):
    apps.get_model("households", "Household").objects.update(name="Half done")
    raise ValueError("the disk is on fire")


def end_the_program():
    raise KeyboardInterrupt


def copies(old):
    return sorted((old.data / "before-upgrade").glob("*.db"))


def names():
    with connection.cursor() as cursor:
        cursor.execute("SELECT name FROM households_household ORDER BY name")
        return [name for (name,) in cursor.fetchall()]


def test_old_data_when_opened_then_rows_standings_and_chain_are_as_they_were(opened):
    assert same_rows(opened.rows, rows_by_table(), SPLIT_OFF)
    # Checks on the road without the tow vehicle's odometer settled something then.
    on_the_road = {"hub_heat_check", "lug_recheck", "lug_steps_trailer"}
    now = standings()
    changed = {pk for pk, one in opened.standings.items() if now[pk] != one}
    rows = PlanItem.objects.filter(pk__in=changed)
    assert set(rows.values_list("key", flat=True)) == on_the_road
    assert "stored standings match." in said("recheck")
    assert said("verify_chain").count(": hold; seal code ") == 4


def test_tables_of_old_data_when_opened_then_those_of_an_empty_database(opened, fresh):
    """Old data goes through each migration, an empty database through none."""
    through_each = shape_of_tables()

    with database_in_use(fresh):
        call_command("migrate", verbosity=0)
        at_once = shape_of_tables()
        upgrade()  # nothing is left to do
        assert at_once == shape_of_tables()

    assert at_once.keys() == through_each.keys()
    for table, shape in at_once.items():
        assert through_each[table] == shape


def test_reading_of_a_hub_meter_when_opened_then_it_still_counts_over_trips(opened):
    check = Standing.objects.get(item__rig__name="Wren", item__key="lug_recheck")
    # Wheels were off at 9,495 as the hub meter showed; no trip was told.
    assert check.standing == "waiting"
    assert check.result["window"]["closes"] == {"meter": "towed", "value": 9595}


def test_job_that_was_split_when_opened_then_its_part_is_on_the_plan_and_said(opened):
    first = PlanItem.objects.get(rig__name="Wren", key="exit_lighting")
    whole = PlanItem.objects.get(rig__name="Wren", key="exit_propane_test")
    assert first.safety
    assert first.dropped_on is None
    assert first.taken_on == date(2026, 11, 25)
    assert first.baseline_asked_on == whole.baseline_asked_on
    assert first.standing.standing
    assert f"Wren: {first.title}. It used to be part of another job." in opened.told
    assert upgrade() == []


def test_jobs_when_opened_then_they_are_called_as_the_library_calls_them_now(recent):
    known = load_library().procedures
    rows = PlanItem.objects.filter(key__in=known)
    of_rigs, of_parts = rows.filter(component=None), rows.exclude(component=None)
    assert of_rigs.exists()
    assert of_parts.exists()
    called = dict(rows.values_list("pk", "title"))
    rows.update(title="As it was called before")

    upgrade()

    assert dict(rows.values_list("pk", "title")) == called
    for item in of_rigs:
        assert item.title == known[item.key].title
    for item in of_parts.select_related("component"):
        assert item.title == f"{known[item.key].title}: {item.component}"[:120]


def test_job_that_was_dropped_before_it_was_split_then_its_part_stays_off(recent):
    before_the_split(dropped=date(2026, 11, 24))

    told = " ".join(upgrade())

    part = PlanItem.objects.get(rig__name="Wren", key="exit_lighting")
    assert (part.dropped_on, part.why_dropped) == (date(2026, 11, 24), "a shop does it")
    assert not Standing.objects.filter(item=part).exists()
    assert "Wren" not in told


def test_part_that_was_left_out_then_it_is_not_taken_on_again(opened):
    part = PlanItem.objects.get(rig__name="Wren", key="exit_lighting")
    PlanItem.objects.filter(pk=part.pk).update(dropped_on=date(2026, 11, 25))

    assert upgrade() == []

    part.refresh_from_db()
    assert part.dropped_on == date(2026, 11, 25)


def test_upgrade_when_ended_after_a_part_was_taken_on_then_it_is_reckoned_all_the_same(
    recent, monkeypatch
):
    before_the_split()
    with monkeypatch.context() as patched:
        patched.setattr("rigsite.upgrade.settle", end_the_program)
        with pytest.raises(KeyboardInterrupt):
            upgrade()

    upgrade()

    assert "stored standings match." in said("recheck")


def test_trailer_with_such_readings_when_opened_then_its_keeper_is_asked_once(
    opened, client_as
):
    wren = Rig.objects.get(name="Wren")
    keeper = Member.objects.get(household=wren.household, role="keeper")
    browser, before = client_as(keeper), standings()
    page, asked = reverse("rig", args=[wren.pk]), "hub have a distance meter?"

    first = browser.get(page).content.decode()
    answered = browser.post(reverse("confirm_hub_meter", args=[wren.pk]), follow=True)

    assert f"Does Wren's {asked}" in first
    assert asked not in answered.content.decode()
    assert asked not in browser.get(page).content.decode()
    assert standings() == before


def test_old_data_when_opened_then_kept_as_it_was_and_said_so(recent, later):
    step = later(nothing)

    told = " ".join(upgrade())

    assert step.split(".")[1] in {
        name for _app, name in MigrationRecorder(connection).applied_migrations()
    }
    assert upgrade() == []
    if not ON_SQLITE:
        assert "keep your dump from before" in told
        return
    [copy] = copies(recent)
    assert f"copied to {copy}" in told
    assert copy.stat().st_mode & 0o077 == 0
    with closing(sqlite3.connect(copy)) as kept:
        query = "SELECT count(*) FROM django_migrations WHERE name = '9999_later'"
        assert kept.execute(query).fetchone() == (0,)
        assert kept.execute("PRAGMA integrity_check").fetchone() == ("ok",)


def test_migration_when_it_fails_then_the_old_state_and_what_to_do(recent, later):
    step = later(break_off)

    with pytest.raises(UpgradeError) as refused:
        upgrade()

    assert f"failed at {step} (the disk is on fire)" in str(refused.value)
    assert "start your earlier version" in str(refused.value).replace("S", "s")
    assert names() == ["Alder Lane", "Two Gate Lane"]
    if connection.vendor == "sqlite":
        assert rows_by_table() == recent.rows
    else:  # each migration is a change of its own there: those before it stay
        kept = rows_by_table()
        rows = {t: n for t, n in recent.rows.items() if t not in OF_THE_PROGRAM}
        assert rows.items() <= kept.items()
    if ON_SQLITE:
        assert "Your data is unchanged" in str(refused.value)
        assert copies(recent) == []


def test_migrations_when_a_later_one_fails_then_the_earlier_ones_are_undone(
    recent, later, tmp_path
):
    later(break_off)
    recorder = MigrationRecorder(connection)
    with connection.schema_editor() as schema:
        recorder.record_unapplied("bench", "0001_kept_figures")
        schema.execute("DROP TABLE bench_keptfigure")
    before = rows_by_table()

    with pytest.raises(UpgradeError) as refused:
        upgrade()

    if ON_SQLITE:
        assert rows_by_table() == before
    else:
        assert "the steps before it were kept" in str(refused.value)
        assert "Restore the dump" in str(refused.value)


def test_copies_when_there_are_many_then_the_newest_three_are_kept(
    recent, later, clock
):
    later(nothing)
    for day in ("2026-12-01", "2026-12-02", "2026-12-03", "2026-12-04"):
        clock(day)
        MigrationRecorder(connection).record_unapplied("supplies", "9999_later")
        upgrade()

    wanted = ["20261202", "20261203", "20261204"] if ON_SQLITE else []
    assert [copy.name[8:16] for copy in copies(recent)] == wanted


@pytest.mark.either_database
def test_disk_when_too_full_for_a_copy_then_nothing_is_touched(old, later, monkeypatch):
    later(nothing)
    usage = shutil.disk_usage(old.data)
    monkeypatch.setattr(shutil, "disk_usage", lambda _: usage._replace(free=4_000_000))

    with pytest.raises(UpgradeError, match=r"needs 8 MB, and .* has 4 MB free"):
        upgrade()
    assert rows_by_table() == old.rows


def test_newer_data_when_opened_then_refused_in_words(old):
    MigrationRecorder(connection).record_applied("findings", "0001_of_the_future")

    with pytest.raises(UpgradeError) as refused:
        upgrade()

    assert "findings.0001_of_the_future is unknown here" in str(refused.value)
    assert "Start that version again" in str(refused.value)


# --- what new rules bring up ----------------------------------------------------------


def asks_for_more(apps, schema):
    """Five jobs of a trailer become safety checks that are due since yesterday."""
    items = apps.get_model("plans", "PlanItem").objects.filter(rig__name="Wren")
    for item in items.filter(dropped_on=None).order_by("pk")[:5]:
        item.safety, item.triggers = True, [{"every": {"days": 30}}]
        item.baseline, item.baseline_on = "stated", date(2026, 10, 28)
        item.save()


def test_new_rules_when_they_make_safety_work_due_then_one_mail_a_person(
    recent, later, clock
):
    later(asks_for_more)
    had = set(Digest.objects.values_list("pk", flat=True))

    upgrade()

    new = Notice.objects.filter(item__rig__name="Wren", digest=None, item__safety=True)
    people = set(new.values_list("member", flat=True))
    assert len(people) == 2
    items = set(new.values_list("item", flat=True))
    assert len(items) == 6  # those five, and the job that was split off
    for at in ("2026-11-25 16:40", "2026-11-25 20:00", "2026-11-26 04:00"):
        clock(at)
        raise_everywhere(timezone.now())
        make_digests(timezone.now())
    mails = Digest.objects.exclude(pk__in=had).filter(member__in=people)
    assert sorted(mails.values_list("member", flat=True)) == sorted(people)
    for mail in mails:
        assert items <= set(mail.notices.values_list("item", flat=True))


def test_upgrade_when_ended_before_all_was_reckoned_then_the_next_start_does_it(
    recent, later, monkeypatch
):
    later(asks_for_more)
    with monkeypatch.context() as patched:
        patched.setattr("rigsite.upgrade.settle", end_the_program)
        with pytest.raises(KeyboardInterrupt):
            upgrade()
    assert "differ from what is stored" in said("recheck", fails=True)

    upgrade()

    assert "stored standings match." in said("recheck")
    assert not Digest.objects.filter(key__startswith="safety:", day="2026-11-25")
