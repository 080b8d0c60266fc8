"""Seasons by frost or rain, and the temperatures by month that stays begin with."""

from datetime import date
from decimal import Decimal

import pytest
from django.urls import reverse

from maintenance.households.access import NotAllowed
from maintenance.households.climate import (
    PRESETS,
    expected_between,
    set_climate,
    set_seasons,
)
from maintenance.households.models import Role
from maintenance.households.refusals import Refused
from maintenance.plans.models import Standing
from maintenance.plans.standings import renew_household
from tests import builders

D = Decimal
MONTHS = [(D(n), D(n + 20)) for n in range(12)]  # January 0 and 20, December 11 and 31


@pytest.fixture
def keeper(db):
    return builders.make_member()


@pytest.fixture
def home(keeper):
    return keeper.household


def autumn_closes(home, today):
    renew_household(home, as_of=today)
    return Standing.objects.get().closes_on


def test_southern_autumn_work_is_due_before_the_southern_frost(home, keeper):
    builders.make_item(builders.make_rig(home), triggers=[{"season": "autumn"}])

    set_seasons(home, by=keeper, seasons_by="frost", begins="05-01", ends="09-30")

    assert autumn_closes(home, date(2026, 3, 1)) == date(2026, 4, 30)


def test_without_frost_the_work_is_due_before_the_rain(home, keeper):
    builders.make_item(builders.make_rig(home), triggers=[{"season": "autumn"}])

    set_seasons(home, by=keeper, seasons_by="rain", begins="11-01", ends="04-15")

    assert autumn_closes(home, date(2026, 9, 1)) == date(2026, 10, 31)


def test_every_preset_can_be_begun_with_and_saved(home, keeper, client_as):
    page = client_as(keeper)
    for name, (_words, seasons_by, begins, ends) in PRESETS.items():
        url = reverse("seasons")
        shown = page.get(url, {"like": name}).content.decode()
        assert f'value="{begins}"' in shown

        data = {"seasons_by": seasons_by, "begins": begins, "ends": ends}
        assert page.post(url, data).status_code == 302
        home.refresh_from_db()
        assert (home.seasons_by, home.cold_from) == (seasons_by, begins)


def test_days_typed_by_hand_are_the_households_own(home, keeper, client_as):
    set_seasons(home, by=keeper, seasons_by="rain", begins="11-01", ends="04-15")
    data = {
        "name": "Alder Lane",
        "timezone": "America/Denver",
        "distance_unit": "mi",
        "country": "US",
        "currency": "USD",
        "spring_from": "03-01",
        "spring_to": "05-01",
        "autumn_from": "09-01",
        "autumn_to": "11-01",
        "horizon_days": 30,
        "shop_wait_days": 21,
    }

    client_as(keeper).post(reverse("change_household"), data)

    home.refresh_from_db()
    assert (home.seasons_by, home.cold_from, home.spring_from) == ("own", "", "03-01")


def test_day_that_is_none_is_refused_and_stays_typed(keeper, client_as):
    data = {"seasons_by": "frost", "begins": "13-40", "ends": "05-10"}

    shown = client_as(keeper).post(reverse("seasons"), data).content.decode()

    assert "isn&#x27;t a month and day" in shown
    assert 'value="13-40"' in shown


def test_crew_sets_neither_seasons_nor_temperatures(home):
    crew = builders.make_member(home, Role.CREW)

    with pytest.raises(NotAllowed):
        set_seasons(home, by=crew, seasons_by="frost", begins="10-01", ends="05-01")
    with pytest.raises(NotAllowed):
        set_climate(home, by=crew, months=MONTHS)


def test_a_span_has_the_lowest_month_and_the_mean_of_the_usual(home, keeper):
    set_climate(home, by=keeper, months=MONTHS)

    # 16 days of December at 31, 15 of January at 20
    lowest, usual = expected_between(home, date(2026, 12, 16), date(2027, 1, 15))

    assert (lowest, usual) == (D(0), D("25.7"))


def test_a_month_that_is_not_known_gives_no_figure(home, keeper):
    set_climate(home, by=keeper, months=[(None, None), *MONTHS[1:]])

    assert expected_between(home, date(2026, 12, 16), date(2027, 1, 15)) == (None, None)
    assert expected_between(home, date(2026, 2, 1), date(2026, 2, 9)) == (D(1), D(21))


def test_lowest_above_usual_is_refused_at_its_month(home, keeper):
    months = [(D(50), D(40)), *MONTHS[1:]]

    with pytest.raises(Refused) as refused:
        set_climate(home, by=keeper, months=months)

    assert refused.value.field == "lowest_1"


def test_300_degrees_are_refused_with_what_is_plausible(keeper, client_as):
    data = {f"{name}_{n}": "" for name in ("lowest", "usual") for n in range(1, 13)}

    shown = client_as(keeper).post(reverse("climate"), data | {"usual_3": "300"})

    text = shown.content.decode()
    assert "300 °F can&#x27;t be right. Enter -60 °F to 150 °F." in text
    assert 'value="300"' in text
