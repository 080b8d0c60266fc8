"""What the notices are reckoned from, and what comes out."""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Literal

from maintenance.core.facts import Standing

Stage = Literal["heads_up", "book", "due", "overdue", "safety", "withdrawn"]

# Those that a person may choose: what was told and is withdrawn is told to all who
# were told.
ALL_STAGES: frozenset[Stage] = frozenset(
    ("heads_up", "book", "due", "overdue", "safety")
)


@dataclass(frozen=True, slots=True)
class Key:
    """What makes a notice unique; `cycle` is at most 80 characters."""

    item: int
    cycle: str
    stage: Stage
    person: int

    @property
    def window(self) -> str:
        """The cycle without the number of a repeat or the day it was put off to."""
        return re.split("[#@]", self.cycle, maxsplit=1)[0]

    @property
    def number(self) -> int:
        """0 for the first notice of its stage in a cycle, then 1, 2 …"""
        return int(self.cycle.partition("#")[2] or 0)

    @property
    def put_off_to(self) -> str:
        return self.cycle.partition("@")[2]

    @property
    def event(self) -> str:
        """The name of the event that it rests on; empty where it rests on none."""
        kind, _, name = self.cycle.partition(":")
        return name if kind == "event" else ""

    def __str__(self) -> str:
        return f"{self.item}/{self.cycle}/{self.stage}/{self.person}"


@dataclass(frozen=True, slots=True)
class Told:
    key: Key
    on: date


@dataclass(frozen=True, slots=True)
class ItemNow:
    """A plan item as it stands today.

    `unfit_by`: by what it makes the rig unfit to travel now (`core/fitness.py`); empty:
    by nothing. `shop`: work of a licensed shop.
    `events`: a lasting name (at most 60 characters, such as its row's number) of each
    event whose follow-up is open. `held_until`: deferred until that day; `date.max` for
    a deferral until a meter's value. `silent_until`: while it is due because the
    rig was probably towed, nothing new is told of it before that day
    (`core/notices/not_towed.py`).
    """

    item: int
    rig: int
    standing: Standing
    safety: bool = False
    unfit_by: str = ""
    shop: bool = False
    events: tuple[str, ...] = ()
    held_until: date | None = None
    silent_until: date | None = None


@dataclass(frozen=True, slots=True)
class Person:
    """Who may be told, and what they chose.

    `drives`: may drive, and so is told at once what makes a rig unfit to travel,
    whatever else was chosen. `rigs` None: all. `held`: item -> the day until which they
    put its reminder off. `safety` among `stages` brings a safety item's due and overdue
    too, the first of each at once.
    """

    person: int
    stages: frozenset[Stage] = ALL_STAGES
    rigs: frozenset[int] | None = None
    drives: bool = False
    held: Mapping[int, date] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Notice:
    key: Key
    rig: int
    at_once: bool
