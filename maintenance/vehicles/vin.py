"""What a vehicle identification number tells, in words. Nothing here blocks: a number
from abroad need not pass, and one from before 1981 has another form."""

from maintenance.core.calculators.vin import (
    VinCheck,
    check_vin,
    model_year,
    years_of_code,
)

YEAR_PLACE = 9  # counted from 0


def vin_remarks(vin: str, year: int | None) -> list[str]:
    """What to look at once more: the number itself, and the model year it tells."""
    if not vin:
        return []
    check = check_vin(vin)
    problem = _problem(check)
    if problem:
        return [problem]
    return [remark] if (remark := _year_remark(check.vin, year)) else []


def _problem(check: VinCheck) -> str:
    again = "Saved anyway. Check it against the plate."
    if check.problem == "length":
        text = "The VIN has %(n)d characters; since 1981 it has 17."
        return f"{text % {'n': len(check.vin)}} {again}"
    if check.problem == "alphabet":
        text = "A VIN never has the characters %(strange)s: read 1 for I, 0 for O or Q."
        return f"{text % {'strange': ', '.join(check.strange)}} {again}"
    if check.problem == "check_digit":
        text = (
            "The VIN doesn't pass its check: its ninth character would be "
            "%(expected)s (49 CFR 565.15). VINs from outside North America "
            "may not pass."
        )
        return f"{text % {'expected': check.expected}} {again}"
    return ""


def _year_remark(vin: str, year: int | None) -> str:
    """The year by places 10 and 7; 30 years apart where place 7 need not tell."""
    years, told = years_of_code(vin[YEAR_PLACE]), model_year(vin)
    if years is None or year in years:
        return ""
    values = {"told": told, "other": years[0] if told == years[1] else years[1]}
    if year is None:
        proposed = (
            "By its VIN, the model year is %(told)s: enter it if that's "
            "right. On a trailer, or above 10,000 lb (4,536 kg), it may also "
            "be %(other)s (49 CFR 565.15)."
        )
        return proposed % values
    return (
        f"By its VIN, the model year is {values['told']} or "
        f"{values['other']}, not {year}. Saved anyway."
    )
