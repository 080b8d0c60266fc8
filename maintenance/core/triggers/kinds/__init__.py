"""The kinds of triggers, a module each. Every module here is one: `KIND` in it."""

from importlib import import_module
from pkgutil import iter_modules

from maintenance.core.triggers.kind import Kind

KINDS: tuple[type[Kind], ...] = tuple(
    import_module(f"{__name__}.{one.name}").KIND for one in iter_modules(__path__)
)
# The names of what follows an event: each of its windows is a check of its own.
FOLLOW_UPS = frozenset(kind.key for kind in KINDS if kind.hangs_on == "event")
