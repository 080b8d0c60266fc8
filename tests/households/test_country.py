"""A household's country: asked for, known of a household of earlier versions, and
heeded by pages, mail, calendar and print."""

import re
from datetime import date
from decimal import Decimal
from html import unescape
from importlib import import_module

import pytest
from django.apps import apps
from django.urls import reverse

from maintenance.households.models import Household
from maintenance.packets.history.build import build_history
from maintenance.packets.page import history_page
from maintenance.packets.proof import listed
from maintenance.packets.queries import material_of
from maintenance.reminders.models import CalendarFeed
from maintenance.reminders.services import send_waiting
from maintenance.service_records.work import Line
from tests import builders
from tests.builders import TODAY
from tests.reminders.builders import digest_for, due_item, entered, noon, renewed

pytestmark = pytest.mark.django_db
upgrade = import_module("maintenance.households.migrations.0013_country")


@pytest.fixture
def keeper(clock):
    clock("2026-05-04 16:05", "Europe/Berlin")
    home = builders.make_household(
        timezone="Europe/Berlin", country="DE", currency="EUR", distance_unit="km"
    )
    return builders.make_member(home)


@pytest.fixture
def rig(keeper):
    rig = builders.make_rig(keeper.household, name="Heron")
    item = builders.make_item(rig, baseline="done", baseline_on=date(2025, 4, 1))
    builders.make_reading(rig, date(2026, 4, 1), "42310")
    builders.log_work(
        rig,
        by=keeper,
        on=date(2026, 4, 2),
        lines=[Line("Wipers")],
        total=Decimal("1052.93"),
    )
    assert item.pk
    return rig


def words(html):
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", html)).split())


AMERICAN = re.compile(
    r"(Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec)[a-z]* \d{1,2}, \d{4}\b"
    r"|\d{1,2}:\d\d [AP]M|\$\d|\b911\b|\bUSD\b"
)
PAGES = ("due", "rigs", "log", "costs", "household", "trouble", "mail", "calendar")


@pytest.mark.parametrize("name", PAGES)
def test_pages_of_a_german_household_say_nothing_in_american_form(
    name, client_as, keeper, rig
):
    page = words(client_as(keeper).get(reverse(name)).content.decode())

    assert [found[0] for found in AMERICAN.finditer(page)] == []


def test_pages_of_a_german_household_are_in_its_form(client_as, keeper, rig):
    def page(name, *args):
        return words(client_as(keeper).get(reverse(name, args=args)).content.decode())

    assert "2 Apr 2026" in page("log")
    assert "1.052,93 €" in page("costs")
    assert "Country Germany" in page("household")
    assert "Call 112 from outside" in page("trouble")
    record = rig.records.get()
    assert "4 May 2026, 16:05" in page("record", record.pk)


def test_week_of_the_form_about_mail_begins_with_the_country_s_day(client_as, keeper):
    def first(member):
        page = client_as(member).get(reverse("myself")).content.decode()
        hours = re.search(r"<option value=\"7\"[^>]*>([^<]+)<", page)
        days = [one for one in ("Sunday", "Monday") if one in page]
        return hours[1], min(days, key=page.index)

    assert first(keeper) == ("07:00", "Monday")
    american = builders.make_member(builders.make_household(name="Next door"))
    assert first(american) == ("7:00 AM", "Sunday")


def test_print_is_in_the_country_s_form_on_its_paper(keeper, rig):
    with keeper.household.at_home():
        history = build_history(
            material_of(rig, TODAY),
            made_by="Ann",
            made_at=rig.records.get().entered_at,
            proof=listed,
        )

    page = words(history_page(history))
    assert history.paper == "a4"
    assert "4 May 2026, 16:05 by Ann" in page
    assert "1.052,93 €" in page
    assert not AMERICAN.search(page)


def test_mail_is_in_the_country_s_form(keeper, rig):
    entered(keeper.household)
    digest = digest_for(keeper)
    send_waiting(noon(TODAY, "Europe/Berlin"))

    digest.refresh_from_db()
    assert "4 May 2026" in digest.text
    assert not AMERICAN.search(digest.text)


def test_calendar_is_in_the_country_s_form(client, keeper, rig):
    due_item(rig)
    renewed(keeper.household)
    made = noon(TODAY)
    CalendarFeed.objects.create(member=keeper, secret="s" * 43, made_at=made)

    text = client.get(reverse("calendar_feed", args=["s" * 43])).content.decode()

    assert "BEGIN:VEVENT" in text
    assert not AMERICAN.search(text.replace("\r\n ", ""))


@pytest.mark.parametrize(
    ("currency", "timezone", "unit", "country"),
    [
        ("USD", "America/Denver", "mi", "US"),
        ("USD", "Europe/Berlin", "mi", "US"),
        ("CAD", "America/Toronto", "km", "CA"),
        ("EUR", "Europe/Berlin", "km", "DE"),
        ("GBP", "Europe/London", "mi", "GB"),
        ("CAD", "UTC", "km", "CA"),
        ("JPY", "Asia/Tokyo", "km", "US"),
    ],
)
def test_country_of_a_household_of_before(currency, timezone, unit, country):
    home = builders.make_household(
        currency=currency, timezone=timezone, distance_unit=unit
    )

    upgrade.take_over(apps, None)

    assert Household.objects.get(pk=home.pk).country == country


@pytest.mark.parametrize(
    ("country", "unit", "degrees"),
    [("US", "mi", "°F"), ("US", "km", "°C"), ("GB", "mi", "°C"), ("DE", "km", "°C")],
)
def test_degrees(country, unit, degrees):
    home = builders.make_household(country=country, distance_unit=unit)
    assert home.temperature_unit == degrees
