"""Tires: the number molded on the sidewall, its date, and what a tire may carry.

Weeks are those of 49 CFR 574.5(b)(3): week 01 is the first full week of the year, weeks
run from Sunday to Saturday, and the last may reach into the next year. They are not ISO
weeks. Loads are kilograms, speeds km/h.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from re import fullmatch
from typing import Literal

from maintenance.core.dates import add_months

Verdict = Literal["accept", "warn", "ambiguous"]
Form = Literal["new", "retread", "older", "date_only"]

FIRST_DECADE, LAST_DECADE = 1971, 1991  # a three-digit code tells the year's last digit
FIRST_INDEX = 52
PASSENGER_DIVISOR = Decimal("1.10")


class TireError(ValueError):
    """What was typed cannot be; the text is fit for a user."""


# --- date code ------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Week:
    """A week of manufacture: `start` is its Sunday, `end` its Saturday."""

    week: int
    year: int
    start: date
    end: date


@dataclass(frozen=True, slots=True)
class DateCode:
    """A date code and the weeks it can mean.

    `warn`: week 53 of a year that has 52; a maker abroad may count ISO weeks (from
    memory).
    `ambiguous`: three digits, used before July 2000, do not tell the decade.
    """

    digits: str
    verdict: Verdict
    weeks: tuple[Week, ...]
    counts_from: date  # the Sunday that the tire's age is counted from

    @property
    def at_least(self) -> bool:
        """True where the tire may be older than it is counted."""
        return self.verdict == "ambiguous"


def week_of(week: int, year: int) -> Week | None:
    """The week by the rule of 49 CFR 574.5(b)(3); None where the year has none such."""
    first = date(year, 1, 1)
    sunday = first + timedelta(days=(6 - first.weekday()) % 7)
    start = sunday + timedelta(weeks=week - 1)
    if not 1 <= week <= 53 or start.year != year:
        return None
    return Week(week, year, start, start + timedelta(days=6))


def read_date_code(text: str) -> DateCode:
    """Read the last group of a tire identification number: 3 or 4 digits.

    Four digits are week and year (49 CFR 574.5(b)(3)); three, used until July 2000, are
    week and the last digit of the year (64 FR 36807). A code that may mean several
    years counts from the latest. Raises `TireError` for anything else.
    """
    digits = text.strip()
    if not fullmatch(r"[0-9]{3,4}", digits):
        raise TireError(
            f"“{digits}” is not a date code. Enter four digits, week and year, like "
            "2318."
        )
    number = int(digits[:2])
    if not 1 <= number <= 53:
        raise TireError(f"There is no week {digits[:2]}: weeks run from 01 to 53.")
    if len(digits) == 3:
        return _three_digits(digits, number)
    year = 2000 + int(digits[2:])
    week = week_of(number, year)
    if week is None:  # counted as the year's last week, so that no age is hidden
        return DateCode(digits, "warn", (), _last_week(year).start)
    return DateCode(digits, "accept", (week,), week.start)


def _three_digits(digits: str, number: int) -> DateCode:
    years = range(FIRST_DECADE // 10 * 10, LAST_DECADE + 1, 10)
    last = int(digits[2])
    every = (decade + last for decade in years)
    weeks = tuple(found for year in every if (found := week_of(number, year)))
    if not weeks:
        raise TireError(f"No year that ends in {last} has a week {digits[:2]}.")
    return DateCode(digits, "ambiguous", weeks, weeks[-1].start)


def _last_week(year: int) -> Week:
    return week_of(53, year) or week_of(52, year)  # type: ignore[return-value]


def months_old(start: date, as_of: date) -> int:
    """Whole months since the week of manufacture began; 0 on an earlier day."""
    months = (as_of.year - start.year) * 12 + as_of.month - start.month
    if months > 0 and add_months(start, months) > as_of:
        months -= 1
    return max(months, 0)


def has_reached(start: date, years: int, as_of: date) -> bool:
    """Whether so many years have passed since the week of manufacture began."""
    return add_months(start, 12 * years) <= as_of


# --- the whole number -----------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Tin:
    """A tire identification number in its parts, as 49 CFR 574.5 orders them."""

    form: Form
    plant: str
    maker: str  # the maker's own code: size and options
    date: DateCode

    @property
    def text(self) -> str:
        """As it stands on the tire, in groups."""
        parts = (self.plant, self.maker, self.date.digits)
        return " ".join(part for part in parts if part)


def read_tin(text: str) -> Tin:
    """Split a number as typed, with or without DOT, blanks and hyphens.

    New tires: 13 symbols, 3 for the plant, 6 of the maker, 4 of the date; retreads 7,
    plant and date (49 CFR 574.5(a), rule of April 2015). Older ones 8 to 12 with two
    symbols for the plant. The date code alone is read too: the inner side of a tire
    often bears no more. Raises `TireError`.
    """
    groups = text.upper().replace("-", " ").split()
    if groups and groups[0].startswith("DOT"):
        groups[0] = groups[0][3:]
    symbols = "".join(groups)
    if not fullmatch(r"[A-Z0-9]*", symbols):
        raise TireError("Enter letters and digits only, like DOT ABCD EFGH 2318.")
    length = len(symbols)
    if length <= 4:
        return Tin("date_only", "", "", read_date_code(symbols))
    if length == 13:
        return _split(symbols, "new", plant=3, date_digits=4)
    if length == 7:
        return _split(symbols, "retread", plant=3, date_digits=4)
    if 8 <= length <= 12:
        three = len(groups[-1]) == 3 or not symbols[-4:].isdigit()
        return _split(symbols, "older", plant=2, date_digits=3 if three else 4)
    raise TireError(
        f"This has {length} symbols. A tire's number has 13, 8 to 12 before 2015,"
        " and 7 on a retread. The date code alone will do."
    )


def _split(symbols: str, form: Form, *, plant: int, date_digits: int) -> Tin:
    code = read_date_code(symbols[-date_digits:])
    return Tin(form, symbols[:plant], symbols[plant:-date_digits], code)


# --- what it may carry ----------------------------------------------------------------

# Load index 52 and up -> kg. ISO 4000-1 and UNECE R54 annex 4, as public tables agree.
LOADS = (
    200, 206, 212, 218, 224, 230, 236, 243, 250, 257, 265, 272, 280, 290, 300, 307,
    315, 325, 335, 345, 355, 365, 375, 387, 400, 412, 425, 437, 450, 462, 475, 487,
    500, 515, 530, 545, 560, 580, 600, 615, 630, 650, 670, 690, 710, 730, 750, 775,
    800, 825, 850, 875, 900, 925, 950, 975, 1000, 1030, 1060, 1090, 1120, 1150, 1180,
    1215, 1250, 1285, 1320, 1360, 1400, 1450, 1500, 1550, 1600, 1650, 1700, 1750, 1800,
    1850, 1900, 1950, 2000, 2060, 2120, 2180, 2240, 2300, 2360, 2430, 2500, 2575, 2650,
    2725, 2800, 2900, 3000, 3075, 3150, 3250, 3350, 3450, 3550, 3650, 3750, 3875, 4000,
    4125, 4250, 4375, 4500, 4625, 4750, 4875, 5000, 5150, 5300, 5450, 5600, 5800, 6000,
    6150, 6300, 6500, 6700, 6900, 7100, 7300, 7500, 7750, 8000,
)  # fmt: skip
# UNECE R30 and R54, as several tables agree. H lies between U and V.
SPEEDS = {
    "B": 50, "C": 60, "D": 65, "E": 70, "F": 80, "G": 90, "J": 100, "K": 110,
    "L": 120, "M": 130, "N": 140, "P": 150, "Q": 160, "R": 170, "S": 180, "T": 190,
    "U": 200, "H": 210, "V": 240, "W": 270, "Y": 300,
}  # fmt: skip
# Open-ended marks: the speed that the tire stands at least.
SPEEDS_ABOVE = {"ZR": 240, "(Y)": 300}
# Load range -> ply ratings in the charts. They agree up to J; from K on they do not.
PLIES: dict[str, tuple[int, ...]] = {
    "A": (2,), "B": (4,), "C": (6,), "D": (8,), "E": (10,), "F": (12,), "G": (14,),
    "H": (16,), "J": (18,), "K": (20,), "L": (20, 22), "M": (22, 24), "N": (24, 26),
}  # fmt: skip
UNSURE_RANGES = frozenset("KLMN")


def load_of(index: int) -> int:
    """Load index 52 to 180 -> kg. Raises `TireError` outside."""
    if not FIRST_INDEX <= index < FIRST_INDEX + len(LOADS):
        raise TireError(f"Load indexes run from 52 to 180, not {index}.")
    return LOADS[index - FIRST_INDEX]


@dataclass(frozen=True, slots=True)
class Service:
    """A service description: load index for a single and for a dual wheel, and the
    speed symbol; what is not given is None or empty."""

    single: int
    dual: int | None = None
    speed: str = ""


def read_service(text: str) -> Service:
    """Read `121/118S`, `129/126 L`, `97V` or `121`. Raises `TireError`."""
    found = fullmatch(
        r"(\d{2,3})(?:/(\d{2,3}))?\s*(ZR|\(Y\)|[A-Z])?", text.strip().upper()
    )
    if found is None:
        raise TireError(
            f"“{text.strip()}” is not a service description. Enter it like 121/118S: "
            "load index, load index on dual wheels, speed symbol."
        )
    single, dual, speed = found.group(1), found.group(2), found.group(3) or ""
    if speed and speed not in SPEEDS and speed not in SPEEDS_ABOVE:
        raise TireError(f"There is no speed symbol {speed}.")
    load_of(int(single))
    if dual is not None:
        load_of(int(dual))
    return Service(int(single), int(dual) if dual else None, speed)


def carries(
    service: Service, *, dual_wheel: bool, passenger: bool = False
) -> Decimal | None:
    """What a tire may carry in kg; None on a dual wheel if it names no load for that.

    `passenger`: a passenger-car tire on a truck, an MPV or a trailer, whose rating is
    divided by 1.10 before it is compared (49 CFR 571.110 S4.2.2, 571.120 S5.1.2, as an
    interpretation of NHTSA quotes them, nht76-1.47).
    """
    index = service.dual if dual_wheel else service.single
    if index is None:
        return None
    load = Decimal(load_of(index))
    return load / PASSENGER_DIVISOR if passenger else load


def axle_margin(loads: Sequence[Decimal], rating: Decimal) -> Decimal:
    """What the tires of an axle carry over its rating (GAWR), in kg; below zero they
    carry less, which 49 CFR 571.110 and 571.120 do not allow."""
    return sum(loads, Decimal(0)) - rating
