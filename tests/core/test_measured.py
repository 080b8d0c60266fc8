"""Figures by limits, by the manufacturer's figure and by their neighbors."""

from decimal import Decimal

import pytest

from maintenance.core.measured import (
    Comparison,
    Figure,
    Limits,
    Trend,
    judge_figures,
    judge_trends,
)

TREAD = "1/32 in"
GROOVES = ("inner groove", "middle groove", "outer groove")
ACROSS = Comparison(GROOVES, "wheel", "low", "uneven", TREAD, apart=Decimal(2))
MATES = Comparison(
    ("pressure",), "axle", "low", "less air", "psi", percent=Decimal(15), unfit=True
)
HUBS = Comparison(
    ("hub",), "wheels", "high", "hotter", "°F", apart=Decimal(50), unfit=True
)


def figures(name, unit, **values):
    return [
        Figure(name, Decimal(value), unit, place, place[1])
        for place, value in values.items()
    ]


def grooves(*values, place="LF"):
    pairs = zip(GROOVES, values, strict=True)
    return [Figure(name, Decimal(v), TREAD, place, place[1]) for name, v in pairs]


def found(figures, *comparisons, limits=None):
    return [
        figures[one.index].value
        for one in judge_figures(figures, lambda _figure: limits, comparisons)
    ]


@pytest.mark.parametrize(
    ("values", "odd"),
    [
        ((3, 8, 8), [3]),
        ((8, 8, 6), [6]),  # 2/32 in itself is uneven
        ((8, 8, 7), []),
        ((6, 8, 6), [6, 6]),
        ((5, 5, 5), []),
    ],
)
def test_grooves_of_one_tire_then_uneven_from_two_thirtyseconds_on(values, odd):
    assert found(grooves(*values), ACROSS) == odd


def test_grooves_of_two_tires_then_each_tire_for_itself():
    both = grooves(8, 8, 8) + grooves(4, 4, 4, place="RF")

    assert found(both, ACROSS) == []


@pytest.mark.parametrize(
    ("values", "odd"),
    [
        ({"LF": 65, "RF": 55}, [55]),  # 15.4 % less
        ({"LF": 65, "RF": 56}, []),
        ({"LF": 65, "RF": 65, "LRO": 40, "RRO": 40}, []),  # each axle its own figure
        ({"LF": 65, "RR": 40}, []),
        ({"LF": 40}, []),
    ],
)
def test_air_of_one_axle_then_left_against_right(values, odd):
    assert found(figures("pressure", "psi", **values), MATES) == odd


@pytest.mark.parametrize(
    ("values", "odd"),
    [
        ({"L1": 110, "R1": 112, "L2": 165, "R2": 114}, [165]),
        ({"L1": 110, "R1": 112, "L2": 161, "R2": 114}, []),  # 49 above the median
        ({"L1": 110, "R1": 160}, [160]),
        ({"L1": 180, "R1": 178, "L2": 181, "R2": 179}, []),  # a hot day, all alike
    ],
)
def test_hubs_then_the_one_that_stands_out(values, odd):
    assert found(figures("hub", "°F", **values), HUBS) == odd


@pytest.mark.parametrize(
    ("value", "odd"),
    # 29 CFR 1910.177(f)(4): more than 80 % of the figure may be filled on the vehicle;
    # FMVSS 138 S4.2(a): the lamp of a monitor comes on at 75 %, 48.75 psi of 65
    [("38", True), ("48.75", True), ("52", True), ("52.1", False), ("65", False)],
)
def test_air_by_the_placard_of_65_psi(value, odd):
    limits = Limits(None, None, "psi", target=Decimal(65), percent=Decimal(80))
    one = figures("pressure", "psi", LF=value)

    assert bool(found(one, limits=limits)) is odd


def test_air_in_another_unit_then_converted():
    """262 kPa are 38.0 psi: 6.894757 kPa a psi, NIST SP 811."""
    limits = Limits(None, None, "psi", target=Decimal(65), percent=Decimal(80))
    one = figures("pressure", "kPa", LF=262)

    assert found(one, limits=limits) == [262]


def test_figure_of_another_kind_then_not_judged():
    one = figures("pressure", "V", LF=12, RF=1)

    assert found(one, MATES, limits=Limits(Decimal(50), None, "psi")) == []


def test_figure_past_its_limit_then_named_once():
    one = grooves(1, 8, 8)
    limits = Limits(Decimal(2), None, TREAD)

    [deviation] = judge_figures(one, lambda _figure: limits, [ACROSS])

    assert deviation.limits == limits


# --- beside its own earlier figures: common practice, nothing is published ------------

GROWN = Trend(("tread",), "high", "grown", TREAD, apart=Decimal(3))
RESTING = Trend(("volts",), "low", "lower", "V", apart=Decimal("0.3"), usual=True)
WARMER = Trend(
    ("hub",), "high", "hotter", "°F", apart=Decimal(30), usual=True, among="wheels"
)


def asked(figures, earlier, *trends):
    return [figures[one.index].value for one in judge_trends(figures, earlier, trends)]


@pytest.mark.parametrize(
    ("before", "now", "odd"),
    [
        (4, 7, True),  # 3/32 more
        (4, 6, False),  # two readings, each off by 1/32
        (8, 4, False),  # worn
        (8, 8, False),
    ],
)
def test_tread_that_grew_then_asked_about(before, now, odd):
    earlier = [figures("tread", TREAD, LF=11), figures("tread", TREAD, LF=before)]

    assert bool(asked(figures("tread", TREAD, LF=now), earlier, GROWN)) is odd


def test_tread_of_another_wheel_or_without_a_look_before_then_nothing_is_asked():
    now = figures("tread", TREAD, LF=8)

    assert asked(now, [figures("tread", TREAD, RF=2)], GROWN) == []
    assert asked(now, [], GROWN) == []


def volts(*values):
    return [figures("volts", "V", house=value) for value in values]


@pytest.mark.parametrize(
    ("earlier", "now", "odd"),
    [
        (("12.8", "12.7", "12.8"), "12.5", True),
        (("12.8", "12.7", "12.8"), "12.6", False),  # noise
        (("12.8", "12.8"), "12.4", False),  # two are no habit
        # slowly lower: the newest five count, of them the median
        (("12.8", "12.8", "12.7", "12.6", "12.6", "12.6", "12.5"), "12.4", False),
        (("12.7", "12.4", "12.7"), "12.4", True),  # one low look is no habit
        (("12.4", "12.4", "12.4"), "12.8", False),  # higher is no matter
    ],
)
def test_volts_that_rest_lower_than_usual_then_asked_about(earlier, now, odd):
    assert bool(asked(volts(now)[0], volts(*earlier), RESTING)) is odd


def hubs(**values):
    return figures("hub", "°F", **values)


@pytest.mark.parametrize(
    ("now", "odd"),
    [
        ({"L1": 140, "R1": 108, "L2": 110}, [140]),  # 31 above the others, usually 1
        ({"L1": 139, "R1": 108, "L2": 110}, []),
        ({"L1": 190, "R1": 188, "L2": 192}, []),  # a hot day, all alike
        ({"L1": 190}, []),  # nothing to hold it against
    ],
)
def test_hub_above_its_own_habit_then_asked_about(now, odd):
    """L1 usually stands 1 °F above the median of the others."""
    earlier = [hubs(L1=x + 1, R1=x, L2=x) for x in (90, 120, 150)]

    assert asked(hubs(**now), earlier, WARMER) == odd


def test_hub_that_always_runs_warmer_then_nothing_is_asked():
    """Its brake sits in the sun: 25 °F above the others is its habit."""
    earlier = [hubs(L1=x + 25, R1=x, L2=x) for x in (90, 120, 150)]

    assert asked(hubs(L1=150, R1=110, L2=110), earlier, WARMER) == []


def test_figure_in_another_unit_then_held_against_the_trend_of_it():
    """4 mm are 5.0/32 in: 25.4 mm an inch."""
    earlier = [figures("tread", "mm", LF=4)]

    assert asked(figures("tread", TREAD, LF=8), earlier, GROWN) == []
    assert asked(figures("tread", TREAD, LF=9), earlier, GROWN) == [9]
