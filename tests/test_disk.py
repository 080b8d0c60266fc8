"""What is kept: content on the disk before the name, the name before the answer. The
order is watched here; tests/start/test_power_cut.py cuts the power."""

import errno
import os
from pathlib import Path

import pytest

from maintenance import disk
from maintenance.disk import is_half, make_folder, put_file, put_in_place


@pytest.fixture
def done(monkeypatch, tmp_path):
    """What is asked of the disk, in order: `sync` and `name`, with the file's name."""
    calls: list[tuple[str, str]] = []
    sync, replace, link = os.fsync, Path.replace, Path.hardlink_to

    def watched_sync(handle: int) -> None:
        target = str(Path(f"/proc/self/fd/{handle}").readlink())
        calls.append(("sync", "." if target == str(tmp_path) else Path(target).name))
        sync(handle)

    def watched_replace(half: Path, path: Path) -> Path:
        calls.append(("name", path.name))
        return replace(half, path)

    def watched_link(path: Path, half: Path) -> None:
        calls.append(("name", path.name))
        link(path, half)

    monkeypatch.setattr(os, "fsync", watched_sync)
    monkeypatch.setattr(Path, "replace", watched_replace)
    monkeypatch.setattr(Path, "hardlink_to", watched_link)
    return calls


@pytest.mark.parametrize("replace", [True, False])
def test_put_file_when_it_returns_then_content_name_and_folder_are_down(
    replace, done, tmp_path
):
    put_file(tmp_path / "photo.jpg", b"light", replace=replace)

    [content, name, folder] = done
    assert content[0] == "sync"
    assert is_half(Path(content[1]))
    assert name == ("name", "photo.jpg")
    assert folder == ("sync", ".")
    assert (tmp_path / "photo.jpg").read_bytes() == b"light"
    assert [each.name for each in tmp_path.iterdir()] == ["photo.jpg"]


def test_put_file_when_folders_are_missing_then_each_is_down_in_its_own(done, tmp_path):
    put_file(tmp_path / "files" / "proof" / "photo.jpg", b"light")

    assert done[:2] == [("sync", "."), ("sync", "files")]
    assert done[-1] == ("sync", "proof")
    assert (tmp_path / "files" / "proof").stat().st_mode & 0o077 == 0


def test_put_file_when_it_returns_then_for_this_user_alone(tmp_path):
    put_file(tmp_path / "photo.jpg", b"light")

    assert (tmp_path / "photo.jpg").stat().st_mode & 0o777 == 0o600


@pytest.mark.parametrize("fault", [errno.ENOSPC, errno.EIO])
def test_put_file_when_the_disk_refuses_then_nothing_of_it_and_the_old_stays(
    fault, monkeypatch, tmp_path
):
    (tmp_path / "photo.jpg").write_bytes(b"old")

    def refuse(handle: int) -> None:
        raise OSError(fault, os.strerror(fault))

    monkeypatch.setattr(os, "fsync", refuse)

    with pytest.raises(OSError, match=os.strerror(fault)):
        put_file(tmp_path / "photo.jpg", b"new")

    assert (tmp_path / "photo.jpg").read_bytes() == b"old"
    assert [each.name for each in tmp_path.iterdir()] == ["photo.jpg"]


def test_put_file_when_the_first_is_to_win_then_the_second_is_refused(tmp_path):
    put_file(tmp_path / "secret", b"first", replace=False)

    with pytest.raises(FileExistsError):
        put_file(tmp_path / "secret", b"second", replace=False)

    assert (tmp_path / "secret").read_bytes() == b"first"
    assert [each.name for each in tmp_path.iterdir()] == ["secret"]


def test_put_in_place_when_folders_cannot_be_waited_for_then_done_all_the_same(
    monkeypatch, tmp_path
):
    """Some network disks refuse it for a folder; a backup goes there as well."""
    (tmp_path / "half").write_bytes(b"all of it")
    sync = os.fsync

    def only_files(handle: int) -> None:
        if str(Path(f"/proc/self/fd/{handle}").readlink()) == str(tmp_path):
            raise OSError(errno.EINVAL, "Invalid argument")
        sync(handle)

    monkeypatch.setattr(os, "fsync", only_files)

    put_in_place(tmp_path / "half", tmp_path / "backup.zip")

    assert (tmp_path / "backup.zip").read_bytes() == b"all of it"


def test_make_folder_when_a_file_is_in_the_way_then_refused(tmp_path):
    (tmp_path / "file").touch()

    with pytest.raises(OSError, match="File exists"):
        make_folder(tmp_path / "file" / "data")


def test_files_when_they_are_kept_then_by_this_one_way():
    """Who writes otherwise writes what a power cut may empty. Named here is what can
    be made anew, or goes away by itself."""
    made_anew = {
        "rigsite/packages.py": 2,  # the stamp, after a sync of all; the log of pip
        "rigsite/backup/unpacking.py": 2,  # unpacked, then a sync of all
        "rigsite/backup/sealing.py": 1,  # opened, likewise
        "rigsite/backup/making.py": 2,  # into the zip
        "rigsite/backup/copies.py": 1,  # likewise
        "maintenance/exchange/exports/archive.py": 3,  # into the zip
        "maintenance/exchange/exports/making.py": 1,  # half a zip, then put in place
        "maintenance/jobs/slot.py": 1,  # a lock
        "maintenance/disk.py": 1,
    }
    root = Path(disk.__file__).parent.parent
    ways = (".write_text(", ".write_bytes(", '"w"', '"wb"', "default_storage")
    found = {}
    for file in [*root.glob("maintenance/**/*.py"), *root.glob("rigsite/**/*.py")]:
        text = file.read_text()
        if times := sum(text.count(way) for way in ways):
            found[str(file.relative_to(root))] = times
    assert found == made_anew
