"""Static files are collected when they must be, and only then."""

import pytest

from rigsite import prepare


@pytest.fixture
def collected(settings, tmp_path, monkeypatch):
    """How often they were collected."""
    settings.STATIC_ROOT = tmp_path / "static"
    calls = []

    def collect(*_args, **_options):
        calls.append(1)
        (tmp_path / "static").mkdir()
        (tmp_path / "static" / "site.css").write_text("a {}")

    monkeypatch.setattr(prepare, "call_command", collect)
    return calls


def test_static_files_when_nothing_changed_then_collected_once(collected):
    prepare.collect_static()
    prepare.collect_static()

    assert len(collected) == 1


def test_static_files_when_they_were_not_finished_then_anew(collected, tmp_path):
    prepare.collect_static()
    (tmp_path / "static" / ".collected").write_bytes(b"")
    (tmp_path / "static" / "half.css").touch()

    prepare.collect_static()

    assert len(collected) == 2
    assert not (tmp_path / "static" / "half.css").exists()


def test_static_files_when_the_packages_are_others_then_anew(
    collected, monkeypatch, tmp_path
):
    prepare.collect_static()
    (tmp_path / "other.txt").write_text("other==9")
    monkeypatch.setattr(prepare.packages, "REQUIREMENTS", tmp_path / "other.txt")

    prepare.collect_static()

    assert len(collected) == 2
