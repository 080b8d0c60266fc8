"""The one error of the library: it names file, entry and field."""

from collections.abc import Iterator
from contextlib import contextmanager

from maintenance.core.facts import FactError


class LibraryError(Exception):
    """A library file that cannot be used; says in which file, entry and field."""

    def __init__(self, file: str, key: str, field: str, problem: str) -> None:
        place = ": ".join(part for part in (file, key, field) if part)
        super().__init__(f"{place}: {problem}")
        self.file = file
        self.key = key
        self.field = field
        self.problem = problem


@contextmanager
def naming(file: str, key: str = "") -> Iterator[None]:
    """Names the file and the entry of a fact that is refused within."""
    try:
        yield
    except FactError as refused:
        raise LibraryError(file, key, refused.place, refused.problem) from None
