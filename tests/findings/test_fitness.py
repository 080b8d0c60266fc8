"""Fit to travel: one account, the same wherever it is shown."""

from datetime import date, timedelta
from html import unescape

import pytest
from django.urls import reverse

from maintenance.findings.fitness import fitness_of
from maintenance.findings.services import open_finding
from maintenance.pages.shop_sheet.sheet import printed, shop_sheet
from maintenance.plans.models import Outcome, Standing
from maintenance.plans.papers import set_expiry
from maintenance.plans.services import add_part, take_on
from maintenance.service_records.work import Line
from maintenance.vehicles.models import Stay, Trip
from maintenance.vehicles.services import report_event
from tests import builders
from tests.builders import TODAY

WORDS = "Collision on"


@pytest.fixture
def keeper(db):
    return builders.make_member()


@pytest.fixture
def rig(keeper):
    rig = builders.make_rig(keeper.household, name="Bramble", wheels="four")
    keys = ["collision_check", "alarm_cause", "registration_renewal"]
    take_on(rig, by=keeper, today=TODAY, keys=keys)
    return rig


def happens(rig, keeper, kind):
    report_event(rig, by=keeper, today=TODAY, kind=kind, on=TODAY)


def reasons(rig):
    found = fitness_of(rig.household, TODAY, [rig]).get(rig.pk)
    return [(one.what, one.why) for one in found.unfit] if found else []


def test_rig_of_which_nothing_bad_is_known_then_fit(rig):
    assert reasons(rig) == []


@pytest.mark.parametrize(
    ("kind", "why"),
    [
        ("collision", "Collision on May 4, 2026: not checked yet."),
        ("alarm_sounded", "An alarm sounded on May 4, 2026: not checked yet."),
    ],
)
def test_event_today_then_unfit_from_then_on(rig, keeper, kind, why):
    happens(rig, keeper, kind)

    [(_what, said)] = reasons(rig)
    assert said == why


def test_check_recorded_then_fit_again(rig, keeper):
    happens(rig, keeper, "collision")
    item = rig.plan_items.get(key="collision_check")
    line = Line("Judged", item=item, outcome=Outcome.SERVICEABLE)
    builders.log_work(rig, by=keeper, lines=[line])

    assert reasons(rig) == []


@pytest.mark.parametrize(("place", "unfit"), [("LF", True), ("SPARE", False)])
def test_tire_of_2008_then_unfit_on_the_road_and_not_as_a_spare(
    keeper, rig, place, unfit
):
    add_part(
        rig,
        by=keeper,
        today=TODAY,
        kind="tire",
        on=date(2019, 6, 1),
        place=place,
        made="2008-06",
        keys=["tire_replace"],
    )

    said = [why for _what, why in reasons(rig)]
    assert said == (["More than 10 years old."] if unfit else [])
    standing = Standing.objects.get(item__component__isnull=False)
    assert standing.standing == "overdue"


def test_finding_marked_so_then_unfit_with_its_day(rig, keeper):
    open_finding(rig, by=keeper, on=TODAY, what="Cracked hub", unfit=True)
    open_finding(rig, by=keeper, on=TODAY, what="Loose knob")

    assert reasons(rig) == [("Cracked hub", "Found May 4, 2026, not fixed yet.")]


def test_paper_that_ran_out_then_not_legal_and_not_unfit(rig, keeper):
    item = rig.plan_items.get(key="registration_renewal")
    set_expiry(item, by=keeper, today=TODAY, expires=TODAY - timedelta(days=10))

    found = fitness_of(rig.household, TODAY, [rig])[rig.pk]

    assert found.is_fit
    [reason] = found.not_legal
    assert reason.item == item
    assert reason.why.startswith("Not legal to drive")


def test_unfit_then_said_with_its_reason_wherever_the_rig_is_shown(
    rig, keeper, client_as, clock
):
    clock("2026-05-04")
    happens(rig, keeper, "collision")
    browser = client_as(keeper)
    trip = Trip.objects.create(
        rig=rig, start=TODAY, end=TODAY, distance=100, title="Dunes"
    )
    stay = Stay.objects.create(rig=rig, start=TODAY + timedelta(days=9))
    pages = [
        reverse("due"),
        reverse("rigs"),
        reverse("rig", args=[rig.pk]),
        reverse("trip", args=[trip.pk]),
        reverse("stay", args=[stay.pk]),
    ]

    for page in pages:
        text = browser.get(page).content.decode()
        assert WORDS in text, page
        assert "Unfit to travel" in text or f"Don't drive {rig}" in unescape(text), page
    assert WORDS in printed(shop_sheet(rig, TODAY))


def test_account_of_many_rigs_then_two_queries(rig, keeper, django_assert_num_queries):
    for number in range(5):
        other = builders.make_rig(rig.household, name=f"Rig {number}")
        open_finding(other, by=keeper, on=TODAY, what="Cracked hub", unfit=True)
    happens(rig, keeper, "collision")

    with django_assert_num_queries(2):
        assert len(fitness_of(rig.household, TODAY)) == 6
