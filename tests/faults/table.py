"""The register of faults: each is a function with a decorator, in any module of this
folder or of `tests/faults/data/`; nothing else lists them.

What a fault returns is the outcome in words. It raises AssertionError where that is not
what must come of it, and NotRun where the machine does not allow the fault.
"""

import importlib
import pkgutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

Strike = Callable[[Any], str]


class NotRun(Exception):
    """Why a fault cannot be tried on this machine."""


@dataclass(frozen=True, slots=True)
class Fault:
    """`strike` takes the running processes (`house.House`) or, `on_data`, a data folder
    of its own (`place.Place`). One that is not `quick` is left out of the suite."""

    name: str
    strike: Strike
    on_data: bool
    quick: bool

    def is_asked_for(self, words: str) -> bool:
        """By its name in the table, or by that of its function."""
        return words in self.name or words in self.strike.__name__


_FAULTS: dict[str, Fault] = {}


def process_fault(name: str) -> Callable[[Strike], Strike]:
    """Registers a fault that strikes running processes: it takes a House."""
    return _register(name, on_data=False, quick=False)


def data_fault(name: str, *, quick: bool = True) -> Callable[[Strike], Strike]:
    """Registers a fault that strikes a data folder: it takes a Place."""
    return _register(name, on_data=True, quick=quick)


def _register(name: str, *, on_data: bool, quick: bool) -> Callable[[Strike], Strike]:
    def decorate(strike: Strike) -> Strike:
        assert name not in _FAULTS, f"two faults are called {name}"
        _FAULTS[name] = Fault(name, strike, on_data, quick)
        return strike

    return decorate


def faults_on_processes() -> Iterator[Fault]:
    importlib.import_module("tests.faults.faults")
    return (fault for fault in _FAULTS.values() if not fault.on_data)


def faults_on_data() -> Iterator[Fault]:
    import tests.faults.data as folder  # noqa: PLC0415  (its modules import this one)

    for module in sorted(each.name for each in pkgutil.iter_modules(folder.__path__)):
        importlib.import_module(f"{folder.__name__}.{module}")
    return (fault for fault in _FAULTS.values() if fault.on_data)
