"""The published tables that the tests check against, row by row."""

import csv
import re
from decimal import Decimal
from pathlib import Path

FOLDER = Path(__file__).parents[2] / "reference"
# a sign belongs to a number unless it parts two numbers: "6.3-7.9"
_NUMBER = re.compile(r"(?<![\d.])[-+]?\d[\d,]*(?:\.\d+)?")


def rows(name: str) -> list[dict[str, str]]:
    with (FOLDER / name).open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def numbers(text: str) -> list[Decimal]:
    """The numbers that a printed result names, in order."""
    return [Decimal(found.replace(",", "")) for found in _NUMBER.findall(text)]


def allowed(tolerance: str, printed: Decimal) -> Decimal:
    """How far a result may lie from `printed`: the tolerance given, else its digits."""
    found = re.match(r"±([\d.]+)( %)?", tolerance)
    if found is None:
        assert tolerance == "exact", tolerance
        return half_a_digit(printed)
    part = Decimal(found[1])
    return abs(printed) * part / 100 if found[2] else part


def half_a_digit(printed: Decimal) -> Decimal:
    return Decimal(5).scaleb(int(printed.as_tuple().exponent) - 1)
