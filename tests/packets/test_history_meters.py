"""What a history says of meters and readings."""

from datetime import date, timedelta
from decimal import Decimal

import pytest

from maintenance.vehicles.models import MeterReplacement, Reading, Stay
from tests.builders import make_reading, make_rig
from tests.packets.builders import make_record
from tests.packets.reading import history_of

pytestmark = pytest.mark.django_db


def meter_of(rig):
    (meter,) = history_of(rig).meters
    return meter


def test_cover_says_the_last_good_reading_with_its_day():
    rig = make_rig()
    make_reading(rig, date(2026, 4, 1), 41_800)
    make_reading(rig, date(2026, 5, 4), 42_395)

    assert history_of(rig).cover.meters == ("Odometer: 42,395\xa0mi on May 4, 2026",)


def test_replaced_odometer_is_told_and_the_true_value_added():
    rig = make_rig()
    make_reading(rig, date(2024, 1, 1), 30_000)
    MeterReplacement.objects.create(
        meter=rig.meters.get(), on=date(2024, 2, 1), old_final=Decimal(30_210)
    )
    make_reading(rig, date(2026, 5, 4), 12_185)

    meter = meter_of(rig)

    assert meter.summary == (
        "Odometer: 12,185\xa0mi on May 4, 2026; 42,395\xa0mi since new, over all meters"
    )
    assert meter.replaced == (
        "Replaced or rolled over on Feb 1, 2024: the old meter ended at 30,210\xa0mi,"
        " the new one began at 0\xa0mi.",
    )


def test_marked_readings_say_why_they_do_not_count():
    rig = make_rig()
    make_reading(rig, date(2026, 1, 1), 40_000)
    doubtful = make_reading(rig, date(2026, 2, 1), 140_000)
    withdrawn = make_reading(rig, date(2026, 3, 1), 40_900)
    make_reading(rig, date(2026, 4, 1), 41_000)
    make_reading(rig, date(2026, 4, 1), 41_010)
    Reading.objects.filter(pk=doubtful.pk).update(doubtful=True)
    Reading.objects.filter(pk=withdrawn.pk).update(withdrawn=True)

    rows = meter_of(rig).rows

    assert [(row.on, row.note) for row in rows] == [
        ("Apr 1, 2026", ""),
        ("Apr 1, 2026", "corrected the same day"),
        ("Mar 1, 2026", "withdrawn, not counted"),
        ("Feb 1, 2026", "questionable, not counted"),
        ("Jan 1, 2026", ""),
    ]


def test_many_readings_become_a_table_of_months_and_the_marked_ones():
    rig = make_rig()
    first = date(2024, 6, 1)
    for week in range(100):
        make_reading(rig, first + timedelta(days=7 * week), 30_000 + 100 * week)
    odd = make_reading(rig, date(2026, 5, 1), 99_000)
    Reading.objects.filter(pk=odd.pk).update(doubtful=True)

    meter = meter_of(rig)

    assert [row.year for row in meter.months] == [2026, 2025, 2024]
    assert meter.months[-1].values[:7] == ("", "", "", "", "", "30,400", "30,800")
    assert [row.note for row in meter.rows] == ["questionable, not counted"]


def test_year_says_distance_records_and_cost():
    rig = make_rig()
    make_reading(rig, date(2024, 12, 31), 30_000)
    make_reading(rig, date(2025, 12, 31), 38_000)
    make_reading(rig, date(2026, 5, 4), 39_500)
    make_record(rig, on=date(2025, 6, 1), total=Decimal(80))

    rows = history_of(rig).by_year

    said = [(row.year, row.use, row.records, row.paid) for row in rows]
    assert said == [
        (2026, ("1,500\xa0mi",), "0", ""),
        (2025, ("8,000\xa0mi",), "1", "$80.00"),
        (2024, ("0\xa0mi",), "0", ""),
    ]


def test_rig_without_a_meter_has_a_history_too():
    history = history_of(make_rig(meter=None))

    assert (history.meters, history.cover.meters) == ((), ())


def test_stays_say_whether_they_go_on():
    rig = make_rig()
    Stay.objects.create(rig=rig, start=date(2026, 6, 1), place="Barn")
    Stay.objects.create(rig=rig, start=date(2026, 4, 1), winterized=True)
    Stay.objects.create(rig=rig, start=date(2025, 1, 5), ended_on=date(2025, 3, 2))

    rows = [(row.on, row.what, row.note) for row in history_of(rig).stays]

    assert rows == [
        ("planned from Jun 1, 2026", "Barn", "not winterized"),
        ("Apr 1, 2026, still there", "Storage", "water system winterized"),
        ("Jan 5 \N{EN DASH} Mar 2, 2025", "Storage", "not winterized"),
    ]


def test_chart_of_use_is_carried_in_the_page_itself():
    rig = make_rig()
    make_reading(rig, date(2026, 1, 1), 40_000)
    make_reading(rig, date(2026, 5, 1), 41_000)

    assert meter_of(rig).chart.startswith("data:image/svg+xml;base64,")


def test_meter_without_a_reading_has_no_chart():
    assert meter_of(make_rig()).chart == ""


def test_questionable_figure_of_an_event_is_marked_beside_the_good_reading():
    rig = make_rig()
    make_reading(rig, date(2026, 4, 1), 40_000)
    make_reading(rig, date(2026, 5, 4), 40_380)
    event = rig.events.create(
        kind="wheel_off", on=date(2026, 5, 4), values={"odometer": "404000"}
    )
    wrong = make_reading(rig, date(2026, 5, 4), 404_000)
    Reading.objects.filter(pk=wrong.pk).update(event=event, doubtful=True)

    history = history_of(rig)

    assert history.events[0].note == "404,000\xa0mi (questionable, not counted)"
    assert [row.note for row in history.meters[0].rows] == [
        "questionable, not counted",
        "",
        "",
    ]
