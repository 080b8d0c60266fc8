"""Backups of the first version, tried and restored by this one."""

import json
import zipfile
from datetime import timedelta

import pytest
from django.apps import apps
from django.utils import timezone

from maintenance.service_records.chain.verifying import head_of
from maintenance.service_records.models import ServiceRecord
from maintenance.vehicles.models import Rig
from rigsite.backup.making import make_backup
from rigsite.backup.restoring import BackupError, restore
from rigsite.backup.scratch import data_in_use, mend_moments
from tests.upgrade.conftest import (
    FIRST,
    SPLIT_OFF,
    rows_by_table,
    said,
    same_rows,
)

# The mail of the day, to each whose hour has come: it may have gone out.
TAKEN_AS_TOLD = {"reminders_digest": 2}
PLAIN, PORTABLE = FIRST / "plain.zip", FIRST / "portable.zip"


def files_of(data):
    kept = data / "files"
    return {path.relative_to(kept) for path in kept.rglob("*.*") if path.is_file()}


def rows_of(path):
    """By table; but for the index of the search, which is made anew."""
    with zipfile.ZipFile(path) as packed:
        rows = json.loads(packed.read("manifest.json"))["rows"]
    return {name: n for name, n in rows.items() if not name.startswith("pages_search")}


# Its lines become an SQLite database first, on whatever database they are restored;
# from then on it goes the way of the plain one.
AS_LINES = pytest.param(PORTABLE, marks=pytest.mark.either_database)


@pytest.mark.parametrize("path", [PLAIN, AS_LINES])
def test_old_backup_when_restored_then_all_is_as_it_was(path, empty):
    # It is tried in scratch before anything is touched.
    manifest = restore(path, now=timezone.now(), replace=False).manifest

    assert manifest["version"] == "0.1.0"
    assert len(files_of(empty)) == len(manifest["files"]) - 1 > 10
    assert "stored standings match." in said("recheck")
    assert said("verify_chain").count(": hold; seal code ") == 4
    # Both are of one state: the plain one says how many rows each table had.
    assert same_rows(rows_of(PLAIN), rows_by_table(), SPLIT_OFF | TAKEN_AS_TOLD)


def test_backup_of_today_when_restored_then_moments_are_whole(recent, tmp_path):
    made = make_backup(tmp_path / "to", now=timezone.now())
    moments = dict(ServiceRecord.objects.values_list("pk", "entered_at"))
    before = rows_by_table()

    restore(made, now=timezone.now(), replace=True)

    assert dict(ServiceRecord.objects.values_list("pk", "entered_at")) == moments
    assert same_rows(before, rows_by_table(), TAKEN_AS_TOLD)
    assert said("verify_chain").count(": hold; seal code ") == 4


def heads_and_rows():
    heads = {str(rig.row_key): head_of(rig) for rig in Rig.objects.all()}
    return heads, rows_by_table()


def test_backup_when_taken_to_sqlite_and_back_then_rows_heads_and_chains_are_the_same(
    recent, tmp_path
):
    heads, rows = heads_and_rows()
    elsewhere = tmp_path / "elsewhere"
    made = make_backup(tmp_path / "to", now=timezone.now())
    with data_in_use(elsewhere):
        done = restore(made, now=timezone.now(), replace=False)
        assert done.bare
        assert heads_and_rows()[0] == heads
        assert same_rows(rows, rows_by_table(), TAKEN_AS_TOLD)
        assert said("verify_chain").count(": hold; seal code ") == 4
        back = make_backup(tmp_path / "back", now=timezone.now())

    done = restore(back, now=timezone.now(), replace=True)

    assert (done.bare, done.doubts) == (False, [])
    assert heads_and_rows()[0] == heads
    assert same_rows(rows, rows_by_table(), TAKEN_AS_TOLD)
    assert said("verify_chain").count(": hold; seal code ") == 4
    assert "stored standings match." in said("recheck")
    assert not list(recent.data.glob(".*"))


def test_moments_when_cut_to_milliseconds_then_mended_but_for_what_was_changed(recent):
    whole = dict(ServiceRecord.objects.values_list("pk", "entered_at"))
    for record in ServiceRecord.objects.all():
        at = record.entered_at
        record.entered_at = at.replace(microsecond=at.microsecond // 1000 * 1000)
        record.save()
    last = ServiceRecord.objects.filter(links__isnull=False).latest("entered_at")
    assert last.entered_at != whole[last.pk]
    ServiceRecord.objects.filter(pk=last.pk).update(
        entered_at=last.entered_at + timedelta(minutes=1)
    )

    mend_moments(apps)

    mended = dict(ServiceRecord.objects.values_list("pk", "entered_at"))
    assert mended.pop(last.pk) == last.entered_at + timedelta(minutes=1)
    del whole[last.pk]
    assert mended == whole


def test_portable_backup_when_it_does_not_fit_its_state_then_said_and_nothing_touched(
    old, tmp_path
):
    bad = tmp_path / "bad.zip"
    with zipfile.ZipFile(PORTABLE) as packed, zipfile.ZipFile(bad, "w") as changed:
        manifest = json.loads(packed.read("manifest.json")) | {"migrations": []}
        changed.writestr("manifest.json", json.dumps(manifest))
        for file in manifest["files"]:
            changed.writestr(file["name"], packed.read(file["name"]))

    with pytest.raises(BackupError, match=r"can't be read: no model households\."):
        restore(bad, now=timezone.now(), replace=True)

    assert rows_by_table() == old.rows
    assert not list(old.data.glob("before-restore-*"))
