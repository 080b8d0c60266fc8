"""Start-up checks: silent when all is well, else an id, a reason and what to do."""

import pytest

from rigsite import checks


def ids(found: list) -> list[str]:
    return [each.id for each in found]


def test_folders_when_writable_or_still_to_be_made_then_silent(settings, tmp_path):
    settings.DATA, settings.MEDIA_ROOT = tmp_path, tmp_path / "not" / "yet"

    assert checks.folders_are_writable() == []


def test_folders_when_a_file_is_in_the_way_then_an_error(settings, tmp_path):
    (tmp_path / "file").touch()
    settings.DATA, settings.MEDIA_ROOT = tmp_path, tmp_path / "file"

    [error] = checks.folders_are_writable()

    assert error.id == "rigsite.E001"
    assert str(tmp_path / "file") in error.msg
    assert "RIGSITE_DATA" in str(error.hint)


@pytest.mark.parametrize(
    ("server", "sender", "expected"),
    [
        (False, "Rigsite <rigsite@localhost>", []),
        (True, "Our rigs <rigs@example.org>", []),
        (True, "Rigsite <rigsite@localhost>", ["rigsite.W001"]),
    ],
)
def test_mail_when_nobody_could_answer_then_a_warning(
    server, sender, expected, settings
):
    settings.MAIL_SERVER_SET, settings.DEFAULT_FROM_EMAIL = server, sender

    assert ids(checks.mail_is_set()) == expected


@pytest.mark.parametrize(
    ("host", "tls", "expected"),
    [
        ("smtp.example.org", False, ["rigsite.W004"]),
        ("smtp.example.org", True, []),
        ("localhost", False, []),
    ],
)
def test_mail_across_a_network_in_the_clear_then_a_warning(
    host, tls, expected, settings
):
    settings.MAIL_SERVER_SET, settings.EMAIL_HOST = True, host
    settings.EMAIL_USE_TLS, settings.EMAIL_USE_SSL = tls, False

    assert ids(checks.mail_is_encrypted()) == expected


@pytest.mark.parametrize(
    ("server", "expected"), [(True, []), (False, ["rigsite.W002"])]
)
def test_mail_when_deployed_without_a_server_then_a_warning(server, expected, settings):
    settings.MAIL_SERVER_SET = server

    assert ids(checks.mail_is_set_for_many()) == expected


@pytest.mark.parametrize(
    ("address", "hosts", "origins", "lan", "expected"),
    [
        ("", [], [], True, []),
        ("http://a.example", ["a.example"], ["http://a.example"], True, []),
        ("http://[::1]:1", ["[::1]"], ["http://[::1]:1"], False, []),
        ("http://a.example", ["b.example"], ["http://a.example"], False, ["E002"]),
        ("http://a.example", ["a.example"], [], False, ["E003"]),
        ("http://localhost", ["localhost"], ["http://localhost"], True, ["W003"]),
    ],
)
def test_address_when_hosts_or_origins_disagree_then_found(
    address, hosts, origins, lan, expected, settings
):
    settings.PUBLIC_URL, settings.ALLOWED_HOSTS = address, hosts
    settings.CSRF_TRUSTED_ORIGINS, settings.LAN = origins, lan

    found = checks.host_and_origin_agree()

    assert ids(found) == [f"rigsite.{each}" for each in expected]


def test_printing_when_a_library_is_missing_then_the_line_that_installs_it(monkeypatch):
    monkeypatch.setattr(checks, "LIBRARIES", {"libnone-such.so.0": "libnone-such0"})

    [error] = checks.printing_is_possible()

    assert error.id == "rigsite.E004"
    assert str(error.hint).endswith("install -y --no-install-recommends libnone-such0")


def test_printing_when_there_are_no_fonts_then_an_error(monkeypatch, tmp_path):
    monkeypatch.setattr(checks, "FONT_FOLDERS", (str(tmp_path),))

    assert ids(checks.printing_is_possible()) == ["rigsite.E005"]


def test_printing_when_installed_as_told_then_silent():
    assert checks.printing_is_possible() == []
