"""Figures beside those of before: asked about on saving and on the record's page."""

from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.urls import reverse

from maintenance.components.models import Component, Fitting
from maintenance.plans.measures import Measured
from maintenance.service_records.follow_words import words_of
from maintenance.service_records.services import record_work, void_record
from maintenance.service_records.trends import trend_questions
from maintenance.service_records.work import Line, WorkDone
from tests import builders
from tests.builders import TODAY

DAY = timedelta(days=1)


@pytest.fixture
def keeper(db, clock):
    clock("2026-05-04 12:00", "America/Denver")
    return builders.make_member()


@pytest.fixture
def rig(keeper):
    return builders.make_rig(keeper.household)


@pytest.fixture
def tread(rig):
    return builders.make_item(rig, key="tire_condition")


@pytest.fixture
def battery(rig):
    return builders.make_item(rig, key="battery_rest_volts")


def figures(name, unit, **values):
    return [Measured(name, Decimal(str(v)), unit, place) for place, v in values.items()]


def saved(keeper, item, measures, days_ago):
    """What `record_work` answers, as every door gets it."""
    work = WorkDone(
        rig=item.rig,
        on=TODAY - days_ago * DAY,
        lines=[Line(item.title, item, measures=measures)],
        doer="Mara",
        form_token=uuid4(),
    )
    return record_work(work, by=keeper, today=TODAY)


def treads(keeper, item, days_ago, **values):
    return saved(keeper, item, figures("tread", "1/32 in", **values), days_ago)


def test_tread_that_grew_then_asked_about_and_nothing_is_changed(keeper, rig, tread):
    treads(keeper, tread, 40, LF=4, RF=8)

    found = treads(keeper, tread, 2, LF=8, RF=8)

    [words] = found.follows.asked
    assert words.startswith(
        "tread LF 8/32 in: 4/32 in above last time, tread doesn't grow"
    )
    assert f"Look again: {words}" in words_of(rig, found.follows)[0]
    assert found.record.lines.get().outcome == "done"
    assert not rig.findings.exists()


def test_tread_that_wore_then_nothing_is_asked(keeper, tread):
    treads(keeper, tread, 40, LF=8)

    assert treads(keeper, tread, 2, LF=5).follows.asked == ()


def test_earlier_record_void_then_nothing_to_hold_it_against(keeper, tread):
    old = treads(keeper, tread, 40, LF=4).record
    void_record(old, by=keeper, today=TODAY, why="Wrong rig")

    assert treads(keeper, tread, 2, LF=8).follows.asked == ()


def test_work_of_the_past_then_only_what_was_before_it_counts(keeper, tread):
    treads(keeper, tread, 2, LF=4)

    assert treads(keeper, tread, 40, LF=8).follows.asked == ()


@pytest.mark.parametrize(
    ("kind", "places", "asked"),
    [
        ("wheel_off", ["LF"], False),  # it may be another tire now
        ("tire_replaced", [], False),
        ("wheel_off", ["RF"], True),
        ("battery_replaced", [], True),
    ],
)
def test_wheel_that_was_off_between_then_figures_start_anew(
    keeper, rig, tread, kind, places, asked
):
    treads(keeper, tread, 40, LF=4)
    rig.events.create(kind=kind, on=TODAY - 20 * DAY, places=places)

    assert bool(treads(keeper, tread, 2, LF=8).follows.asked) is asked


@pytest.mark.parametrize("same", [True, False])
def test_tire_kept_by_itself_then_its_own_figures_count(keeper, rig, tread, same):
    first = _tire(rig, TODAY - 400 * DAY, None if same else TODAY - 20 * DAY)
    if not same:
        _tire(rig, TODAY - 20 * DAY, None)
    rig.events.create(kind="wheel_off", on=TODAY - 20 * DAY, places=["LF"])
    treads(keeper, tread, 40, LF=4)

    assert bool(treads(keeper, tread, 2, LF=8).follows.asked) is same
    assert first.fittings.count() == 1


def _tire(rig, start, end):
    tire = Component.objects.create(
        household=rig.household, kind="tire", rig=rig, place="" if end else "LF"
    )
    Fitting.objects.create(component=tire, rig=rig, place="LF", start=start, end=end)
    return tire


def test_battery_that_rests_lower_than_usual_then_asked_about(keeper, battery):
    for n, value in enumerate(("12.8", "12.7", "12.8")):
        found = saved(
            keeper, battery, figures("rested voltage", "V", House=value), 90 - 20 * n
        )
        assert found.follows.asked == ()

    found = saved(keeper, battery, figures("rested voltage", "V", House="12.5"), 1)

    [words] = found.follows.asked
    assert "0.3 V below what is usual" in words
    assert "have it load-tested" in words


def test_battery_replaced_then_its_habit_starts_anew(keeper, rig, battery):
    for n in range(3):
        saved(keeper, battery, figures("rested voltage", "V", House="12.8"), 90 - n)
    rig.events.create(kind="battery_replaced", on=TODAY - 20 * DAY)

    found = saved(keeper, battery, figures("rested voltage", "V", House="12.5"), 1)

    assert found.follows.asked == ()


def test_record_page_asks_it_too(keeper, tread, client_as):
    treads(keeper, tread, 40, LF=4)
    record = treads(keeper, tread, 2, LF=8).record

    page = client_as(keeper).get(reverse("record", args=[record.pk]))

    assert "Look again: tread LF 8/32 in: 4/32 in above last time" in (
        page.content.decode().replace("&#x27;", "'")
    )


def test_many_records_then_as_many_queries_as_for_one(
    keeper, tread, django_assert_max_num_queries
):
    records = [treads(keeper, tread, 50 - n, LF=8).record for n in range(6)]

    with django_assert_max_num_queries(8):
        assert trend_questions(records) == []
