"""Where things lie: the broker's socket must fit, private folders must be private."""

import os
from pathlib import Path

import pytest

from rigsite.paths import (
    CHECKOUT,
    broker_socket,
    data_folder,
    private_folder,
    secret_was_lost,
    stored_secret,
)


def test_data_folder_when_not_named_then_var_in_the_checkout():
    assert data_folder() == CHECKOUT / "var"


def test_data_folder_when_named_then_absolute_and_with_the_home_folder(monkeypatch):
    monkeypatch.setenv("HOME", "/home/somebody")

    assert data_folder("~/rigs") == Path("/home/somebody/rigs")


def test_broker_socket_when_the_path_is_short_then_in_the_data_folder():
    assert broker_socket(Path("/srv/rigs")) == Path("/srv/rigs/broker/broker.sock")


@pytest.mark.parametrize("name", ["long" * 30, "ü" * 60])
def test_broker_socket_when_the_path_is_long_then_short_elsewhere(name):
    one, other = broker_socket(Path("/", name)), broker_socket(Path("/", name, "b"))

    assert len(os.fsencode(one)) < 104  # the shortest limit among systems, sun_path
    assert one != other


def test_private_folder_when_others_could_enter_then_closed(tmp_path):
    (tmp_path / "open").mkdir(mode=0o755)

    folder = private_folder(tmp_path / "open")

    assert folder.stat().st_mode & 0o777 == 0o700


def test_private_folder_when_it_is_a_link_then_refused(tmp_path):
    (tmp_path / "link").symlink_to(tmp_path)

    with pytest.raises(PermissionError, match="another user"):
        private_folder(tmp_path / "link")


def test_stored_secret_when_another_process_was_first_then_its_secret(tmp_path):
    (tmp_path / "secret_key").write_text("theirs")

    assert stored_secret(tmp_path) == "theirs"


def test_stored_secret_when_a_power_cut_emptied_it_then_made_anew(tmp_path):
    (tmp_path / "secret_key").touch()

    made = stored_secret(tmp_path)

    assert len(made) >= 50
    assert stored_secret(tmp_path) == made
    assert secret_was_lost(tmp_path) is not None  # `checkup` says so
