"""Measures as people type them and read them."""

import re
from contextvars import ContextVar
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Context, Decimal

from maintenance.core.units.conversion import refuse_other_quantity
from maintenance.core.units.names import BY_SPELLING, bare, find_unit, plain
from maintenance.core.units.table import UNITS, UnitError

MOST_DIGITS = 18  # more than any meter, scale or invoice shows

# What groups thousands and what marks decimals in numbers that are shown and typed; who
# knows the reader's country sets it.
NUMBER_MARKS = ContextVar("number marks", default=(",", "."))

_WIDE = Context(prec=80)


@dataclass(frozen=True, slots=True)
class Measure:
    """A value with the unit it was given in."""

    value: Decimal
    unit: str


_MEASURE = re.compile(r"([+-]?(?:[0-9][0-9.,' ]*|[.,][0-9]+))(.*)")
_GROUPED = re.compile(r"[0-9]{1,3}(?P<mark>[.,' ])[0-9]{3}(?:(?P=mark)[0-9]{3})*")


def parse_number(text: str, *, decimal_comma: bool | None = None) -> Decimal:
    """The number a person typed, with comma or point; `UnitError` says what is wrong.

    1. Both marks: the last one is the decimal mark, the other groups thousands.
    2. One mark more than once: it groups thousands.
    3. A single mark: the locale's decimal mark is just that. The other one groups
       thousands where it can (one to three digits, the first not 0, before it and
       three after it): `42,310` is 42310; with `decimal_comma` it is `42.310` that is.
       Where it cannot, it is a decimal mark all the same: `42310,5`, `0,125`.
    4. A space or an apostrophe groups thousands. Groups have three digits.
    """
    signed = plain(text)
    body = signed[1:] if signed.startswith(("+", "-")) else signed
    whole, decimals = _split(body, _decimal_mark(decimal_comma))
    digits = re.sub(r"[.,' ]", "", whole) if _GROUPED.fullmatch(whole) else whole
    if re.fullmatch(rf"[0-9]{{1,{MOST_DIGITS}}}", digits + decimals) is None:
        raise UnitError(_not_a_number(text))
    size = Decimal(digits + decimals).scaleb(-len(decimals))
    return -size if signed.startswith("-") else size


def _decimal_mark(decimal_comma: bool | None) -> str:
    if decimal_comma is None:
        return NUMBER_MARKS.get()[1]
    return "," if decimal_comma else "."


def _split(body: str, mark: str) -> tuple[str, str]:
    """Whole part, still grouped, and decimals of a number without its sign."""
    used = [sign for sign in body if sign in ".,"]
    if not used or used.count(used[-1]) > 1:
        return body, ""
    foreign = len(used) == 1 and used[0] != mark
    if foreign and _GROUPED.fullmatch(body) and not body.startswith("0"):
        return body, ""
    whole, _, decimals = body.rpartition(used[-1])
    return whole, decimals


def _not_a_number(text: str) -> str:
    example = in_marks("42,310.5")
    if not text.strip():
        return f"Enter a number, like 42310 or {example}."
    return f"“{text.strip()}” isn't a number. Enter it like 42310 or {example}."


def parse_measure(
    text: str, default_unit: str, *, decimal_comma: bool | None = None
) -> Measure:
    """What a person typed, such as `42,310.5 mi`, `90 ft-lb` or `5/32 in`.

    Without a unit it is in `default_unit`; a unit of another quantity is refused.
    The value stays in the unit it was typed in. Numbers as in `parse_number`.
    """
    match = _MEASURE.fullmatch(plain(text))
    if match is None:
        raise UnitError(_not_a_number(text))
    number, spelled = match[1].strip(), match[2].strip()
    if spelled.startswith("/") and bare(spelled) not in BY_SPELLING:
        raise UnitError(
            f"“{text.strip()}” is a fraction. Enter it with decimals, like "
            "0.5; only thirty-seconds of an inch can be a fraction, like "
            "5/32."
        )
    default = UNITS[find_unit(default_unit)]
    unit = UNITS[find_unit(spelled or default_unit, quantity=default.quantity)]
    refuse_other_quantity(unit, default)
    return Measure(parse_number(number, decimal_comma=decimal_comma), unit.symbol)


def show_number(value: Decimal | int, *, places: int = 1) -> str:
    """`42,310.5`: thousands grouped, rounded half up, no idle zeros, no minus zero."""
    step = Decimal(1).scaleb(-places)
    rounded = Decimal(value).quantize(step, rounding=ROUND_HALF_UP, context=_WIDE)
    text = f"{rounded:,f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text == "-0" else in_marks(text)


def in_marks(text: str) -> str:
    """A number written as `42,310.5`, with the marks of the reader's country."""
    group, point = NUMBER_MARKS.get()
    return text.translate({ord(","): group, ord("."): point})


def show(value: Decimal, unit: str, *, places: int = 1) -> str:
    """`42,310.5 mi`, `5/32 in`: number as in `show_number`, with its unit."""
    symbol = find_unit(unit)
    number = show_number(value, places=places)
    return number + "/32 in" if symbol == "1/32 in" else f"{number} {symbol}"
