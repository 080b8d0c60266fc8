import pytest
from django.core.management import CommandError, call_command

from maintenance.service_records.chain.verifying import head_of
from maintenance.service_records.models import ServiceRecord
from tests import builders

from .chain_parts import make_chain, overwrite


@pytest.fixture
def chained(db):
    return make_chain(builders.make_member())


def test_command_says_that_all_holds(chained, capsys):
    rig, _records = chained

    call_command("verify_chain", "--rig", rig.name, "--head", head_of(rig).words)

    out = capsys.readouterr().out
    assert "3 records and 1 files: hold" in out
    assert "The printed code is link 3: everything up to it is unchanged." in out


def test_command_names_what_does_not_fit_and_exits_with_1(chained, capsys):
    _rig, (record, *_others) = chained
    overwrite(record, ServiceRecord._meta.get_field("doer"), "Nobody")

    with pytest.raises(SystemExit) as stop:
        call_command("verify_chain")

    assert stop.value.code == 1
    assert "was “Bay Street Garage”, is “Nobody”" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--rig", "Nowhere"], "No rig “Nowhere”"),
        (["--head", "abc"], "needs --rig"),
        (["--rig", "RIG", "--head", "abc"], "64 hex digits"),
    ],
)
def test_command_refuses_what_it_cannot_use(chained, arguments, words):
    rig, _records = chained
    given = [rig.name if each == "RIG" else each for each in arguments]

    with pytest.raises(CommandError, match=words):
        call_command("verify_chain", *given)
