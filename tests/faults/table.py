"""The register of faults: each is a function with a decorator, in a module of
`MODULES`; nothing else lists them.

What a fault returns is the outcome in words. It raises AssertionError where that is not
what must come of it, and NotRun where the machine does not allow the fault.
"""

import importlib
import pkgutil
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

Strike = Callable[[Any], str]


class NotRun(Exception):
    """Why a fault cannot be tried on this machine."""


On = Literal["jobs", "processes", "data"]


@dataclass(frozen=True, slots=True)
class Fault:
    """`on`: what it strikes, and is given. The jobs, which are run in this process, and
    the processes of the program: a `house.House`. A data folder of its own: a
    `place.Place`. One that is not `quick` is left out of the suite."""

    name: str
    strike: Strike
    on: On
    quick: bool

    def is_asked_for(self, words: str) -> bool:
        """By its name in the table, or by that of its function."""
        return words in self.name or words in self.strike.__name__


_FAULTS: dict[str, Fault] = {}


def job_fault(name: str) -> Callable[[Strike], Strike]:
    return _register(name, on="jobs", quick=False)


def process_fault(name: str) -> Callable[[Strike], Strike]:
    return _register(name, on="processes", quick=False)


def data_fault(name: str, *, quick: bool = True) -> Callable[[Strike], Strike]:
    return _register(name, on="data", quick=quick)


def _register(name: str, *, on: On, quick: bool) -> Callable[[Strike], Strike]:
    def decorate(strike: Strike) -> Strike:
        assert name not in _FAULTS, f"two faults are called {name}"
        _FAULTS[name] = Fault(name, strike, on, quick)
        return strike

    return decorate


def faults(on: On, words: str = "") -> list[Fault]:
    """Those that are asked for. Their modules, which need the models, are loaded."""
    for name in MODULES[on]:
        importlib.import_module(f"tests.faults.{name}")
    found = (fault for fault in _FAULTS.values() if fault.on == on)
    return [fault for fault in found if fault.is_asked_for(words)]


def _modules_of_data() -> list[str]:
    folder = str(Path(__file__).with_name("data"))
    return sorted(f"data.{each.name}" for each in pkgutil.iter_modules([folder]))


MODULES: dict[On, list[str]] = {
    "jobs": ["time_faults", "reach_faults", "store_faults"],
    "processes": ["faults"],
    "data": _modules_of_data(),
}
