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
import sys
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from tests.bench.walk import rooms_of_a_wheel_service

LIBRARY = ROOT / "maintenance/library/data"
MAY_NAME_KEYS = ("maintenance/pages/demo/", "/migrations/")

# Words that are a key and something else besides, each once in its file -> what it is.
ALSO_A_KEY = {
    ("maintenance/calculators/subjects/tires.py", "tire_pressure"): (
        "the calculator's own key, which stands in addresses and kept figures"
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


# --- lines, functions, imports --------------------------------------------------------

LONG = 40  # lines of a function
GETTEXT = {"_", "gettext", "gettext_lazy", "ngettext", "ngettext_lazy", "pgettext"}


def modules() -> dict[str, ast.Module]:
    """The program by the names of its modules, without migrations."""
    found = {}
    for top in ("maintenance", "rigsite"):
        for path in sorted((ROOT / top).rglob("*.py")):
            name = path.relative_to(ROOT).with_suffix("").as_posix()
            if "/migrations/" not in name:
                dotted = name.replace("/", ".").removesuffix(".__init__")
                found[dotted] = ast.parse(path.read_text())
    return found


def lines_of_code() -> int:
    """All lines of the program's Python, but for migrations and empty lines."""
    paths = [
        p for top in ("maintenance", "rigsite") for p in (ROOT / top).rglob("*.py")
    ]
    texts = [p.read_text() for p in paths if "migrations" not in p.parts]
    return sum(bool(line.strip()) for text in texts for line in text.splitlines())


def long_functions(trees: Mapping[str, ast.Module]) -> list[str]:
    return [
        f"{name}.{node.name} ({node.end_lineno - node.lineno + 1} lines)"
        for name, tree in trees.items()
        for node in ast.walk(tree)
        if isinstance(node, ast.FunctionDef)
        if node.end_lineno and node.end_lineno - node.lineno >= LONG
    ]


def gettext_calls(trees: Mapping[str, ast.Module]) -> int:
    calls = (
        node.func.id
        for tree in trees.values()
        for node in ast.walk(tree)
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
    )
    return sum(name in GETTEXT for name in calls)


def completion_writers(trees: Mapping[str, ast.Module]) -> list[str]:
    """Modules that make rows of the plan's completions."""
    return [
        name
        for name, tree in trees.items()
        if _takes_from_models(tree, "Completion")
        and any(
            ast.unparse(node.func) in WRITES
            for node in ast.walk(tree)
            if isinstance(node, ast.Call)
        )
    ]


WRITES = {"Completion", "Completion.objects.create", "Completion.objects.bulk_create"}


def _takes_from_models(tree: ast.Module, model: str) -> bool:
    return any(
        one.name == model
        for node in ast.walk(tree)
        if isinstance(node, ast.ImportFrom) and "models" in (node.module or "")
        for one in node.names
    )


def circles(trees: Mapping[str, ast.Module]) -> list[list[str]]:
    """Modules that import each other in a circle, imports for types alone counted."""
    graph = {name: _imported(name, tree, trees) for name, tree in trees.items()}
    below = {name: _reached(graph, name) for name in graph}
    rings = {
        frozenset(one for one in reached if name in below[one])
        for name, reached in below.items()
        if name in reached
    }
    return sorted(sorted(ring) for ring in rings)


def _reached(graph: Mapping[str, set[str]], name: str) -> set[str]:
    seen: set[str] = set()
    waiting = list(graph[name])
    while waiting:
        one = waiting.pop()
        if one not in seen:
            seen.add(one)
            waiting += graph[one]
    return seen


def _imported(name: str, tree: ast.Module, trees: Mapping[str, ast.Module]) -> set[str]:
    found: set[str] = set()
    package = name if _is_package(name) else name.rpartition(".")[0]
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            found |= {one.name for one in node.names}
        elif isinstance(node, ast.ImportFrom):
            parts = package.split(".")
            above = parts[: len(parts) - node.level + 1] if node.level else []
            base = ".".join([*above, *filter(None, [node.module])])
            inner = {f"{base}.{one.name}" for one in node.names}
            found |= {one for one in inner if one in trees} or {base}
    # A module imports the packages it stands in by being there; that is no circle.
    own = {one for one in found if name == one or name.startswith(f"{one}.")}
    return (found & trees.keys()) - own


def _is_package(name: str) -> bool:
    return (ROOT / name.replace(".", "/") / "__init__.py").exists()


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
    trees = modules()
    rooms, climbs = rooms_of_a_wheel_service()
    told: list[tuple[str, list[str] | list[list[str]]]] = [
        ("modules that write completions", completion_writers(trees)),
        (f"functions over {LONG} lines", long_functions(trees)),
        ("circles of imports", circles(trees)),
        ("rooms of the walk of a wheel service", rooms),
    ]
    for what, found in told:
        print(f"{what}: {len(found)}")
        for each in found if wanted.list else ():
            print(f"  {each}")
    print(f"climbs back up on that walk: {climbs}")
    print(f"calls of gettext: {gettext_calls(trees):,}")
    print(f"lines of Python without empty ones: {lines_of_code():,}")


if __name__ == "__main__":
    main()
