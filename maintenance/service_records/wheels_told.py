"""Whether work takes wheels off, also where it was told in words: then a form asks
which were off, and at what torque, before it is saved."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from maintenance.library.reading import load_library
from maintenance.library.told import told_in
from maintenance.plans.models import Outcome
from maintenance.plans.queries import procedures_of
from maintenance.vehicles.models import Rig

from .giving import raised_kinds
from .work import WHEEL_OFF, Line, checks_wheels


@dataclass(frozen=True, slots=True)
class WheelWork:
    """What takes wheels off, as it was told. `surely`: a job of the library that cannot
    be done with all wheels on; else it is a reading of somebody's words."""

    told: str
    surely: bool

    @property
    def question(self) -> str:
        return f"“{self.told}”: which wheels were off?"


def wheel_work_in(rig: Rig, lines: Iterable[Line], notes: str = "") -> WheelWork | None:
    """The first job that takes wheels off; None where nothing tells of any."""
    return WheelWords(rig).work_in(lines, notes)


class WheelWords:
    """As `wheel_work_in`, for many works of one rig with one query."""

    def __init__(self, rig: Rig) -> None:
        self.rig = rig
        self.known = procedures_of(rig.household) if rig.places else {}
        self.library = load_library().procedures
        # For any kind of rig: what somebody says was done, was done.
        self.taking = [x for x in self.library.values() if WHEEL_OFF in x.raises]

    def work_in(self, lines: Iterable[Line], notes: str = "") -> WheelWork | None:
        """A check of wheels that were off before speaks of that work without being
        it."""
        if not self.rig.places:
            return None
        lines = [line for line in lines if line.outcome != Outcome.NOT_DONE]
        for line in lines:
            if WHEEL_OFF in raised_kinds([line], self.known):
                return WheelWork(line.title, surely=True)
        if any(line.item is not None and checks_wheels(line.item) for line in lines):
            return None
        for text in (*self._texts(lines), notes):
            if text and told_in(text, self.taking):
                return WheelWork(" ".join(text.split())[:80], surely=False)
        return None

    def _texts(self, lines: Sequence[Line]) -> list[str]:
        """A job of the library says by its key what it is, not by its title."""
        of_library = self.library.keys()
        titles = [
            x.title for x in lines if x.item is None or x.item.key not in of_library
        ]
        return [*titles, *(line.note for line in lines)]
