"""Units: exact factors, conversion, and how people type and read a measure.

Factors are exact fractions built from the definitions (international yard and pound,
231 in³ gallon, standard gravity, International Table Btu) as NIST SP 811 (2008),
appendix B.8 lists them; SP 811 prints most of them rounded to seven digits.

A unit is named by its symbol (`ft·lbf`, `N·m`, `gal` for the US gallon, `°F`);
`find_unit` takes the usual other spellings.
"""

from maintenance.core.units.conversion import convert
from maintenance.core.units.names import find_unit, quantity_of, units_of
from maintenance.core.units.table import UNITS, Unit, UnitError
from maintenance.core.units.text import (
    NUMBER_MARKS,
    Measure,
    in_marks,
    parse_measure,
    parse_number,
    show,
    show_number,
)

__all__ = [
    "NUMBER_MARKS",
    "UNITS",
    "Measure",
    "Unit",
    "UnitError",
    "convert",
    "find_unit",
    "in_marks",
    "parse_measure",
    "parse_number",
    "quantity_of",
    "show",
    "show_number",
    "units_of",
]
