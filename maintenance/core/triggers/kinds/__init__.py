"""The kinds of triggers, a module each. Every module here is one: `KIND` in it."""

from importlib import import_module
from pkgutil import iter_modules

from maintenance.core.triggers.kind import Kind

KINDS: tuple[type[Kind], ...] = tuple(
    import_module(f"{__name__}.{one.name}").KIND for one in iter_modules(__path__)
)
