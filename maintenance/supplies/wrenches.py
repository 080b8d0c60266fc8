"""What is to be said of a torque wrench: does it fit the figure, may it be trusted."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from maintenance.core.calculators.torque import (
    CALIBRATION_CYCLES,
    DRIVES_FOR_LUGS,
    LUG_FLOOR,
    LugFit,
    Wrench,
    calibration,
    wrench_fits_lug_work,
)
from maintenance.core.units import convert, show, show_number
from maintenance.core.words import counted
from maintenance.ui.words import day_words

from .models import Tool


@dataclass(frozen=True, slots=True)
class Verdict:
    """`fits` is None while there is no figure to judge by."""

    tool: Tool
    fits: bool | None
    trusted: bool
    sentences: tuple[str, ...]


def judge_for_lugs(
    tool: Tool, today: date, figure: Decimal | None = None, unit: str = "ft·lbf"
) -> Verdict:
    """A torque wrench for wheel nuts, in sentences; without a figure only by its drive
    and its reach."""
    trusted, words = calibration_words(tool, today)
    if figure is None:
        problems = [*_drive(tool), *_reach(tool)]
        fits: bool | None = False if problems else None
    else:
        fit = wrench_fits_lug_work(_wrench(tool), figure, unit)
        problems = [*_drive(tool), *_reach(tool), *_figure(tool, fit)]
        fits = fit.fits
    return Verdict(tool, fits, trusted, (*problems, words))


def range_words(tool: Tool) -> str:
    """“10 to 150 ft·lbf”, “up to 150 ft·lbf”."""
    top = show(tool.full_scale or Decimal(0), tool.unit)
    if tool.lowest_mark is None:
        return f"up to {top}"
    low = show_number(tool.lowest_mark)
    return f"{low} to {top}"


def calibration_words(tool: Tool, today: date) -> tuple[bool, str]:
    """Whether its calibration holds, and why not. After 12 months or 5,000 clicks,
    whichever comes first (ISO 6789), and at once after a mishap."""
    if tool.mishap:
        return False, "It was dropped or overloaded: have it tested before you use it."
    if tool.calibrated_on is None:
        return (
            False,
            "Its last calibration isn't known: have it tested before you trust it.",
        )
    found = calibration(tool.calibrated_on, as_of=today, cycles=tool.cycles)
    day = day_words(found.due_on)
    if "time" in found.reasons:
        return False, f"Its calibration ran out on {day} (12 months)."
    if "cycles" in found.reasons:
        return (
            False,
            f"It has made {counted(CALIBRATION_CYCLES, 'click')}: have it calibrated.",
        )
    left = counted(found.cycles_left, "click")
    return True, f"Calibrated; good until {day} or another {left}."


def _wrench(tool: Tool) -> Wrench:
    return Wrench(
        full_scale=tool.full_scale or Decimal(0),
        unit=tool.unit,
        lowest_mark=tool.lowest_mark,
        drive=tool.drive or None,  # type: ignore[arg-type]
    )


def _drive(tool: Tool) -> Iterator[str]:
    if not tool.drive:
        yield "Its drive isn't entered: wheel nuts need half an inch or more."
    elif tool.drive not in DRIVES_FOR_LUGS:
        yield f"Its drive is {tool.drive} in: wheel nuts need half an inch or more."


def _reach(tool: Tool) -> Iterator[str]:
    if convert(tool.full_scale or Decimal(0), tool.unit, "ft·lbf") < LUG_FLOOR:
        yield (
            f"It ends at {show(tool.full_scale or Decimal(0), tool.unit)}: "
            f"use one that reaches at least {LUG_FLOOR} ft·lbf (common "
            "practice)."
        )


def _figure(tool: Tool, fit: LugFit) -> Iterator[str]:
    asked = {"figure": show(fit.fit.target, tool.unit), "range": range_words(tool)}
    if fit.fit.verdict in {"above_scale", "below_scale"}:
        yield f"{asked['figure']} is outside its range ({asked['range']})."
    elif fit.fit.verdict == "low_end":
        floor = show(fit.fit.floor, tool.unit)
        yield (
            f"{asked['figure']} is in the lowest fifth of its scale, below "
            f"{floor}, where a wrench is least accurate."
        )
    elif fit.fit.in_best_part:
        yield f"{asked['figure']} is in the best part of its scale."
    else:
        yield f"{asked['figure']} is on its scale ({asked['range']})."
