"""Fire extinguishers: what is due when, by their kind.

Hydrostatic tests by 29 CFR 1910.157(f) Table L-1, the emptying every six years by
1910.157(e)(4), non-rechargeable ones by NFPA 10-2018 7.3.6.3. These bind workplaces;
for a household they are a guide. Dates are months, good to their end.
"""

from dataclasses import dataclass
from datetime import date, timedelta

from maintenance.core.dates import add_months, month_end

SIX_YEARS = 6


@dataclass(frozen=True, slots=True)
class Rules:
    """`test_years`: between hydrostatic tests; None: none is allowed or needed.
    `remove_years`: from manufacture. `obsolete`: out of service since that day."""

    words: str
    test_years: int | None
    six_year: bool = False
    remove_years: int | None = None
    obsolete: date | None = None
    source: str = "29 CFR 1910.157(f) Table L-1"


OBSOLETE = date(1982, 1, 1)
FROM_MEMORY = "NFPA 10 Table 8.3.1, from memory"
KINDS: dict[str, Rules] = {
    "dry_stored": Rules(
        "Dry chemical, stored pressure, mild steel / brazed brass / aluminum shell",
        12,
        six_year=True,
    ),
    "disposable": Rules(
        "Non-rechargeable (disposable)",
        None,
        remove_years=12,
        source="NFPA 10-2018 7.3.6.3",
    ),
    "dry_stainless": Rules("Dry chemical, stainless steel shell", 5),
    "carbon_dioxide": Rules("Carbon dioxide", 5),
    "wet_chemical": Rules("Wet chemical", 5, source=FROM_MEMORY),
    "afff": Rules("Aqueous film-forming foam (AFFF)", 5),
    "fffp": Rules("Film-forming fluoroprotein foam (FFFP)", 5, source=FROM_MEMORY),
    "water_stored": Rules("Stored-pressure water and/or antifreeze", 5),
    "water_cartridge": Rules("Cartridge-operated water and/or antifreeze", 5),
    "wetting_agent": Rules("Wetting agent", 5),
    "loaded_stream": Rules("Loaded stream", 5),
    "foam_stainless": Rules("Foam (stainless steel shell)", 5),
    "soda_acid_stainless": Rules("Soda acid (stainless steel shell)", 5),
    "dry_cartridge": Rules(
        "Dry chemical, cartridge or cylinder operated, mild steel shell", 12
    ),
    "powder_cartridge": Rules(
        "Dry powder, cartridge or cylinder operated, mild steel shell", 12
    ),
    "clean_agent": Rules(
        "Halogenated clean agents, stored pressure",
        12,
        six_year=True,
        source=FROM_MEMORY,
    ),
    "halon_1211": Rules("Halon 1211", 12, six_year=True),
    "halon_1301": Rules("Halon 1301", 12, six_year=True),
    "soda_acid_brass": Rules(
        "Soda acid (soldered brass shell)", None, obsolete=OBSOLETE
    ),
    "foam_brass": Rules("Foam (soldered brass shell)", None, obsolete=OBSOLETE),
}


@dataclass(frozen=True, slots=True)
class Dates:
    """The last day of the month by which each is due; None: it is not asked for."""

    six_year: date | None
    test: date | None
    remove: date | None


def dates_of(
    kind: str,
    made: date,
    *,
    tested: date | None = None,
    recharged: date | None = None,
) -> Dates:
    """What is due when. A recharge or a test starts the six years anew; only a test
    starts those of the test anew. Raises `KeyError` for an unknown kind."""
    rules = KINDS[kind]
    emptied = max(day for day in (made, tested, recharged) if day is not None)
    return Dates(
        six_year=_after(emptied, SIX_YEARS if rules.six_year else None),
        test=_after(tested or made, rules.test_years),
        remove=rules.obsolete or _after(made, rules.remove_years),
    )


def _after(start: date, years: int | None) -> date | None:
    return None if years is None else month_end(add_months(start, 12 * years))


def next_look(last: date) -> date:
    """The monthly look: once in each calendar month and not more than 31 days apart
    (NFPA 10-2018 7.2.1.2, 7.2.1.2.1)."""
    return min(month_end(add_months(last, 1)), last + timedelta(days=31))


def next_yearly(last: date) -> date:
    """The yearly maintenance (29 CFR 1910.157(e)(3))."""
    return add_months(last, 12)
