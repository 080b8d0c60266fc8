"""Costs: shared out, added up, per distance and night, and the year ahead."""

import re
from datetime import date
from decimal import Decimal

import pytest
from django.urls import reverse

from maintenance.households.models import Role
from maintenance.pages.costs.page import cost_page
from maintenance.pages.costs.spent import FUEL, OTHER, spent_of
from maintenance.plans.standings import renew_standings
from maintenance.service_records.models import ServiceRecord
from maintenance.vehicles.fuel import stops_of
from maintenance.vehicles.models import FuelStop, Trip
from tests import builders

TODAY = date(2026, 5, 4)


@pytest.fixture
def keeper(db, clock):
    clock("2026-05-04 15:00", "America/Denver")
    return builders.make_member()


@pytest.fixture
def rig(keeper):
    return builders.make_rig(keeper.household, name="Heron")


def record(rig, total, *items, on=date(2026, 3, 1), **fields):
    made = ServiceRecord.objects.create(
        rig=rig,
        on=on,
        doer="Shop",
        currency=fields.pop("currency", "USD"),
        total=total and Decimal(total),
        **fields,
    )
    for item in items or [None]:
        made.lines.create(item=item, title=str(item or "Washed"))
    return made


def fuel(rig, value, volume, price, on, **fields):
    reading = builders.make_reading(rig, on, value)
    return FuelStop.objects.create(
        reading=reading,
        volume=Decimal(volume),
        unit=fields.pop("unit", "gal"),
        price=price and Decimal(price),
        currency="USD",
        **fields,
    )


def page(rig, **more):
    return cost_page([rig], currency="USD", today=TODAY, **more)


def test_bill_is_shared_out_among_its_jobs_to_the_cent(rig):
    items = [builders.make_item(rig, key=f"item_{n}") for n in range(3)]
    record(rig, "100.00", *items)

    amounts = [row.amount for row in spent_of([rig], stops_of([rig]))]

    assert sorted(amounts) == [Decimal("33.33"), Decimal("33.33"), Decimal("33.34")]


def test_without_a_total_what_was_given_of_it_counts(rig):
    record(rig, None, labor=Decimal(80), tax=Decimal(4))

    assert [row.amount for row in spent_of([rig], stops_of([rig]))] == [84]


def test_record_without_any_cost_and_void_record_cost_nothing(rig):
    record(rig, None)
    record(rig, "50", voided_at="2026-03-02T00:00Z")

    assert spent_of([rig], stops_of([rig])) == []


def test_free_line_and_fuel_have_systems_of_their_own(rig):
    record(rig, "50")
    fuel(rig, 42000, 20, "80", date(2026, 4, 1))

    spent = spent_of([rig], stops_of([rig]))

    assert {row.system: row.amount for row in spent} == {OTHER: 50, FUEL: 80}


def test_table_adds_up_by_system_and_year(rig):
    oil = builders.make_item(rig, system="chassis-engine")
    record(rig, "60", oil, on=date(2025, 3, 1))
    record(rig, "70", oil, on=date(2026, 3, 1))

    (table,) = page(rig).by_system

    assert table.years == [2025, 2026]
    assert table.rows[0][1:] == ([60, 70], 130)
    assert (table.totals, table.total) == ([60, 70], 130)


def test_each_currency_has_a_table_and_none_is_added_to_another(rig):
    record(rig, "60")
    record(rig, "90", currency="CAD")

    found = {table.currency: table.total for table in page(rig).by_rig}

    assert found == {"CAD": 90, "USD": 60}


def test_cost_per_mile_counts_from_the_first_reading(rig):
    builders.make_reading(rig, date(2026, 1, 1), 40000)
    builders.make_reading(rig, date(2026, 5, 1), 42000)
    record(rig, "999", on=date(2025, 6, 1))
    record(rig, "500", on=date(2026, 2, 1))

    (use,) = page(rig).rigs

    assert use.per_distance.value == Decimal("0.25")
    assert use.per_distance.unit == "/mi"


def test_cost_per_night_counts_nights_slept_up_to_today(rig):
    Trip.objects.create(rig=rig, start=date(2026, 4, 1), end=date(2026, 4, 5))
    Trip.objects.create(rig=rig, start=date(2026, 5, 3), end=date(2026, 5, 9))
    record(rig, "500")

    (use,) = page(rig).rigs

    assert use.per_night.value == 100  # 4 nights and 1


def test_fuel_goes_from_full_tank_to_full_tank(rig):
    fuel(rig, 40000, 30, "90", date(2026, 4, 1))
    fuel(rig, 40200, 10, "31", date(2026, 4, 2), full=False)
    fuel(rig, 40400, 30, "95", date(2026, 4, 3))

    (use,) = page(rig).rigs

    assert (use.economy.value, use.economy.unit) == (10, "mi/gal")


def test_liters_and_gallons_are_told_apart(rig):
    fuel(rig, 40000, 30, "90", date(2026, 4, 1))
    fuel(rig, 40100, "37.854", "40", date(2026, 4, 3), unit="L")  # 10 US gal

    (use,) = page(rig).rigs

    assert round(use.economy.value, 3) == 10


def test_fuel_of_a_withdrawn_reading_costs_and_drives_nothing(rig):
    stop = fuel(rig, 40000, 30, "90", date(2026, 4, 1))
    stop.reading.withdrawn = True
    stop.reading.save()

    assert spent_of([rig], stops_of([rig])) == []


def test_rig_without_reading_trip_or_fuel_gets_no_figures(rig):
    record(rig, "500")

    (use,) = page(rig).rigs

    assert (use.per_distance, use.per_night, use.economy) == (None, None, None)


@pytest.fixture
def yearly(rig):
    """Due by 1 June 2026, and so once within the year to come, at earlier prices."""
    item = builders.make_item(rig, triggers=[{"every": {"months": 12}}])
    item.completions.create(on=date(2025, 6, 1), outcome="done")
    record(rig, "60", item, on=date(2024, 6, 1))
    record(rig, "90", item, on=date(2025, 6, 1))
    renew_standings([rig], as_of=TODAY)
    return item


def test_year_ahead_is_a_range_of_earlier_prices(rig, yearly):
    ahead = page(rig).ahead

    assert (ahead.year.low, ahead.year.high) == (60, 90)
    assert (ahead.priced, ahead.unpriced) == (1, 0)


def test_overdue_job_of_every_four_months_counts_now_and_thrice_more(rig, yearly):
    yearly.triggers = [{"every": {"months": 4}}]
    yearly.save()
    renew_standings([rig], as_of=TODAY)

    assert page(rig).ahead.year.high == 4 * 90


def test_job_that_never_cost_is_named(rig, yearly):
    ServiceRecord.objects.all().update(total=None)

    ahead = page(rig).ahead

    assert ahead.year.without_price == ("Heron: Engine oil",)


def test_page_shows_tables_and_charts_and_keeps_to_a_few_queries(
    client_as, keeper, rig, yearly, django_assert_max_num_queries
):
    client = client_as(keeper)
    with django_assert_max_num_queries(40):
        shown = client.get(reverse("costs")).content.decode()

    assert "$60 to $90" in shown
    drawn, table = shown.split("<table")[:2]
    table = table.partition("</thead>")[0]
    years = re.findall(r">(20[0-9]{2})<", drawn)
    assert years == sorted(years) != []
    assert re.findall(r">(20[0-9]{2})<", table) == years


def test_household_without_costs_is_told_how_they_come(client_as, keeper, rig):
    assert "No costs yet" in client_as(keeper).get("/costs/").content.decode()


def test_rig_of_strangers_is_not_found(client_as, rig):
    stranger = builders.make_member(builders.make_household(name="Birch"))

    assert client_as(stranger).get("/costs/", {"rig": rig.pk}).status_code == 404


def test_viewer_may_look(client_as, keeper, rig):
    viewer = builders.make_member(keeper.household, role=Role.VIEWER)

    assert client_as(viewer).get("/costs/").status_code == 200


def test_fuel_stops_of_one_rig_are_listed(client_as, keeper, rig):
    fuel(rig, 40000, "30.25", "90.50", date(2026, 4, 1), full=False)

    shown = client_as(keeper).get("/costs/", {"rig": rig.pk}).content.decode()

    assert "Latest fuel stops" in shown
    assert "not full" in shown
