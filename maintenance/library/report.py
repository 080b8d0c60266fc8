"""What is in the library, in lines to print."""

from collections import Counter
from collections.abc import Iterator

from maintenance.library.checks import unsourced
from maintenance.library.model import SOURCE_KINDS, Library


def report(library: Library) -> Iterator[str]:
    """Counts per system and per kind of source, and which figures lack a source."""
    yield f"Library {library.version}: {_count(len(library.procedures), 'procedure')}"
    per_system = Counter(one.system for one in library.procedures.values())
    for key, system in library.systems.items():
        yield f"  {per_system[key]:4} {system.title}"
    yield _count(len(library.spots), "place") + " to find on a rig"
    per_kind = Counter(
        source.kind for one in library.procedures.values() for source in one.sources
    )
    yield _count(per_kind.total(), "source")
    for kind in SOURCE_KINDS:
        yield f"  {per_kind[kind]:4} {kind}"
    lacking = list(lacking_source(library))
    yield f"Without a source: {_count(len(lacking), 'figure')}"
    for place in lacking:
        yield f"  {place}"


def lacking_source(library: Library) -> Iterator[str]:
    """`file: key: figure` of each figure without a source."""
    for one in library.procedures.values():
        for figure in unsourced(one):
            yield f"{one.system}.toml: {one.key}: {figure}"


def _count(number: int, what: str) -> str:
    return f"{number} {what}" if number == 1 else f"{number} {what}s"
