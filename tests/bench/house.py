"""How the house stands, counted.

    .venv/bin/python tests/bench/house.py [--list]

Library keys in Python: string literals of the program that are the key of a procedure,
or have one in a longer text, docstrings too. The library is the only source of what a
procedure is about, so that no Python outside it names one. Migrations are history and
the demo tells of its own rigs: both may.
"""

import argparse
import ast
import re
import tomllib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]
LIBRARY = ROOT / "maintenance/plans/library"
MAY_NAME_KEYS = ("maintenance/pages/demo/", "/migrations/")

# Words that are a key and something else besides, each once in its file -> what it is.
ALSO_A_KEY = {
    ("maintenance/bench/calculators/tires.py", "tire_pressure"): (
        "the calculator's own key, which stands in addresses and kept figures"
    ),
    ("maintenance/pages/search/words.py", "winterize"): (
        "a word that people search by, beside its other spelling"
    ),
}


@dataclass(frozen=True, slots=True)
class Literal:
    """A string literal of the program; `file` is relative to the root of the house."""

    file: str
    line: int
    text: str

    def __str__(self) -> str:
        return f"{self.file}:{self.line} {self.text}"


def procedure_keys() -> set[str]:
    """Read as plain TOML: the measure does not rest on what it measures."""
    files = [tomllib.loads(path.read_text()) for path in LIBRARY.glob("*.toml")]
    return {row["key"] for file in files for row in file.get("procedure", [])}


def literals(source: str, file: str) -> Iterator[Literal]:
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Constant) and isinstance(node.value, str):
            yield Literal(file, node.lineno, node.value)


def key_pattern(keys: Iterable[str]) -> re.Pattern[str]:
    """Finds a key in a text. One without `_` is a word like any other (`winterize`):
    it counts where it is the whole text."""
    plain = [re.escape(key) for key in keys if "_" not in key]
    marked = [re.escape(key) for key in keys if "_" in key]
    whole = rf"\A(?:{'|'.join(plain)})\Z"
    within = rf"(?<!\w)(?:{'|'.join(marked)})(?!\w)"
    return re.compile(f"{whole}|{within}")


def _program() -> Iterator[Literal]:
    for path in sorted((ROOT / "maintenance").rglob("*.py")):
        file = path.relative_to(ROOT).as_posix()
        if not any(part in file for part in MAY_NAME_KEYS):
            yield from literals(path.read_text(), file)


def library_keys_in_python() -> tuple[list[Literal], list[Literal]]:
    """Those that name a procedure, and those that are in `ALSO_A_KEY`. A second one of
    the same file and word is no exception."""
    pattern = key_pattern(procedure_keys())
    naming: list[Literal] = []
    excepted: dict[tuple[str, str], Literal] = {}
    for one in _program():
        place = (one.file, one.text)
        if not pattern.search(one.text):
            continue
        if place in ALSO_A_KEY and place not in excepted:
            excepted[place] = one
        else:
            naming.append(one)
    return naming, list(excepted.values())


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--list", action="store_true", help="name each place")
    wanted = parser.parse_args()
    naming, excepted = library_keys_in_python()
    files = len({one.file for one in naming})
    print(f"library keys named in Python: {len(naming)} in {files} files")
    if wanted.list:
        for one in naming:
            print(f"  {one}")
        for one in excepted:
            print(f"  not counted: {one}: {ALSO_A_KEY[one.file, one.text]}")


if __name__ == "__main__":
    main()
