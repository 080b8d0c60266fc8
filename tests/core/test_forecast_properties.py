"""What holds for any readings, stays and trips: order, no chance, no error."""

from datetime import date, timedelta
from decimal import Decimal
from itertools import pairwise

from hypothesis import given, settings
from hypothesis import strategies as st

from maintenance.core.facts import Dates, Stay, Trip
from maintenance.core.forecast import Use, fit
from tests.core.forecast_builders import NEVER, Readings, in_order

AS_OF = date(2026, 5, 4)
LIMIT = AS_OF + timedelta(days=15 * 366)
AHEAD = (1, 400, 3000, 12_000)

days = st.integers(-1500, 900).map(lambda n: AS_OF + timedelta(days=n))
spans = st.tuples(days, st.integers(0, 400))
few = settings(max_examples=60, deadline=None)


@st.composite
def a_history(draw: st.DrawFn, fewest: int = 1) -> Readings:
    """Readings up to AS_OF: in clusters, far apart, with and without use."""
    steps = draw(
        st.lists(
            st.tuples(st.integers(1, 90), st.integers(0, 60)),
            min_size=fewest - 1,
            max_size=30,
        )
    )
    on = AS_OF - timedelta(days=sum(gap for gap, _ in steps) + draw(st.integers(0, 40)))
    value, readings = 500, [(on, Decimal(500))]
    for gap, per_day in steps:
        on, value = on + timedelta(days=gap), value + gap * per_day
        readings.append((on, Decimal(value)))
    return readings


@st.composite
def a_stay(draw: st.DrawFn) -> Stay:
    start, length = draw(spans)
    end = start + timedelta(days=length)
    if end <= AS_OF and draw(st.booleans()):
        return Stay(start, until=end)
    return Stay(start, planned_until=end if draw(st.booleans()) else None)


@st.composite
def a_trip(draw: st.DrawFn) -> Trip:
    start, length = draw(spans)
    distance = draw(st.none() | st.integers(0, 9000).map(Decimal))
    return Trip(start, start + timedelta(days=length), distance)


stays = st.lists(a_stay(), max_size=4)
trips = st.lists(a_trip(), max_size=3)


def fitted(readings: Readings, stays: list[Stay], trips: list[Trip]) -> Use:
    return fit(readings, unit="mi", as_of=AS_OF, stays=stays, trips=trips)


@few
@given(a_history(), stays, trips)
def test_in_order_never_past_never_absurd(
    readings: Readings, stays: list[Stay], trips: list[Trip]
) -> None:
    use = fitted(readings, stays, trips)
    for more in AHEAD:
        found = in_order(use.reach(readings[-1][1] + more))
        assert found == sorted(found)
        assert all(AS_OF <= day <= LIMIT or day == NEVER for day in found)


@few
@given(a_history(), stays, trips)
def test_a_higher_value_is_never_reached_sooner(
    readings: Readings, stays: list[Stay], trips: list[Trip]
) -> None:
    use = fitted(readings, stays, trips)
    top = int(readings[-1][1]) + 5000
    found = [in_order(use.reach(Decimal(v))) for v in range(300, top, 97)]
    for one in zip(*found, strict=True):
        assert list(one) == sorted(one)


@few
@given(a_history(), stays, trips)
def test_a_value_passed_has_one_day_between_the_readings_around_it(
    readings: Readings, stays: list[Stay], trips: list[Trip]
) -> None:
    use = fitted(readings, stays, trips)
    for (before, low), (after, high) in pairwise(readings):
        middle = (low + high) / 2
        found = use.reach(middle)
        assert found == Dates(found.likely, found.likely, found.likely)
        assert found.likely is not None
        assert found.likely <= after
        assert found.likely >= before or low == high


@few
@given(a_history(), stays, trips)
def test_no_chance_enters(
    readings: Readings, stays: list[Stay], trips: list[Trip]
) -> None:
    first, again = fitted(readings, stays, trips), fitted(readings, stays, trips)
    assert (first.low, first.mid, first.high) == (again.low, again.mid, again.high)
    assert first.why == again.why


@few
@given(a_history(fewest=2), st.integers(1, 1500))
def test_more_use_never_delays(readings: Readings, more: int) -> None:
    """The same readings but the last, which is higher: the likely day is not later,
    by no more than a day and a tenth of the time to it. (A habit that changed and a
    season may share what is more in ways that move the rest of the year a little.)"""
    on, known = readings[-1]
    before = fitted(readings, [], [])
    after = fitted([*readings[:-1], (on, known + more)], [], [])
    for extra in AHEAD:
        likely = before.reach(known + extra).likely
        if likely is None:
            continue
        slack = timedelta(days=1 + (likely - AS_OF).days // 10)
        assert (after.reach(known + extra).likely or NEVER) <= likely + slack


@few
@given(a_history(), stays, trips)
def test_the_band_never_narrows_below_what_is_known(
    readings: Readings, stays: list[Stay], trips: list[Trip]
) -> None:
    known = float(readings[-1][1])
    band = fitted(readings, stays, trips).band(AS_OF + timedelta(days=400), 13)
    for _on, low, middle, high in band:
        assert known <= low <= middle <= high
