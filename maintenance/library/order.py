"""In which order work is done that is done in one run."""

from collections.abc import Iterable

from maintenance.core.order import needs_order
from maintenance.library.model import Library


def run_order(library: Library, keys: Iterable[str], system: str) -> list[str]:
    """The keys, each once, each after what its procedure needs first.

    As far as that leaves it open, the work of `system` (what the run is for) comes
    first, then the rest, both as the library has them; what is not in the library
    comes last, in the order given.
    """
    procedures = library.procedures
    of_system = sorted(procedures, key=lambda key: procedures[key].system != system)
    known = {key: n for n, key in enumerate(of_system)}
    in_library = sorted(keys, key=lambda key: known.get(key, len(known)))
    needs = {key: one.needs_first for key, one in procedures.items()}
    return needs_order(in_library, needs)
