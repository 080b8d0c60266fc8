"""Propane cylinders: when one is to be requalified, by the last mark on its collar.

49 CFR 180.209(e) and (g), 180.213(f), as in force since 30 November 2020 (85 FR 68790).
Dates are months: a stamp is good to the end of its month (common practice).
"""

from dataclasses import dataclass
from datetime import date
from typing import Literal

from maintenance.core.dates import add_months, month_end

Kind = Literal["dot", "asme"]  # portable cylinder; tank built into the rig
Mark = Literal["new", "volumetric", "S", "E"]

# "12 years, then every 7" (180.209(j)) is for cylinders used as fire extinguishers.
YEARS: dict[Mark, int] = {
    "new": 12,  # the original test date alone: 180.209(e)
    "volumetric": 12,  # date and number without a letter: 180.209(e), 180.213(f)(1)
    "S": 10,  # proof pressure test: 180.209(e), 180.213(f)(4)
    "E": 5,  # recorded external look: 180.209(g), 180.213(f)(5)
}


@dataclass(frozen=True, slots=True)
class Requalification:
    """`years` from the month of `start`; `due` is the last day it may be filled."""

    start: date
    years: int
    due: date


def requalification(
    kind: Kind, made: date, *, mark: Mark = "new", marked: date | None = None
) -> Requalification | None:
    """When a cylinder is due, from its original test date or its last mark.

    None for an ASME tank: it is no DOT cylinder and has no such date. Raises
    `ValueError` for a mark without its month, or one before the cylinder was made.
    """
    if kind == "asme":
        return None
    if mark != "new" and marked is None:
        raise ValueError("Enter the month of the last requalification mark.")
    if marked is not None and marked < made:
        raise ValueError("The mark can't be older than the cylinder. Check both dates.")
    start = made if mark == "new" or marked is None else marked
    years = YEARS[mark]
    return Requalification(start, years, month_end(add_months(start, 12 * years)))
