"""A rig is in one state on any day. What really began asks when the rig left storage;
what is dated after a sale is refused in words."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.urls import reverse

from maintenance.households.refusals import Refused
from maintenance.plans.standings import renew_household
from maintenance.service_records.services import record_work
from maintenance.service_records.work import Line, WorkDone
from maintenance.vehicles import services, trips
from maintenance.vehicles.models import Stay
from maintenance.vehicles.state import state_of
from tests import builders
from tests.builders import TODAY

DAY = timedelta(days=1)
PASSED = date(2026, 4, 20)  # the planned end, a fortnight ago


@pytest.fixture
def keeper(db, clock):
    clock("2026-05-04 12:00", "America/Denver")
    return builders.make_member()


@pytest.fixture
def rig(keeper):
    rig = builders.make_rig(keeper.household)
    builders.make_reading(rig, date(2025, 11, 1), 42300)
    return rig


@pytest.fixture
def stay(rig, keeper):
    return services.start_stay(
        rig,
        by=keeper,
        today=TODAY,
        start=date(2025, 11, 5),
        planned_until=PASSED,
    )


@pytest.fixture
def browser(client_as, keeper):
    return client_as(keeper)


def trip(rig, keeper, start, end, **fields):
    fields = {"distance": Decimal(100), "unit": "mi"} | fields
    return trips.plan_trip(rig, by=keeper, today=TODAY, start=start, end=end, **fields)


# --- one state ------------------------------------------------------------------------


def test_day_by_day_then_it_is_in_one_state(rig, keeper, stay):
    services.end_stay(stay, by=keeper, today=TODAY, ended_on=date(2026, 4, 1))
    trip(rig, keeper, date(2026, 4, 1), date(2026, 4, 9))
    services.sell_rig(rig, by=keeper, today=TODAY, on=date(2026, 5, 2))

    def name(month, day, year=2026):
        return state_of(rig, date(year, month, day)).name

    assert name(11, 4, 2025) == "in_use"
    assert name(11, 5, 2025) == "in_storage"
    assert name(3, 31) == "in_storage"
    assert name(4, 1) == "on_trip"  # the day of handing over is the trip's
    assert name(4, 9) == "on_trip"
    assert name(4, 10) == "in_use"
    assert name(5, 2) == "sold"


def test_stay_that_nobody_ended_gives_way_to_the_trip_after_it(rig, stay):
    rig.trips.create(
        start=date(2026, 4, 22), end=date(2026, 4, 25), distance=90, unit="mi"
    )

    assert state_of(rig, date(2026, 4, 21)).stay == stay
    assert state_of(rig, date(2026, 4, 24)).name == "on_trip"
    assert state_of(rig, TODAY).name == "in_use"


def test_trip_of_one_day_to_the_storage_then_it_is_in_storage(rig, stay):
    on = stay.start
    rig.trips.create(start=on, end=on, distance=20, unit="mi")

    assert state_of(rig, on).stay == stay
    assert state_of(rig, TODAY).stay == stay


def test_tow_vehicle_is_on_the_trip_too(rig, keeper):
    trailer = builders.make_rig(keeper.household, kind="travel_trailer", meter=None)
    trailer.trips.create(tow_vehicle=rig, start=TODAY, end=TODAY + DAY, distance=9)

    assert state_of(rig, TODAY).name == "on_trip"


# --- overlaps in old data -------------------------------------------------------------


@pytest.fixture
def left_open(rig, stay):
    rig.trips.create(
        start=date(2026, 4, 22), end=date(2026, 4, 25), distance=90, unit="mi"
    )
    return stay


def test_stay_left_open_before_a_trip_then_due_asks_and_the_answer_ends_it(
    left_open, browser
):
    url = reverse("left_storage", args=[left_open.pk])
    page = browser.get(reverse("due")).text
    assert "When did it leave?" in page
    assert 'name="left_on" value="2026-04-22"' in page

    for wrong in ("", "x", "2026-04-23", "2025-11-04"):
        browser.post(url, {"left_on": wrong})
        left_open.refresh_from_db()
        assert left_open.ended_on is None
    browser.post(url, {"left_on": "2026-04-21"})

    left_open.refresh_from_db()
    assert left_open.ended_on == date(2026, 4, 21)
    assert "When did it leave?" not in browser.get(reverse("due")).text


def test_stay_left_open_then_it_asks_for_nothing_more(rig, left_open, keeper):
    item = builders.make_item(rig, triggers=[{"while_stored": {"days": 30}}])
    renew_household(keeper.household, as_of=TODAY)

    assert item.standing.standing == "waiting"


def test_stays_that_overlap_already_are_put_right_without_refusal(rig, keeper, stay):
    """The one that is nearer to the truth afterwards may still overlap the other."""
    other = Stay.objects.create(rig=rig, start=date(2026, 2, 1))

    services.end_stay(other, by=keeper, today=TODAY, ended_on=date(2026, 3, 1))

    other.refresh_from_db()
    assert other.ended_on == date(2026, 3, 1)


def test_trip_that_overlaps_a_stay_already_is_told_without_refusal(rig, keeper, stay):
    services.end_stay(stay, by=keeper, today=TODAY, ended_on=date(2026, 4, 24))
    going = rig.trips.create(
        start=date(2026, 4, 22), end=date(2026, 4, 25), distance=90, unit="mi"
    )

    trips.tell_trip(going, by=keeper, today=TODAY, end=going.end, distance=Decimal(120))

    going.refresh_from_db()
    assert going.distance == 120


# --- a planned end that has passed ----------------------------------------------------


def test_first_trip_then_it_asks_when_the_rig_left(rig, keeper, stay, browser):
    url = reverse("plan_trip", args=[rig.pk])
    given = {"start": "2026-05-01", "end": "2026-05-03", "distance": "90", "unit": "mi"}

    asked = browser.post(url, given).text
    assert "was due out Apr 20, 2026. When did it leave?" in asked
    assert "Left storage on" in asked
    assert not rig.trips.exists()
    browser.post(url, given | {"left_on": "2026-04-28"})

    stay.refresh_from_db()
    assert stay.ended_on == date(2026, 4, 28)
    assert rig.trips.count() == 1


def test_trip_to_come_then_the_passed_end_blocks_nothing(rig, keeper, stay):
    trip(rig, keeper, TODAY + 9 * DAY, TODAY + 12 * DAY)

    assert rig.trips.count() == 1


def test_reading_that_moves_then_it_asks_when_the_rig_left(rig, stay, browser):
    url = reverse("give_reading", args=[rig.pk])
    given = {"meter": rig.meters.get().pk, "on": "2026-05-02", "value": "42390"}

    assert "When did it leave?" in browser.post(url, given).text
    assert rig.meters.get().readings.count() == 1
    browser.post(url, given | {"left_on": "2026-05-01"})

    stay.refresh_from_db()
    assert stay.ended_on == date(2026, 5, 1)


@pytest.mark.parametrize("more", [{"value": "42300.5"}, {"still": "on"}])
def test_reading_of_a_rig_that_only_rolled_or_is_still_there_then_it_stays(
    rig, stay, browser, more
):
    url = reverse("give_reading", args=[rig.pk])
    given = {"meter": rig.meters.get().pk, "on": "2026-05-02", "value": "42390"}

    browser.post(url, given | more)

    stay.refresh_from_db()
    assert stay.ended_on is None
    assert rig.meters.get().readings.count() == 2


def test_second_stay_then_it_asks_when_the_first_one_ended(rig, stay, browser):
    url = reverse("start_stay", args=[rig.pk])
    given = {"start": "2026-05-03", "water": "dry", "batteries": "charged"}

    assert "When did it leave?" in browser.post(url, given).text
    browser.post(url, given | {"left_on": "2026-04-21"})

    stay.refresh_from_db()
    assert stay.ended_on == date(2026, 4, 21)
    assert Stay.objects.get(ended_on=None).start == date(2026, 5, 3)


@pytest.mark.parametrize("left", [date(2025, 11, 4), date(2026, 5, 2)])
def test_left_before_it_came_or_after_it_drove_then_refused(rig, keeper, stay, left):
    with pytest.raises(Refused, match="from Nov 5, 2025 to May 1, 2026") as refused:
        trip(rig, keeper, date(2026, 5, 1), date(2026, 5, 3), left_on=left)

    assert refused.value.field == "left_on"


# --- sold -----------------------------------------------------------------------------


def acts():
    def reading(rig, by, on):
        meter = rig.meters.get()
        services.record_reading(meter, by=by, today=TODAY, on=on, value=Decimal(42400))

    def event(rig, by, on):
        services.report_event(rig, by=by, today=TODAY, kind="hail", on=on)

    def work(rig, by, on):
        done = WorkDone(rig=rig, on=on, lines=[Line("Wax")], doer="Ann")
        record_work(done, by=by, today=TODAY)

    def stay(rig, by, on):
        services.start_stay(rig, by=by, today=TODAY, start=on)

    def away(rig, by, on):
        trip(rig, by, on, on)

    def duty(rig, by, on):
        services.set_severe_duty(rig, by=by, today=TODAY, start=on, end=None)

    return [reading, event, work, stay, away, duty]


@pytest.mark.parametrize("act", acts(), ids=lambda act: act.__name__)
def test_dated_after_the_sale_then_refused_in_words(rig, keeper, act):
    sold = TODAY - 3 * DAY
    services.sell_rig(rig, by=keeper, today=TODAY, on=sold)

    with pytest.raises(Refused, match="was sold on May 1, 2026"):
        act(rig, keeper, sold + DAY)
    act(rig, keeper, sold)


# --- a day set back -------------------------------------------------------------------


def test_household_moves_west_then_its_pages_and_plan_are_no_error(
    rig, keeper, stay, browser, clock
):
    """At half past midnight in Denver it is still the day before in Los Angeles."""
    clock("2026-05-05 00:30", "America/Denver")
    tomorrow = TODAY + DAY
    builders.make_item(rig, taken_on=tomorrow)
    builders.make_reading(rig, tomorrow, 42300)
    services.end_stay(stay, by=keeper, today=tomorrow, ended_on=tomorrow)
    renew_household(keeper.household, as_of=tomorrow)
    type(keeper.household).objects.update(timezone="America/Los_Angeles")

    for page in ("due", "rigs", "storage", "trips", "log"):
        assert browser.get(reverse(page)).status_code == 200
    for page in ("rig", "rig_plan", "rig_use", "rig_events"):
        assert browser.get(reverse(page, args=[rig.pk])).status_code == 200
    renew_household(keeper.household, as_of=TODAY)
