"""`manage.py reckon`: files in, a line of JSON each out, or one line of complaint."""

import json
import shutil
import subprocess
import sys
import time
from pathlib import Path

import pytest
from django.core.management import call_command

ROOT = Path(__file__).parent.parent.parent
CASES = ROOT / "tests" / "cases"
GOOD = CASES / "after-distance.json"


def run(capsys: pytest.CaptureFixture[str], *files: Path | str) -> tuple[int, str, str]:
    status = 0
    try:
        call_command("reckon", *map(str, files))
    except SystemExit as end:
        status = int(end.code or 0)
    out, err = capsys.readouterr()
    return status, out, err


def test_one_line_a_file_in_the_order_given(capsys: pytest.CaptureFixture[str]) -> None:
    other = CASES / "life.json"
    status, out, err = run(capsys, other, GOOD, other)
    lines = [json.loads(line) for line in out.splitlines()]
    assert (status, err) == (0, "")
    assert [line["items"][0]["key"] for line in lines] == ["month", "not_done", "month"]


def test_why_is_a_list_of_sentences(capsys: pytest.CaptureFixture[str]) -> None:
    _status, out, _err = run(capsys, GOOD)
    assert json.loads(out)["items"][0]["why"][1] == (
        "Re-check between 42,360 and 42,410 mi."
    )


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("{", "line 1 column 2: "),
        ("", "line 1 column 1: "),
        ("[]", "the whole file: must be an object"),
        (
            '{"as_of": "2026-05-04", "as_of": "2026-05-05"}',
            'key "as_of" is there twice',
        ),
        ('{"as_of": NaN}', "NaN isn't a number"),
        (
            '{"as_of": "2026-05-04", "rig": {"meters": {}, "items": [], "item": 1}}',
            'rig: unknown key "item"; did you mean "items"?',
        ),
        ("\xff", "isn't UTF-8"),
        pytest.param("[" * 100_000, "nested too deeply", id="deep"),
        pytest.param("9" * 5000, "the whole file: ", id="long number"),
    ],
)
def test_a_file_that_cannot_be_used_is_named_and_nothing_printed(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, text: str, problem: str
) -> None:
    bad = tmp_path / "bad.json"
    bad.write_bytes(text.encode("latin-1"))
    status, out, err = run(capsys, GOOD, bad)
    assert (status, out) == (2, "")
    assert err.startswith(f"{bad}: ")
    assert problem in err
    assert err.count("\n") == 1


def test_a_file_that_is_not_there(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    status, out, err = run(capsys, tmp_path / "none.json")
    assert (status, out) == (2, "")
    assert "none.json: can't be read: No such file" in err


def test_no_file_at_all_says_how_it_is_used() -> None:
    done = subprocess.run(
        [sys.executable, ROOT / "manage.py", "reckon"],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 2
    assert "CASE.json" in done.stderr


def test_a_hundred_files_without_a_database(tmp_path: Path) -> None:
    """The data folder cannot be made, so a database cannot either."""
    files = [tmp_path / f"{i}.json" for i in range(100)]
    for file in files:
        shutil.copy(GOOD, file)
    nowhere = tmp_path / "a file, not a folder"
    nowhere.touch()
    began = time.monotonic()
    done = subprocess.run(
        [sys.executable, ROOT / "manage.py", "reckon", *files],
        capture_output=True,
        text=True,
        check=False,
        env={"DATABASE_URL": f"sqlite:///{nowhere}/no.db", "PATH": "/usr/bin:/bin"},
    )
    print(f"100 files: {time.monotonic() - began:.1f} s")  # noqa: T201
    assert (done.returncode, done.stderr) == (0, "")
    assert len(done.stdout.splitlines()) == 100
