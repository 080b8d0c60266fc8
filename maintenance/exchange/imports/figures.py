"""Figures of a job as they stand in a cell: “tread: LF 5/32 in, RF 4/32 in”."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from django.core.exceptions import ValidationError

from maintenance.library.model import Measure
from maintenance.plans.measures import Measured
from maintenance.work_sheets.forms.measuring import MeasuredField

PLACE = 30  # characters, as in the form of a record
# An optional place, and last a number with its unit: “House battery 1 12.65 V”.
_FIGURE = re.compile(r"(?:(?P<place>.*\S)\s+)?(?P<value>[+-]?\d[\d.,]*(?:/32)?[^\d]*)")
_PARTS = re.compile(r"[;\n]|\.\s+")
_HAS_UNIT = re.compile(r"/32|[^\W\d_]|[%°Ω]")


@dataclass(frozen=True, slots=True)
class Figures:
    """`left` are the parts that were not understood."""

    read: tuple[Measured, ...] = ()
    left: tuple[str, ...] = ()


def read_figures(
    text: str,
    measures: Sequence[Measure],
    wheels: Sequence[str],
    *,
    in_notes: bool = False,
) -> Figures:
    """What `text` says of these measures. Figures are parted by commas, measures by
    semicolons or sentences; where a job measures one thing its name may be missing.

    `in_notes`: only what is named and has a unit is a figure; the rest are just words.
    """
    read: list[Measured] = []
    left: list[str] = []
    for part in filter(None, (one.strip(" .") for one in _PARTS.split(text))):
        try:
            read.extend(_of_part(part, measures, wheels, in_notes))
        except (LookupError, ValidationError):
            left.append(part)
    return Figures(tuple(read), () if in_notes else tuple(left))


def _of_part(
    part: str, measures: Sequence[Measure], wheels: Sequence[str], in_notes: bool
) -> list[Measured]:
    """`LookupError` or `ValidationError` where it is no list of figures."""
    measure, rest = _named(part, measures)
    if measure is None:
        if in_notes or len(measures) != 1:
            raise LookupError(part)
        measure = measures[0]
    return list(_values(rest, measure, wheels, in_notes))


def _named(part: str, measures: Sequence[Measure]) -> tuple[Measure | None, str]:
    """The measure whose name the part begins with, and what follows."""
    for one in sorted(measures, key=lambda one: -len(one.name)):
        if part.casefold().startswith(one.name.casefold()):
            return one, part[len(one.name) :].lstrip(" :=")
    return None, part


def _values(
    rest: str, measure: Measure, wheels: Sequence[str], in_notes: bool
) -> Iterator[Measured]:
    for text in re.split(r",\s+", rest):
        match = _FIGURE.fullmatch(text.strip())
        if match is None or (in_notes and not _HAS_UNIT.search(match["value"])):
            raise LookupError(text)
        value = MeasuredField(unit=measure.unit).clean(match["value"])
        place = (match["place"] or "").strip(" :=")
        if measure.per == "wheel":
            place = place.upper()
        if value is None or (measure.per == "wheel" and place not in ("", *wheels)):
            raise LookupError(text)
        yield Measured(measure.name, value, measure.unit, place[:PLACE])
