"""The day of work: today and yesterday in one tap, another by its date."""

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.http import QueryDict

TODAY, YESTERDAY, PICK = "today", "yesterday", "pick"
BACK = {TODAY: 0, YESTERDAY: 1}


@dataclass(frozen=True, slots=True)
class Days:
    """Which of the three is on."""

    chosen: str

    @property
    def choices(self) -> list[tuple[str, str, bool]]:
        words = ((TODAY, "Today"), (YESTERDAY, "Yesterday"), (PICK, "Pick"))
        return [(name, label, name == self.chosen) for name, label in words]


def days_of(on: Any, today: date) -> Days:
    """`on`: the date as the form holds it, a day or text."""
    for name, days in BACK.items():
        if str(on) == (today - timedelta(days=days)).isoformat():
            return Days(name)
    return Days(PICK)


def with_day(data: QueryDict, today: date) -> QueryDict:
    """The post, with the date that “Today” or “Yesterday” means."""
    days = BACK.get(str(data.get("when")))
    if days is None:
        return data
    data = data.copy()
    data["on"] = (today - timedelta(days=days)).isoformat()
    return data
