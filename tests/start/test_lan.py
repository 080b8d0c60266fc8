"""By which way other machines come in: asked once, kept, encrypted unless said."""

import argparse
import datetime as dt

import pytest

from rigsite import lan
from rigsite.certificate import folder, provide
from rigsite.console import Stop


def options(*arguments: str) -> argparse.Namespace:
    parser = argparse.ArgumentParser()
    lan.add_options(parser)
    return parser.parse_args(arguments)


@pytest.fixture
def answers(monkeypatch):
    """answers("4", "yes"): what is typed at the terminal, in order."""

    def set_up(*typed: str) -> list[str]:
        left = list(typed)
        monkeypatch.setattr(lan.sys.stdin, "isatty", lambda: True, raising=False)
        monkeypatch.setattr("builtins.input", lambda _question: left.pop(0))
        return left

    return set_up


def test_way_when_lan_is_not_asked_for_then_closed(tmp_path):
    assert not lan.choose(options(), tmp_path).open


def test_way_when_nobody_can_be_asked_then_encrypted(tmp_path, monkeypatch):
    monkeypatch.setattr(lan.sys.stdin, "isatty", lambda: False, raising=False)

    way = lan.choose(options("--lan"), tmp_path)

    assert way.kind == lan.CERTIFICATE
    assert way.encrypted


def test_way_when_asked_then_the_safest_comes_first_and_the_answer_is_kept(
    tmp_path, answers, capsys
):
    left = answers("")

    first = lan.choose(options("--lan"), tmp_path)
    again = lan.choose(options("--lan"), tmp_path)

    said = capsys.readouterr().out
    order = [said.index(words) for words in ("real name", "you have", "made here")]
    assert order == sorted(order)
    assert said.index("made here") < said.index("Without encryption")
    assert (first.kind, again.kind, left) == (lan.CERTIFICATE, lan.CERTIFICATE, [])


@pytest.mark.parametrize("typed", ["yes", "", "this is a campground's Wi-Fi"])
def test_way_when_not_said_to_be_ones_own_wifi_then_not_opened(
    typed, tmp_path, answers
):
    answers("4", typed)

    with pytest.raises(Stop, match="Nothing was opened"):
        lan.choose(options("--lan"), tmp_path)

    assert not (tmp_path / "lan-way").exists()


def test_way_when_said_to_be_ones_own_wifi_then_unencrypted(tmp_path, answers):
    answers("4", "This is my own Wi-Fi")

    way = lan.choose(options("--lan"), tmp_path)

    assert way.open
    assert not way.encrypted


@pytest.mark.parametrize(("typed", "words"), [("1", "PUBLIC_URL"), ("2", "--cert")])
def test_way_when_another_is_chosen_then_it_says_how(typed, words, tmp_path, answers):
    answers(typed)

    with pytest.raises(Stop, match=words):
        lan.choose(options("--lan"), tmp_path)


def test_certificate_when_given_then_it_must_go_with_its_key(tmp_path):
    for name in ("den.local", "shed.local"):
        provide(name, tmp_path / name, dt.datetime.now(dt.UTC))
    den, shed = (folder(tmp_path / name) for name in ("den.local", "shed.local"))
    good = options("--cert", str(den / "door.crt"), "--key", str(den / "door.key"))
    mixed = options("--cert", str(den / "door.crt"), "--key", str(shed / "door.key"))

    assert lan.choose(good, tmp_path).kind == lan.GIVEN
    with pytest.raises(Stop, match="don't belong together"):
        lan.choose(mixed, tmp_path)
    with pytest.raises(Stop, match="Enter both"):
        lan.choose(options("--cert", str(den / "door.crt")), tmp_path)


def test_options_when_put_on_another_command_line_then_the_same(tmp_path):
    own_wifi = options("--lan", "own-wifi")
    given = options("--cert", "/c.pem", "--key", "/k.pem")

    assert lan.as_arguments(options("--lan")) == ["--lan"]
    assert lan.as_arguments(own_wifi) == ["--lan", "own-wifi"]
    assert lan.as_arguments(given) == ["--cert", "/c.pem", "--key", "/k.pem"]
    assert lan.as_arguments(options()) == []
