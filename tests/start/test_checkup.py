"""`manage.py checkup`, what Due and Status say of it, and orphaned files."""

import io
import sqlite3
from datetime import timedelta
from pathlib import Path
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import call_command
from django.db import DatabaseError, connection
from django.db.utils import ConnectionHandler
from django.urls import reverse
from django.utils import timezone
from PIL import Image

from maintenance.findings.photos import clean_photos, keep_photos
from maintenance.reminders.models import MachineClock, StoppedAddress, SweepMark
from maintenance.service_records.models import Attachment
from maintenance.service_records.proof import hold, path_of
from maintenance.vehicles import uploads
from maintenance.vehicles.models import Manual
from rigsite.backup import noted
from rigsite.checkup import files, quick, thorough
from rigsite.checkup.finding import Finding, Level, wrong_first
from rigsite.checkup.nightly import check_once_a_day
from rigsite.env import sqlite
from rigsite.upgrade import UpgradeError, note_database, refuse_lost
from tests.builders import make_member, make_rig

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)


def photo(shade: int = 90) -> SimpleUploadedFile:
    out = io.BytesIO()
    Image.new("RGB", (60, 40), (shade, shade, shade)).save(out, "JPEG")
    return SimpleUploadedFile("it.jpg", out.getvalue(), "image/jpeg")


@pytest.fixture
def keeper():
    return make_member(founder=True)


@pytest.fixture
def proof(keeper) -> Attachment:
    rig = make_rig(keeper.household)
    return hold(rig, by=keeper, form_token=uuid4(), upload=photo())


@pytest.fixture
def well(broker, tmp_path):
    """As it is while the program runs."""
    SweepMark.objects.create(name="sweep", at=timezone.now())
    keep_backup(tmp_path)


def keep_backup(folder: Path) -> None:
    """As a night leaves it, on another disk and tried."""
    (folder / "it.zip").touch()
    for what in (noted.BACKUP, noted.ELSEWHERE):
        noted.note(what, now=timezone.now(), path=str(folder / "it.zip"))
    noted.note(noted.TRIAL, now=timezone.now(), good=True, words="9 rows", doubts=[])


def checkup(capsys, *options: str) -> tuple[int, str]:
    with pytest.raises(SystemExit) as stop:
        call_command("checkup", *options)
    return int(stop.value.code or 0), capsys.readouterr().out


# --- the command ----------------------------------------------------------------------


def test_checkup_when_all_is_well_then_0(well, proof, capsys):
    code, out = checkup(capsys)

    assert code == 0, out
    assert {line[:8].strip() for line in out.splitlines()} == {"ok"}


def test_checkup_when_there_is_no_backup_then_1_and_the_command(well, capsys, tmp_path):
    (tmp_path / "last-backup.json").unlink()

    code, out = checkup(capsys, "--quick")

    assert code == 1
    assert "WARNING Last backup: never." in out
    assert "manage.py backup" in out


def test_checkup_when_the_worker_is_behind_then_2(well, capsys):
    SweepMark.objects.update(at=timezone.now() - timedelta(minutes=40))

    code, out = checkup(capsys, "--quick")

    assert code == 2
    assert "BROKEN  Last sweep" in out


@pytest.mark.parametrize(
    ("spoil", "said"),
    [
        (lambda path: path.unlink(), "missing"),
        (lambda path: path.write_bytes(b"8 bytes!"), "not the file that was stored"),
    ],
)
def test_checkup_when_a_file_is_missing_or_broken_then_it_is_named(
    well, proof, capsys, spoil, said
):
    spoil(path_of(proof))

    code, out = checkup(capsys)

    assert code == 2
    assert "Files: 1 missing or damaged." in out
    assert f"{proof.stored}: {said}" in out


def test_checkup_when_the_database_is_damaged_then_the_way_back(
    well, monkeypatch, tmp_path
):
    broken = tmp_path / "broken.db"
    with sqlite3.connect(broken) as made:
        made.execute("CREATE TABLE t (x)")
        made.executemany("INSERT INTO t VALUES (?)", [("y" * 500,)] * 200)
    spoiled = bytearray(broken.read_bytes())
    spoiled[4096 * 2 : 4096 * 4] = b"\xff" * 4096 * 2
    broken.write_bytes(spoiled)
    opened = ConnectionHandler({"default": sqlite(broken)})["default"]
    monkeypatch.setattr(thorough, "connection", opened)

    found = thorough.integrity()

    opened.close()
    assert found.level == Level.BROKEN
    assert f"restore --replace {tmp_path / 'it.zip'}" in found.words
    assert found.details


def test_checkup_when_an_address_is_stopped_or_the_clock_jumped_then_1(
    well, keeper, capsys
):
    now = timezone.now()
    StoppedAddress.objects.create(
        household=keeper.household, address="a@example.org", words="No", at=now
    )
    MachineClock.objects.create(machine="it", at=now, up=1, doubted_at=now)

    code, out = checkup(capsys, "--quick")

    assert code == 1
    assert "WARNING Addresses: 1 refused" in out
    assert "manage.py confirm_clock" in out


def test_checkup_when_nothing_can_be_written_then_2(well, capsys, monkeypatch):
    monkeypatch.setattr("os.access", lambda *_: False)

    code, out = checkup(capsys, "--quick")

    assert code == 2
    assert "is read-only" in out


def test_checkup_when_the_log_cannot_be_written_then_1(well, capsys, tmp_path):
    (tmp_path / "rigsite.log").mkdir()

    code, out = checkup(capsys, "--quick")

    assert code == 1
    assert "WARNING Log:" in out


def test_checkup_when_the_secret_is_short_or_was_lost_then_said(
    settings, tmp_path, monkeypatch
):
    settings.SECRET_KEY = "short"
    assert quick.secret(timezone.now()).level == Level.BROKEN

    settings.SECRET_KEY = "x" * 50
    assert quick.secret(timezone.now()).good
    (tmp_path / "secret_key-lost").touch()
    assert "must log in again" in quick.secret(timezone.now()).words
    assert quick.secret(timezone.now() + 60 * DAY).good


@pytest.mark.parametrize(
    ("free", "level"), [(10**12, 0), (150_000_000, 1), (5_000_000, 2)]
)
def test_disk_when_little_is_free_then_how_bad_and_make_room(monkeypatch, free, level):
    usage = type("Usage", (), {"free": free})
    monkeypatch.setattr("shutil.disk_usage", lambda _path: usage)

    found = quick.disk()

    assert found.level == level
    assert ("Make room" in found.words) == bool(level)


# --- an empty database ----------------------------------------------------------------


@pytest.fixture
def empty(monkeypatch):
    """As after somebody emptied the file."""
    monkeypatch.setattr(
        "rigsite.upgrade.MigrationRecorder.applied_migrations", lambda _self: {}
    )


def test_empty_where_there_was_one_then_refused_with_the_way_back(empty, tmp_path):
    note_database()
    keep_backup(tmp_path)

    with pytest.raises(
        UpgradeError, match=r"empty, but it had records before.*it\.zip"
    ):
        refuse_lost()


def test_empty_on_the_first_start_then_nothing_is_said(empty):
    refuse_lost()


def test_empty_but_with_files_of_a_household_then_refused(empty, tmp_path):
    if connection.vendor != "sqlite":
        return
    (tmp_path / "files" / "proof").mkdir(parents=True)
    (tmp_path / "files" / "proof" / "it.jpg").touch()

    with pytest.raises(UpgradeError, match="There's no backup here"):
        refuse_lost()


def test_empty_with_the_note_of_another_database_then_a_new_one(empty, tmp_path):
    """The folder stays when a household moves to a server."""
    (tmp_path / "database-made").write_text("db.example.org:5432/rigsite\n")

    refuse_lost()


# --- Due and Status -------------------------------------------------------------------


def test_due_when_something_is_wrong_then_one_line_for_the_founder(
    well, client_as, keeper, tmp_path
):
    assert "See Status" not in client_as(keeper).get(reverse("due")).text
    (tmp_path / "last-backup.json").unlink()

    page = client_as(keeper).get(reverse("due")).text

    assert "Last backup: never." in page
    assert "See Status" in page
    other = make_member(keeper.household)
    assert "See Status" not in client_as(other).get(reverse("due")).text


def test_status_when_the_night_found_something_then_counts_without_names(
    well, client_as, keeper, proof
):
    path_of(proof).unlink()
    assert check_once_a_day(timezone.now())
    assert not check_once_a_day(timezone.now() + timedelta(hours=3))

    page = client_as(keeper).get(reverse("status")).text

    assert "Files: 1 missing or damaged." in page
    assert proof.stored not in page


def test_noted_when_it_is_old_then_a_warning():
    thorough.note([Finding("Files", "fine.")], timezone.now())

    later = thorough.noted(timezone.now() + 9 * DAY)

    assert [each.what for each in wrong_first(later)] == ["Thorough check"]


def test_noted_when_the_file_is_broken_then_none_yet(tmp_path):
    (tmp_path / "checkup.json").write_text("[]")

    assert "none yet" in thorough.noted(timezone.now())[0].words


def test_answered_when_the_database_fails_then_nothing():
    def fails() -> list[Finding]:
        raise DatabaseError

    assert quick.answered(fails) == []


# --- files ----------------------------------------------------------------------------


def test_orphan_then_it_has_its_grace_and_goes(proof, tmp_path):
    stray = path_of(proof).with_name("nobody.jpg")
    stray.write_bytes(b"x")
    now = timezone.now()

    assert files.sweep_orphans(now) == 0
    assert files.sweep_orphans(now + 29 * DAY) == 0
    assert files.sweep_orphans(now + 31 * DAY) == 1

    assert path_of(proof).exists()
    assert not stray.exists()


def test_orphan_that_is_on_record_again_then_its_grace_begins_anew(proof):
    path = path_of(proof)
    now = timezone.now()
    row = Attachment.objects.get(pk=proof.pk)
    row.delete()
    files.sweep_orphans(now)
    row.pk = None
    row.save()
    files.sweep_orphans(now + 20 * DAY)
    row.delete()

    assert files.sweep_orphans(now + 40 * DAY) == 0
    assert path.exists()


def test_photo_sent_twice_with_a_form_then_kept_once(keeper):
    rig, token = make_rig(keeper.household), uuid4()
    first = hold(rig, by=keeper, form_token=token, upload=photo())
    second = hold(rig, by=keeper, form_token=token, upload=photo())
    other = hold(rig, by=keeper, form_token=token, upload=photo(30))

    assert first == second != other
    assert len(list(path_of(first).parent.iterdir())) == 2


def test_photo_picked_twice_in_one_post_then_kept_once(keeper):
    rig = make_rig(keeper.household)
    made = keep_photos(clean_photos([photo(), photo()]), rig, on=timezone.now().date())

    assert len(made) == 1


def test_broken_file_when_opened_then_words(keeper, client_as):
    manual = Manual.objects.create(
        rig=make_rig(keeper.household),
        title="Chassis book",
        content_type="application/pdf",
        stored=f"{uuid4()}.pdf",
        size=20,
        sha256="0" * 64,
    )
    folder = uploads.folder_of("manuals")
    folder.mkdir(parents=True)
    (folder / manual.stored).write_bytes(b"8 bytes!")

    answer = client_as(keeper).get(reverse("manual_file", args=[manual.key]))

    assert answer.status_code == 404
    assert "is damaged on the disk" in answer.text


def test_upload_when_the_disk_is_nearly_full_then_refused_at_its_field(
    keeper, client_as, monkeypatch
):
    rig = make_rig(keeper.household)
    monkeypatch.setattr(uploads, "LEFT_FREE", 10**18)

    answer = client_as(keeper).post(
        reverse("add_manual", args=[rig.pk]),
        {"title": "Chassis book", "upload": photo(), "form_token": str(uuid4())},
    )

    assert answer.status_code == 200
    assert "nearly full" in answer.text
    assert "Chassis book" in answer.text
