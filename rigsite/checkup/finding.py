"""What a check found."""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import IntEnum


class Level(IntEnum):
    """Also the exit status of `manage.py checkup`."""

    FINE = 0
    WARNING = 1  # it works, and will not for ever
    BROKEN = 2


@dataclass(frozen=True, slots=True)
class Finding:
    """`words` say how it is and, unless it is fine, what to do. `details` are for
    whoever runs the command: they may be about any household. `page` is the URL name of
    the page on which to mend it."""

    what: str
    words: str
    level: Level = Level.FINE
    details: tuple[str, ...] = ()
    page: str = ""

    @property
    def good(self) -> bool:
        return self.level == Level.FINE

    def __str__(self) -> str:
        return f"{self.what}: {self.words}"


def worst(findings: Iterable[Finding]) -> Level:
    return max((finding.level for finding in findings), default=Level.FINE)


def wrong_first(findings: Iterable[Finding]) -> list[Finding]:
    """What is not fine, the worst first."""
    wrong = [finding for finding in findings if not finding.good]
    return sorted(wrong, key=lambda finding: -finding.level)
