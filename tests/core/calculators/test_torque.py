"""Torque arithmetic against published figures.

Names of sources: "Navy" is US Navy NAVEDTRA 14315, fig. 3-44; "TM" is US Army
TM 1-1500-204-23-9; K pages are engineering pages citing standard handbooks.
"""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintenance.core.calculators.answers import CalculatorError
from maintenance.core.calculators.torque import (
    Threads,
    TorqueError,
    Verdict,
    Wrench,
    adapter_setting,
    calibration,
    clamp_load,
    clamp_torque,
    deviation,
    permitted_deviation,
    tolerance_band,
    wrench_fit,
    wrench_fits_lug_work,
)
from maintenance.core.facts import (
    Calendar,
    Event,
    Item,
    Meter,
    MeterPoint,
    Reading,
    Rig,
    Standing,
    Window,
)
from maintenance.core.reckon import reckon
from maintenance.core.triggers.kinds.after import After

D = Decimal

# --- adapter ------------------------------------------------------------------------

# target, L, E, angle, expected setting, tolerance, source
ADAPTERS = [
    ("100", "12", "6", "0", "66.7", "0.05", "US Navy aviation training manual"),
    ("30", "12", "6", "0", "20", "0.005", "torque-tool information page"),
    ("30", "12", "3", "0", "24", "0.005", "light-aircraft maintenance manual"),
    ("50", "16", "2", "0", "44.44", "0.005", "hand torque-wrench manual"),
    ("80", "40", "5", "0", "71.1", "0.05", "calculator page, cm arms"),
    ("80", "40", "5", "90", "80", "0.005", "same page, 90 degrees"),
    ("475", "48", "12", "0", "380", "0.005", "computed"),
    ("100", "12", "6", "45", "73.8796", "0.0001", "computed, E cos(angle)"),
    ("100", "12", "6", "180", "200", "0.005", "computed, adapter points back"),
    ("120", "18", "0", "0", "120", "0", "computed, no extension"),
]


@pytest.mark.parametrize(
    "row", [row[:6] for row in ADAPTERS], ids=[row[6] for row in ADAPTERS]
)
def test_adapter_setting_gives_the_published_setting(row: tuple[str, ...]) -> None:
    target, length, extension, angle, expected, within = map(D, row)
    got = adapter_setting(target, length=length, extension=extension, angle=angle)
    assert abs(got - expected) <= within


ARMS = st.decimals("0.1", "100", places=1)


@given(target=ARMS, length=ARMS, short=ARMS, more=ARMS)
def test_adapter_setting_falls_as_the_adapter_grows(
    target: Decimal, length: Decimal, short: Decimal, more: Decimal
) -> None:
    shorter = adapter_setting(target, length=length, extension=short)
    longer = adapter_setting(target, length=length, extension=short + more)
    assert longer < shorter < target


@given(target=ARMS, length=ARMS, extension=ARMS, angle=st.integers(0, 180))
def test_adapter_setting_gives_a_positive_setting_or_our_error(
    target: Decimal, length: Decimal, extension: Decimal, angle: int
) -> None:
    turned = {"length": length, "extension": extension, "angle": D(angle)}
    try:
        setting = adapter_setting(target, **turned)
    except TorqueError:
        setting = None
    assert setting is None or setting > 0
    assert setting is not None or (angle > 90 and extension >= length)


@pytest.mark.parametrize(
    ("target", "length", "extension", "angle", "message"),
    [
        ("0", "12", "6", "0", "The torque must be above zero"),
        ("90", "0", "6", "0", "The length of the wrench must be above zero"),
        ("90", "NaN", "6", "0", "The length of the wrench must be above zero"),
        ("90", "12", "-1", "0", "The length of the adapter cannot be below zero"),
        ("90", "12", "NaN", "0", "The length of the adapter cannot be below zero"),
        ("90", "12", "6", "181", "between -180 and 180"),
        ("90", "12", "12", "180", "must be shorter than the wrench"),
    ],
)
def test_adapter_setting_without_an_arm_is_refused(
    target: str, length: str, extension: str, angle: str, message: str
) -> None:
    with pytest.raises(TorqueError, match=message):
        adapter_setting(
            D(target), length=D(length), extension=D(extension), angle=D(angle)
        )


# --- wrench -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("full", "target", "inside", "floor"),
    [
        ("150", "25", False, "30"),  # TM table 8-1: 20 % floor is 30
        ("250", "50", True, "50"),  # TM table 8-1: on the floor
        ("150", "150", True, "30"),
        ("150", "150.1", False, "30"),
    ],
)
def test_wrench_fit_older_rule_starts_at_a_fifth_of_full_scale(
    full: str, target: str, inside: bool, floor: str
) -> None:
    fit = wrench_fit(Wrench(D(full), "ft·lbf"), D(target), "ft·lbf")
    assert fit.from_floor is inside
    assert fit.floor == D(floor)


@pytest.mark.parametrize(
    ("low", "target", "verdict", "newer"),
    [
        ("30", "25", "below_scale", False),
        ("30", "30", "fits", True),
        # ISO 6789-1:2017, as a maker tells it (common practice): from the lowest mark
        ("10", "25", "low_end", True),
        ("10", "10", "low_end", True),
        ("10", "9.9", "below_scale", False),
        ("10", "150", "fits", True),
        ("10", "151", "above_scale", False),
        ("50", "40", "below_scale", False),  # above 20 %, yet below the scale
    ],
)
def test_wrench_fit_newer_rule_starts_at_the_lowest_mark(
    low: str, target: str, verdict: Verdict, newer: bool
) -> None:
    fit = wrench_fit(Wrench(D(150), "ft·lbf", D(low)), D(target), "ft·lbf")
    assert (fit.verdict, fit.from_lowest_mark, fit.covers) == (verdict, newer, newer)


@pytest.mark.parametrize(
    ("target", "verdict", "covers"),
    [("25", "low_end", False), ("30", "fits", True), ("151", "above_scale", False)],
)
def test_wrench_fit_without_a_lowest_mark_goes_by_the_older_rule(
    target: str, verdict: Verdict, covers: bool
) -> None:
    fit = wrench_fit(Wrench(D(150), "ft·lbf"), D(target), "ft·lbf")
    assert (fit.verdict, fit.from_lowest_mark, fit.covers) == (verdict, None, covers)


def test_wrench_fit_compares_in_the_unit_of_the_wrench() -> None:
    fit = wrench_fit(Wrench(D(210), "N·m", D(40)), D(150), "ft·lbf")
    assert fit.target.quantize(D("0.0001")) == D("203.3727")  # exact definitions
    assert fit.verdict == "fits"


# TM para 8-3: best from 30 to 80 % of the range.
@pytest.mark.parametrize(
    ("target", "best"), [("29", False), ("30", True), ("80", True), ("81", False)]
)
def test_wrench_fit_best_part_is_the_middle(target: str, best: bool) -> None:
    fit = wrench_fit(Wrench(D(100), "N·m"), D(target), "N·m")
    assert fit.in_best_part is best


@pytest.mark.parametrize(
    ("full", "low", "target", "message"),
    [
        ("150", "30", "0", "The torque must be above zero"),
        ("150", "30", "NaN", "The torque must be above zero"),
        ("0", None, "90", "full scale of the wrench must be above zero"),
        ("150", "150", "90", "lowest mark must lie below the full scale"),
        ("150", "-1", "90", "lowest mark must lie below the full scale"),
    ],
)
def test_wrench_fit_of_an_impossible_figure_is_refused(
    full: str, low: str | None, target: str, message: str
) -> None:
    wrench = Wrench(D(full), "ft·lbf", None if low is None else D(low))
    with pytest.raises(TorqueError, match=message):
        wrench_fit(wrench, D(target), "ft·lbf")


# Half-inch drive, reaching 125 ft·lbf and covering the figure: common practice.
@pytest.mark.parametrize(
    ("wrench", "target", "fits"),
    [
        (Wrench(D(150), "ft·lbf", D(10), "1/2"), "100", True),
        (Wrench(D(125), "ft·lbf", D(10), "1/2"), "125", True),
        (Wrench(D(120), "ft·lbf", D(10), "1/2"), "100", False),
        (Wrench(D(150), "ft·lbf", D(10), "3/8"), "100", False),
        (Wrench(D(150), "ft·lbf", D(10)), "100", False),
        # 125 ft·lbf is only the floor
        (Wrench(D(150), "ft·lbf", D(10), "1/2"), "165", False),
        (Wrench(D(600), "ft·lbf", D(100), "3/4"), "475", True),
        (Wrench(D(600), "ft·lbf", D(200), "3/4"), "100", False),
        # 125 ft·lbf = 169.48 N·m
        (Wrench(D(170), "N·m", D(30), "1/2"), "100", True),
        (Wrench(D(169), "N·m", D(30), "1/2"), "100", False),
    ],
)
def test_wrench_fits_lug_work_asks_for_drive_reach_and_figure(
    wrench: Wrench, target: str, fits: bool
) -> None:
    assert wrench_fits_lug_work(wrench, D(target), "ft·lbf").fits is fits


# --- accuracy and calibration -------------------------------------------------------


@pytest.mark.parametrize(
    ("value", "percent", "low", "high"),
    [
        ("120", "4", "115.2", "124.8"),  # ISO 6789:2003, ±4 %
        ("10", "6", "9.4", "10.6"),  # ISO 6789:2003, ±6 % up to 10 N·m
        ("90", "0", "90", "90"),
    ],
)
def test_tolerance_band_gives_the_check_value(
    value: str, percent: str, low: str, high: str
) -> None:
    assert tolerance_band(D(value), D(percent)) == (D(low), D(high))


@pytest.mark.parametrize("percent", ["-1", "100", "NaN"])
def test_tolerance_band_refuses_a_percent_out_of_range(percent: str) -> None:
    with pytest.raises(TorqueError, match="from 0 to below 100"):
        tolerance_band(D(120), D(percent))


# ISO 6789:2003, type II class A, as reviewed in a torque-tool maker's manual.
@pytest.mark.parametrize(
    ("full", "unit", "percent"),
    [("10", "N·m", 6), ("10.1", "N·m", 4), ("7", "ft·lbf", 6), ("8", "ft·lbf", 4)],
)
def test_permitted_deviation_is_wider_for_small_wrenches(
    full: str, unit: str, percent: int
) -> None:
    assert permitted_deviation(D(full), unit) == percent


# ISO 6789 clause 7 (from memory).
@pytest.mark.parametrize(
    ("shown", "expected", "passes"),
    [("104.2", "-4.03", False), ("96.2", "3.95", True), ("100", "0", True)],
)
def test_deviation_is_judged_against_the_reference_reading(
    shown: str, expected: str, passes: bool
) -> None:
    off = deviation(D(100), D(shown))
    assert abs(off - D(expected)) <= D("0.01")
    assert (abs(off) <= permitted_deviation(D(200), "N·m")) is passes


# ISO 6789:2003 default: 12 months or 5,000 cycles, whichever comes first.
@pytest.mark.parametrize(
    ("as_of", "cycles", "mishap", "reasons"),
    [
        (date(2025, 3, 11), 300, False, ("time",)),
        (date(2024, 9, 1), 5000, False, ("cycles",)),
        (date(2025, 3, 9), 4999, False, ()),
        (date(2025, 3, 10), 0, False, ("time",)),
        (date(2024, 3, 10), 0, True, ("mishap",)),
        (date(2026, 1, 1), 9000, True, ("time", "cycles", "mishap")),
    ],
)
def test_calibration_is_due_by_whichever_comes_first(
    as_of: date, cycles: int, mishap: bool, reasons: tuple[str, ...]
) -> None:
    state = calibration(date(2024, 3, 10), as_of=as_of, cycles=cycles, mishap=mishap)
    assert state.reasons == reasons
    assert state.due_on == date(2025, 3, 10)
    assert state.cycles_left == max(0, 5000 - cycles)


def test_calibration_of_a_leap_day_is_due_on_the_last_of_february() -> None:
    state = calibration(date(2024, 2, 29), as_of=date(2025, 2, 27))
    assert (state.due_on, state.reasons) == (date(2025, 2, 28), ())


def test_calibration_refuses_cycles_below_zero() -> None:
    with pytest.raises(TorqueError, match="cannot be below zero"):
        calibration(date(2024, 3, 10), as_of=date(2024, 3, 11), cycles=-1)


# --- clamp load ---------------------------------------------------------------------


def test_clamp_torque_of_an_m12_bolt_gives_the_printed_torque() -> None:
    # Engineering page, prints about 82 N·m: F = 0.7 · 580 MPa · 84.3 mm², K 0.20.
    load = D("0.7") * 580 * D("84.3") / 1000
    torque = clamp_torque(load, diameter=D(12), threads="dry")
    assert abs(torque - D("82.14")) <= D("0.01")


@pytest.mark.parametrize(
    ("torque", "unit", "diameter", "threads", "load"),
    [
        ("82", "N·m", "12", "oiled", "45.56"),  # the page prints 45
        ("82", "N·m", "12", "dry", "34.17"),  # 34
        ("82", "N·m", "12", "rusty", "22.78"),  # 23
        ("475", "ft·lbf", "22", "dry", "146.37"),  # computed, M22
    ],
)
def test_clamp_load_gives_the_check_value(
    torque: str, unit: str, diameter: str, threads: Threads, load: str
) -> None:
    got = clamp_load(D(torque), unit, diameter=D(diameter), threads=threads)
    assert abs(got.nominal - D(load)) <= D("0.01")


# NASA NSTS 08307 as cited in doi 10.1007/s11668-019-00693-z: ±35 % dry, ±25 % oiled.
@pytest.mark.parametrize(
    ("threads", "low", "high"),
    [("dry", "22.21", "46.13"), ("oiled", "25.63", "42.71")],
)
def test_clamp_load_scatters_as_published(
    threads: Threads, low: str, high: str
) -> None:
    torque = clamp_torque(D("34.17"), diameter=D(12), threads=threads)
    got = clamp_load(torque, "N·m", diameter=D(12), threads=threads)
    assert abs(got.low - D(low)) <= D("0.01")
    assert abs(got.high - D(high)) <= D("0.01")


def test_clamp_load_oiled_is_a_third_more_than_dry() -> None:
    dry, oiled = (
        clamp_load(D(100), "ft·lbf", diameter=D(14), threads=threads).nominal
        for threads in ("dry", "oiled")
    )
    assert abs(oiled / dry - D(4) / 3) < D("1e-20")


@pytest.mark.parametrize("diameter", ["0", "-12", "NaN", "Infinity"])
def test_clamp_load_refuses_an_impossible_bolt(diameter: str) -> None:
    with pytest.raises(CalculatorError, match="The diameter"):
        clamp_load(D(100), "N·m", diameter=D(diameter), threads="dry")


# --- re-check after a wheel was off -------------------------------------------------


def recheck(at: str, checks: tuple[tuple[int, int], ...], now: str) -> Standing:
    """The re-check of a wheel fitted at `at` miles, at `now` miles a day later."""
    day = date(2026, 5, 1)
    pairs = tuple((D(low), D(high)) for low, high in checks)
    rig = Rig(
        meters={"odometer": Meter("mi", (Reading(day + timedelta(days=1), D(now)),))},
        items=(Item("recheck", (After("wheel_off", pairs, "odometer", "mi"),)),),
        events=(Event("wheel_off", day, {"odometer": D(at)}),),
    )
    as_of = day + timedelta(days=1)
    return reckon(rig, calendar=Calendar(), as_of=as_of).items[0]


# Chassis manuals: at the first 50 to 100 miles after any removal.
@pytest.mark.parametrize(
    ("now", "standing"),
    [("10049", "later"), ("10050", "due"), ("10100", "due"), ("10101", "overdue")],
)
def test_recheck_opens_at_50_and_is_missed_after_100_miles(
    now: str, standing: str
) -> None:
    found = recheck("10000", ((50, 100),), now)
    assert found.window == Window(
        MeterPoint("odometer", D(10050)), MeterPoint("odometer", D(10100))
    )
    assert found.standing == standing


# Owner's manuals of two towed machines: at 10, 25 and 50 miles.
def test_recheck_of_a_trailer_wheel_is_three_separate_checks() -> None:
    found = recheck("0", ((0, 10), (10, 25), (25, 50)), "0")
    closes = [pending.window.closes for pending in found.pending]
    assert closes == [MeterPoint("odometer", D(miles)) for miles in (10, 25, 50)]
