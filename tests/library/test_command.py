"""`manage.py library check` from the command line's side."""

from io import StringIO
from pathlib import Path

import pytest
from django.core.management import call_command

from maintenance.library.reading import FOLDER, load_library


def check(folder: Path | None = None) -> tuple[int, str, str]:
    out, err = StringIO(), StringIO()
    options = {"folder": folder} if folder else {}
    try:
        call_command("library", "check", stdout=out, stderr=err, **options)
    except SystemExit as ended:
        return int(ended.code or 0), out.getvalue(), err.getvalue()
    return 0, out.getvalue(), err.getvalue()


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for name in ("library.toml", "equipment.toml", "body-doors.toml"):
        (tmp_path / name).write_text((FOLDER / name).read_text(encoding="utf-8"))
    (tmp_path / "spots.toml").write_text("spot = []\n")
    look = "{ procedure = 'garage_load_check', minutes = 3, look = 'Straps.' }"
    lap = f'[[stop]]\ntitle = "Garage"\nwhen = "lap"\nlooks = [{look}]\n'
    (tmp_path / "lap.toml").write_text(lap)
    place = 'title = "Outside"\nwhen = "entry"\nprocedures = ["hand_wash_look"]\n'
    (tmp_path / "stay.toml").write_text(f"[[place]]\n{place}")
    return tmp_path


def change(folder: Path, old: str, new: str) -> None:
    file = folder / "body-doors.toml"
    text = file.read_text(encoding="utf-8")
    assert old in text
    file.write_text(text.replace(old, new), encoding="utf-8")


def test_the_library_of_the_program_is_good() -> None:
    code, out, err = check()
    assert (code, err) == (0, "")
    assert f": {len(load_library().procedures)} procedures" in out
    assert "Wheels and tires" in out
    assert f"{len(load_library().spots)} places to find on a rig" in out
    assert "common practice" in out
    assert "Without a source: 0 figures" in out


def test_a_broken_link_ends_with_2_and_one_line(folder: Path) -> None:
    code, out, err = check(folder)  # radiator_look stands in another file
    assert (code, out) == (2, "")
    assert err == (
        'body-doors.toml: hand_wash_look: renews: "radiator_look" is not another '
        "procedure\n"
    )


def test_counts_are_those_of_the_folder(folder: Path) -> None:
    change(folder, 'renews = ["radiator_look"]\n', "")
    code, out, _err = check(folder)
    assert code == 0
    assert "5 procedures" in out
    assert "   5 Body and doors" in out


def test_a_figure_without_source_is_listed_and_ends_with_2(folder: Path) -> None:
    change(folder, 'renews = ["radiator_look"]\n', "")
    change(
        folder,
        '{ of = "interval", kind = "common practice", text = "twice',
        ('{ of = "steps", kind = "common practice", text = "twice'),
    )
    code, out, err = check(folder)
    assert code == 2
    assert "Without a source: 2 figures" in out
    assert "body-doors.toml: latches_hinges: interval" in out
    assert err == (
        'body-doors.toml: latches_hinges: sources: nothing says where "interval" is '
        "from\n"
    )
