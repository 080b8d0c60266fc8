"""Vehicle identification numbers: the check digit and the model year.

49 CFR 565.13 (17 places, alphabet) and 565.15 (values, weights, check digit, year).
A number from outside North America need use neither (ISO 3779): a failed check warns
and never blocks. One that passes is no proof either: B, K and S share one value.
"""

from dataclasses import dataclass
from typing import Literal

Problem = Literal["length", "alphabet", "check_digit"]

LENGTH = 17
CHECK_PLACE, YEAR_PLACE, CYCLE_PLACE = 9, 10, 7
WEIGHTS = (8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2)  # 565.15(c) Table IV
VALUES = {  # 565.15(c) Table III; no I, O, Q (565.13(g))
    **{str(digit): digit for digit in range(10)},
    "A": 1, "B": 2, "C": 3, "D": 4, "E": 5, "F": 6, "G": 7, "H": 8,
    "J": 1, "K": 2, "L": 3, "M": 4, "N": 5, "P": 7, "R": 9,
    "S": 2, "T": 3, "U": 4, "V": 5, "W": 6, "X": 7, "Y": 8, "Z": 9,
}  # fmt: skip
YEAR_CODES = "ABCDEFGHJKLMNPRSTVWXY123456789"  # 565.15(d) Table VII, from 1980
FIRST_YEAR, CYCLE = 1980, 30


@dataclass(frozen=True, slots=True)
class VinCheck:
    """`total` and `expected` are None where the characters cannot be counted."""

    vin: str
    problem: Problem | None
    total: int | None = None
    expected: str | None = None  # the check character that the others ask for
    strange: str = ""  # characters that no such number has

    @property
    def passes(self) -> bool:
        return self.problem is None


def check_vin(text: str) -> VinCheck:
    """Check a number by 49 CFR 565.13 and 565.15(c): the sum of value times weight,
    modulo 11, is the character in place 9; a remainder of 10 is X."""
    vin = text.strip().upper()
    if len(vin) != LENGTH:
        return VinCheck(vin, "length")
    strange = "".join(sorted(set(vin) - set(VALUES)))
    if strange:
        return VinCheck(vin, "alphabet", strange=strange)
    total = sum(VALUES[c] * w for c, w in zip(vin, WEIGHTS, strict=True))
    remainder = total % 11
    expected = "X" if remainder == 10 else str(remainder)
    wrong: Problem | None = None if vin[CHECK_PLACE - 1] == expected else "check_digit"
    return VinCheck(vin, wrong, total, expected)


def years_of_code(code: str) -> tuple[int, int] | None:
    """The model years of a code in place 10, 30 years apart; None for what is none."""
    at = YEAR_CODES.find(code)
    if len(code) != 1 or at < 0:
        return None
    return FIRST_YEAR + at, FIRST_YEAR + at + CYCLE


def model_year(vin: str) -> int | None:
    """The model year by places 10 and 7: a digit in place 7 means 1980 to 2009, a
    letter 2010 to 2039 (49 CFR 565.15(d)(1)).

    Only cars, and trucks and MPVs up to 10,000 lb (4,536 kg), must follow the rule of
    place 7 (565.15(b)): of heavy motorhomes and trailers the owner is to be asked.
    """
    if len(vin) != LENGTH:
        return None
    years = years_of_code(vin[YEAR_PLACE - 1])
    if years is None:
        return None
    return years[0] if vin[CYCLE_PLACE - 1].isdigit() else years[1]
