"""The use of a rig: a chart with its band, and its numbers as a table."""

from datetime import timedelta

import pytest
from django.urls import reverse

from maintenance.plans.use import timeline_of, uses_of
from maintenance.ui.charts import draw_band
from maintenance.vehicles.models import MeterReplacement
from tests import builders
from tests.builders import TODAY


@pytest.fixture
def keeper(db, clock):
    clock("2026-05-04 12:00", "America/Denver")
    return builders.make_member()


@pytest.fixture
def rig(keeper):
    rig = builders.make_rig(keeper.household)
    for month in range(24):
        day = TODAY - timedelta(days=30 * month)
        builders.make_reading(rig, day, 42000 - 800 * month)
    return rig


def test_use_carries_on_from_the_last_reading(rig):
    table = uses_of(timeline_of(rig, TODAY))["odometer"].table

    on, low, likely, high = table[-1]
    assert on > TODAY + timedelta(days=300)
    assert 42000 < low <= likely <= high
    # 800 miles in 30 days make 9,733 in 365; the estimate may be a fifth off.
    assert 0.8 * 9733 < likely - 42000 < 1.2 * 9733


def test_use_is_told_as_the_present_meter_shows_it(rig):
    MeterReplacement.objects.create(
        meter=rig.meters.get(), on=TODAY, old_final=42000, new_start=0
    )

    use = uses_of(timeline_of(rig, TODAY))["odometer"]

    assert use.chart.known[-1] == (TODAY, 42000)
    assert use.table[0][1] < 1000


def test_use_without_a_reading_says_what_to_do(client_as, keeper):
    rig = builders.make_rig(keeper.household)

    page = client_as(keeper).get(reverse("rig_use", args=[rig.pk]))

    assert "No reading yet" in page.content.decode()


def test_chart_is_drawn_in_the_page_and_by_itself(client_as, keeper, rig):
    client = client_as(keeper)

    page = client.get(reverse("rig_use", args=[rig.pk])).content.decode()
    alone = client.get(reverse("use_chart", args=[rig.pk, "odometer"]))

    drawn = alone.content.decode()
    assert "band-known" in drawn
    assert "<html" not in drawn
    assert "band-known" in page


def test_chart_of_a_year_begins_with_what_was_known_then(rig):
    chart = uses_of(timeline_of(rig, TODAY))["odometer"].chart
    day = chart.known[5][0] + timedelta(days=3)

    known = chart.since(day).known

    assert known[0] == (day, chart.known[5][1])
    assert known[1:] == chart.known[6:]


def test_chart_of_a_meter_that_the_rig_lacks_is_not_found(client_as, keeper, rig):
    url = reverse("use_chart", args=[rig.pk, "generator"])

    assert client_as(keeper).get(url).status_code == 404


def test_chart_is_the_same_for_the_same_input(rig):
    chart = uses_of(timeline_of(rig, TODAY))["odometer"].chart

    assert draw_band(chart) == draw_band(chart)
