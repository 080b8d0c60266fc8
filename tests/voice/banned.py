"""Words and forms that no page, mail, print or command may say, and what to say then.

`WORDS` hold for everything a user reads; `FORMS` for what is shown, where a country's
own form of dates, clocks and money has been applied.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass

WORDS = {
    r"\banew\b": "again, or start over",
    r"\bby (itself|themselves)\b(?!:)": "on its own, or name who does it",
    r"\bno more\b(?! than)": "not anymore",
    r"\b(is|are|was|were) to be\b": "should be, or the act",
    r"\bwhat came of\b": "the result",
    r"\bof before\b": "earlier",
    r"\bthose that\b": "name the things",
    r"\bwhat has no\b": "name the things",
    r"\bput right\b": "fixed",
    r"\blive with it\b": "leave it as is",
    r"\bwalk-round\b": "walk-around",
    r"\bsittings\b": "work session",
    r"\breckon\w*": "calculate",
    r"\bdoubtful\b": "questionable",
    r"\btyres?\b": "tire",
    r"\blamps?\b": "light",
    r"\bon stands\b": "on jack stands",
    r"\blogged twice\b": "merge duplicate",
    r"\bfall(s|en)? silent\b": "no reminders",
    r"\b[Gg]ive a reading\b": "new reading",
    r"\bgrey\b": "gray",
    r"\bcolour|\bmetre|\bkilometre|\blitre|\blicence\b|\bcentre\b": "American spelling",
    r"This field is required|Enter a valid |Select a valid choice": "our own words",
    r"\bfree of charge\b|\bwhilst\b|\bspanner\b|\bpetrol\b|\btorch\b": "American words",
}
MONTHS = "Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec"
FORMS = {
    rf"\b\d{{1,2}} ({MONTHS})[a-z]* \d{{4}}\b": "the month first",
    r"\b20\d\d-\d\d-\d\d\b": "a date in words",
    r"\b(USD|US\$)\b": "$",
    r"\b([01]\d|2[0-3]):[0-5]\d\b(?! ?[AP]M)": "a clock with AM or PM",
    r"\b[Aa]utumn\b": "fall",
    r"\b[1-9]\d{3,} days\b": "years",
}


@dataclass(frozen=True, slots=True)
class Slip:
    where: str
    said: str
    instead: str

    def __str__(self) -> str:
        return f"{self.where}: “{self.said}”: {self.instead}"


def slips_in(text: str, where: str, patterns: dict[str, str]) -> Iterator[Slip]:
    for pattern, instead in patterns.items():
        for found in re.finditer(pattern, text):
            start, end = max(0, found.start() - 40), found.end() + 40
            yield Slip(where, text[start:end].strip(), instead)
