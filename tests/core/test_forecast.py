"""Dates from a meter's own use: what is passed, what is given, what is in doubt."""

from datetime import date, timedelta
from decimal import Decimal

from maintenance.core.facts import Dates, Stay, Trip, Unit
from maintenance.core.forecast import fit
from tests.core.forecast_builders import in_order, steady

TODAY = date(2026, 5, 4)
KNOWN = Decimal(1000 + 730 * 20)  # steady(): 20 mi a day over two years


def day(text: str) -> date:
    return date.fromisoformat(text)


def test_the_same_use_in_kilometers_gives_the_same_days() -> None:
    miles = steady(TODAY)
    factor = Decimal("1.609344")
    kilometers = [(on, value * factor) for on, value in miles]
    in_miles = fit(miles, unit="mi", as_of=TODAY).reach(KNOWN + 2000)
    found = fit(kilometers, unit="km", as_of=TODAY).reach((KNOWN + 2000) * factor)
    for one, other in zip(in_order(found), in_order(in_miles), strict=True):
        assert abs((one - other).days) <= 2


def test_hours_of_a_generator() -> None:
    hours = steady(TODAY, per_day=0.5)
    use = fit(hours, unit="h", as_of=TODAY)
    likely = use.reach(hours[-1][1] + 50).likely
    assert likely is not None
    assert 85 <= (likely - TODAY).days <= 115  # 50 h at half an hour a day


def test_a_value_already_reached_gives_its_day() -> None:
    readings = [
        (day("2026-01-01"), Decimal(1000)),
        (day("2026-01-11"), Decimal(1100)),
        (day("2026-03-01"), Decimal(1100)),
        (day("2026-03-11"), Decimal(1200)),
    ]
    use = fit(readings, unit="mi", as_of=TODAY)
    on = {value: use.reach(Decimal(value)) for value in (900, 1000, 1050, 1100, 1150)}
    assert on[1000] == Dates(*[day("2026-01-01")] * 3)
    assert on[900] == on[1000]  # by the first reading at the latest
    assert on[1050] == Dates(*[day("2026-01-06")] * 3)
    assert on[1100] == Dates(*[day("2026-01-11")] * 3)  # the first day with it
    assert on[1150] == Dates(*[day("2026-03-06")] * 3)


def test_a_value_reached_between_readings_round_a_stay() -> None:
    readings = [(day("2026-01-01"), Decimal(0)), (day("2026-01-31"), Decimal(100))]
    stay = Stay(day("2026-01-06"), day("2026-01-26"))
    use = fit(readings, unit="mi", as_of=TODAY, stays=[stay])
    # Ten days in use, 10 mi each: five before the stay, five after it.
    assert use.reach(Decimal(40)).likely == day("2026-01-05")
    assert use.reach(Decimal(70)).likely == day("2026-01-28")


def test_nothing_expected_lies_before_today() -> None:
    readings = steady(TODAY - timedelta(days=60))
    dates = fit(readings, unit="mi", as_of=TODAY).reach(KNOWN + 100)
    assert dates.early == dates.likely == TODAY


def test_a_planned_stay_is_taken_as_given() -> None:
    stay = Stay(day("2026-06-01"), None, planned_until=day("2026-09-01"))
    use = fit(steady(TODAY), unit="mi", as_of=TODAY, stays=[stay])
    free = fit(steady(TODAY), unit="mi", as_of=TODAY)
    for found, without in zip(
        in_order(use.reach(KNOWN + 2000)),
        in_order(free.reach(KNOWN + 2000)),
        strict=True,
    ):
        assert found == without + timedelta(days=92)
    band = {on: middle for on, _low, middle, _high in use.band(day("2026-10-01"), 1)}
    assert band[day("2026-05-31")] == band[day("2026-08-31")]


def test_a_planned_end_that_has_passed_is_void() -> None:
    passed = Stay(day("2026-01-01"), None, planned_until=day("2026-04-01"))
    no_end = Stay(day("2026-01-01"))
    readings = steady(day("2025-12-30"))
    found = [
        fit(readings, unit="mi", as_of=TODAY, stays=[stay]).reach(KNOWN + 100)
        for stay in (passed, no_end)
    ]
    assert found[0] == found[1] == Dates(None, None, None)


def test_a_trip_is_taken_as_given() -> None:
    trip = Trip(day("2026-05-10"), day("2026-05-19"), Decimal(3000))
    use = fit(steady(TODAY), unit="mi", as_of=TODAY, trips=[trip])
    dates = use.reach(KNOWN + 1600)  # some 100 mi before it, then 300 mi a day
    assert all(day("2026-05-14") <= one <= day("2026-05-16") for one in in_order(dates))


def test_a_trip_in_the_other_unit() -> None:
    def after(distance: Decimal, unit: Unit) -> list[date]:
        trip = Trip(day("2026-05-10"), day("2026-05-19"), distance, unit)
        use = fit(steady(TODAY), unit="mi", as_of=TODAY, trips=[trip])
        return in_order(use.reach(KNOWN + 1600))

    # 1 mi = 1.609344 km, the international mile of 1959.
    assert after(Decimal("4828.032"), "km") == after(Decimal(3000), "mi")


def test_a_trip_under_way_counts_with_what_is_left_of_it() -> None:
    trip = Trip(TODAY - timedelta(days=9), TODAY + timedelta(days=10), Decimal(2000))
    band = fit(steady(TODAY), unit="mi", as_of=TODAY, trips=[trip]).band(
        TODAY + timedelta(days=10), 10
    )
    assert [round(value) for value in band[-1][1:]] == [round(KNOWN) + 1000] * 3


def test_the_band_starts_today_and_ends_on_the_day_asked() -> None:
    use = fit(steady(TODAY), unit="mi", as_of=TODAY)
    band = use.band(TODAY + timedelta(days=30))
    assert [row[0] for row in band] == [
        TODAY + timedelta(days=d) for d in (0, 7, 14, 21, 28, 30)
    ]
    assert band[0][1:] == (float(KNOWN),) * 3
    assert all(low <= middle <= high for _on, low, middle, high in band)
    assert use.band(TODAY - timedelta(days=1)) == []


def test_the_band_agrees_with_the_dates() -> None:
    use = fit(steady(TODAY), unit="mi", as_of=TODAY)
    dates = use.reach(KNOWN + 1500)
    rows = {row[0]: row[1:] for row in use.band(TODAY + timedelta(days=365), 1)}
    for column, on in ((2, dates.early), (1, dates.likely), (0, dates.late)):
        assert on is not None
        assert rows[on][column] >= float(KNOWN) + 1500
        assert rows[on - timedelta(days=1)][column] < float(KNOWN) + 1500
