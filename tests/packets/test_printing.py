"""The process that prints: watched, limited in time, stopped; what its end leaves."""

import os
import subprocess
import sys

import pytest

from maintenance.packets import printing
from maintenance.packets.printing import (
    PrintFailed,
    PrintStopped,
    PrintTooLong,
    Progress,
    print_pdf,
)
from tests.servers import wait_for

PAGE = "<html lang=en><title>A rig</title><h1>A rig</h1>"


def script(text: str) -> tuple[str, ...]:
    """A program in place of ours."""
    return (sys.executable, "-c", f"import os, sys, time\n{text}")


def go_on(_progress: Progress) -> bool:
    return True


def test_page_becomes_a_pdf_that_only_its_owner_may_read(tmp_path):
    out = tmp_path / "packets" / "a.pdf"

    pages = print_pdf(PAGE, out, seconds=60, tell=go_on)

    assert pages == 1
    assert out.read_bytes().startswith(b"%PDF-")
    assert out.stat().st_mode & 0o077 == 0


def test_progress_is_told_page_by_page(tmp_path):
    told: list[Progress] = []
    page = f"{PAGE}<p style='break-before: page'>x"

    def note(progress: Progress) -> bool:
        told.append(progress)
        return True

    print_pdf(page, tmp_path / "a.pdf", seconds=60, tell=note)

    assert [each for each in told if each.word] == [
        Progress("page", 1),
        Progress("page", 2),
        Progress("writing", 0),
        Progress("pages", 2),
    ]


def test_program_that_prints_for_too_long_is_ended(tmp_path):
    endless = script("while True: time.sleep(60)")

    with pytest.raises(PrintTooLong):
        print_pdf(PAGE, tmp_path / "a.pdf", seconds=1, tell=go_on, program=endless)

    assert list(tmp_path.iterdir()) == []


def test_program_is_ended_when_nobody_wants_the_pdf_any_more(tmp_path):
    pid_file = tmp_path / "pid"
    program = script(
        f"open({str(pid_file)!r}, 'w').write(str(os.getpid()))\ntime.sleep(60)"
    )

    def until_it_runs(_progress: Progress) -> bool:
        return not pid_file.exists()

    with pytest.raises(PrintStopped):
        print_pdf(
            PAGE, tmp_path / "a.pdf", seconds=60, tell=until_it_runs, program=program
        )

    with pytest.raises(ProcessLookupError):
        os.kill(int(pid_file.read_text()), 0)
    assert not (tmp_path / "a.pdf").exists()


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("sys.exit('no such font')", "no such font"),
        ("os.kill(os.getpid(), 9)", "exit code -9"),
        ("sys.stderr.write('progress page 1\\n'); os._exit(3)", "exit code 3"),
        ("pass", "exit code 0"),
    ],
)
def test_program_that_breaks_off_leaves_no_file_and_its_last_words(
    text, said, tmp_path
):
    with pytest.raises(PrintFailed, match=said):
        print_pdf(
            PAGE, tmp_path / "a.pdf", seconds=60, tell=go_on, program=script(text)
        )

    assert list(tmp_path.iterdir()) == []


def test_program_is_told_no_secret(tmp_path, monkeypatch):
    monkeypatch.setenv("SECRET_KEY", "of the house")
    program = script("sys.exit(os.environ.get('SECRET_KEY', 'knows nothing'))")

    with pytest.raises(PrintFailed, match="knows nothing"):
        print_pdf(PAGE, tmp_path / "a.pdf", seconds=60, tell=go_on, program=program)


WORKER = """
import sys
from pathlib import Path
from maintenance.packets.printing import print_pdf
program = (sys.executable, "-c", sys.argv[1])
print_pdf("x", Path(sys.argv[2]), seconds=60, tell=lambda _: True, program=program)
"""
ENDLESS = """
import os, sys, time
open({pid_file!r}, "w").write(str(os.getpid()))
while True:
    sys.stderr.write("progress page 1\\n")
    sys.stderr.flush()
    time.sleep(0.05)
"""


def test_program_ends_by_itself_when_its_worker_is_killed(tmp_path):
    pid_file = tmp_path / "pid"
    endless = ENDLESS.format(pid_file=str(pid_file))
    worker = subprocess.Popen(
        [sys.executable, "-c", WORKER, endless, str(tmp_path / "a.pdf")],
        cwd=printing.CHECKOUT,
    )
    wait_for(lambda: pid_file.exists() and pid_file.read_text(), what="the print")
    worker.kill()
    worker.wait()

    printer = int(pid_file.read_text())

    wait_for(lambda: not _runs(printer), what="end of the print")


def _runs(pid: int) -> bool:
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    return True


def test_quiet_program_is_heard_of_every_second(tmp_path, monkeypatch):
    monkeypatch.setattr(printing, "LISTEN", 0.1)
    told: list[Progress] = []

    def note(progress: Progress) -> bool:
        told.append(progress)
        return len(told) < 3

    with pytest.raises(PrintStopped):
        print_pdf(
            PAGE,
            tmp_path / "a.pdf",
            seconds=60,
            tell=note,
            program=script("time.sleep(60)"),
        )

    assert told == [Progress()] * 3
