"""The shop sheet: what is asked of a shop, with figures, past and a guide's path."""

from datetime import date

import pytest
from django.urls import reverse

from maintenance.findings.services import open_finding, set_for_shop
from maintenance.households.models import Role
from maintenance.packets.models import Packet
from maintenance.plans.models import MakerFigure
from maintenance.plans.standings import renew_standings
from tests import builders

TODAY = date(2026, 5, 4)


@pytest.fixture
def keeper(db, clock):
    clock("2026-05-04 15:00", "America/Denver")
    return builders.make_member()


@pytest.fixture
def rig(keeper):
    rig = builders.make_rig(keeper.household, name="Heron", vin="1G4AH59H45G118341")
    builders.make_reading(rig, date(2026, 5, 3), 42395)
    return rig


@pytest.fixture
def ask(client_as, keeper, rig):
    def send(member=keeper, **data):
        url = reverse("print_shop_sheet", args=[rig.pk])
        return client_as(member).post(url, data)

    return send


def page():
    return Packet.objects.get().page


def test_sheet_names_rig_meter_and_findings_for_the_shop(ask, keeper, rig):
    crack = open_finding(rig, by=keeper, on=TODAY, what="Crack in the frame")
    set_for_shop(crack, by=keeper, wanted=True)
    open_finding(rig, by=keeper, on=TODAY, what="Dull paint")

    ask()

    assert "1G4AH59H45G118341" in page()
    assert "42,395" in page()
    assert "Crack in the frame" in page()
    assert "Dull paint" not in page()


def test_due_work_of_a_shop_comes_with_the_maker_s_figure(ask, rig):
    item = builders.make_item(
        rig,
        key="brake_fluid",
        title="Brake fluid",
        triggers=[{"every": {"months": 24}}],
    )
    item.completions.create(on=date(2023, 5, 1), outcome="done")
    maker = MakerFigure.objects.create(
        item=item, document="Chassis book", page="12", entered_on=TODAY
    )
    maker.values.create(name="fluid", value=4, unit="DOT")
    own = builders.make_item(rig, key="pump_strainer", title="Strainer")
    own.completions.create(on=date(2020, 5, 1), outcome="done")
    renew_standings([rig], as_of=TODAY)

    ask()

    assert "Brake fluid" in page()
    assert "Chassis book, 12" in page()
    assert "Strainer" not in page()


def test_path_of_a_guide_and_what_was_typed_stand_on_it(ask):
    ask(guide="house_battery_flat", path="sound,yes,11.9", since="Since Sunday")

    assert "11.9 V: Below 12.1 V" in page()
    assert "The battery is worn or sulfated" in page()
    assert "Since Sunday" in page()


def test_path_that_does_not_fit_is_not_found(ask):
    assert ask(guide="house_battery_flat", path="nonsense").status_code == 404


def test_viewer_asks_for_no_sheet(ask, keeper):
    viewer = builders.make_member(keeper.household, role=Role.VIEWER)

    assert ask(member=viewer).status_code == 403


def test_stranger_is_told_that_there_is_no_such_rig(ask):
    stranger = builders.make_member(builders.make_household(name="Birch"))

    assert ask(member=stranger).status_code == 404


def test_sheet_loads_nothing_from_outside(ask):
    ask()

    assert "http" not in page().replace("https://www.w3.org", "")
    assert "<script" not in page()
