"""Every string of the sources that a user may read: templates, Python, the library."""

import ast
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
# What is never shown: words that owners may type, names of pages, licences.
LEFT_OUT = {
    "maintenance/core/units/names.py",
    "maintenance/library/words.toml",
    "maintenance/ui/navigation.py",
}
NOT_TEXT = re.compile(r"{#.*?#}|{% comment.*?endcomment %}", re.DOTALL)
TYPED = {"also_called"}  # what owners may type into a search: never shown
TAGS = re.compile(r"{%.*?%}|{{.*?}}|<[^>]*>")


def sources() -> Iterator[tuple[str, str]]:
    """Where it stands, and the string."""
    for folder in ("maintenance", "rigsite"):
        for file in sorted((ROOT / folder).rglob("*")):
            where = str(file.relative_to(ROOT))
            if where in LEFT_OUT or "fonts" in file.parts:
                continue
            if file.suffix in {".html", ".txt"}:
                yield from _of_template(where, file.read_text())
            elif file.suffix == ".py" and "migrations" not in file.parts:
                yield from _of_python(where, file.read_text())
            elif file.suffix == ".toml":
                yield from _of_data(where, tomllib.loads(file.read_text()))


def _of_template(where: str, text: str) -> Iterator[tuple[str, str]]:
    text = NOT_TEXT.sub(lambda found: "\n" * found[0].count("\n"), text)
    for number, line in enumerate(TAGS.sub(" ", text).split("\n"), 1):
        if line.strip():
            yield f"{where}:{number}", line.strip()


def _of_python(where: str, text: str) -> Iterator[tuple[str, str]]:
    """String literals of two words and more, without docstrings."""
    tree = ast.parse(text)
    told = {id(x.value) for x in ast.walk(tree) if isinstance(x, ast.Expr)}
    for node in ast.walk(tree):
        if not isinstance(node, ast.Constant) or id(node) in told:
            continue
        if isinstance(node.value, str) and " " in node.value:
            yield f"{where}:{node.lineno}", node.value


def _of_data(where: str, data: Any) -> Iterator[tuple[str, str]]:
    if isinstance(data, str):
        if " " in data:
            yield where, data
    elif isinstance(data, dict):
        for name, value in data.items():
            if name in TYPED:
                continue
            yield from _of_data(f"{where} {name}", value)
    elif isinstance(data, list):
        for value in data:
            yield from _of_data(where, value)
