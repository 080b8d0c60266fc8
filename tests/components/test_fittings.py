"""Where a part was: corrected and withdrawn with a reason, as every other fact."""

from datetime import date
from decimal import Decimal

import pytest
from django.urls import reverse

from maintenance.components.correcting import fitting_words
from maintenance.components.models import Component, Fitting
from maintenance.components.queries import fittings_of, pasts_of, uses_of
from maintenance.households.models import ActivityEntry
from maintenance.households.refusals import Refused
from maintenance.plans import services
from maintenance.plans.models import PlanItem, Standing
from maintenance.plans.standings import recheck
from tests import builders

TODAY = builders.TODAY
pytestmark = pytest.mark.django_db
KEY = "cylinder_requalification"


@pytest.fixture(autouse=True)
def _today(clock):
    clock("2026-05-04 09:00", "America/Denver")


@pytest.fixture
def keeper():
    return builders.make_member()


@pytest.fixture
def coach(keeper):
    rig = builders.make_rig(keeper.household, name="Coach")
    builders.make_reading(rig, date(2025, 1, 1), 10000)
    builders.make_reading(rig, date(2026, 1, 1), 16000)
    return rig


@pytest.fixture
def van(keeper):
    rig = builders.make_rig(keeper.household, name="Van")
    builders.make_reading(rig, date(2025, 1, 1), 50000)
    builders.make_reading(rig, date(2026, 5, 1), 52000)
    return rig


@pytest.fixture
def cylinder(keeper, coach, van):
    """On the coach since 2025, moved to the van on 1 January 2026."""
    made = services.add_part(
        coach,
        by=keeper,
        today=TODAY,
        kind="cylinder",
        type="dot",
        made="2015-05",
        on=date(2025, 1, 1),
        keys=[KEY],
    )
    services.move_part(
        made, by=keeper, today=TODAY, rig=van, place="tray", on=date(2026, 1, 1)
    )
    return made


def rows(part):
    part.refresh_from_db()
    found = part.fittings.filter(withdrawn=False).order_by("start", "pk")
    return [(one.rig.name, one.place, one.start, one.end) for one in found]


def last(part):
    return part.fittings.filter(withdrawn=False).order_by("start", "pk").last()


def correct(fitting, keeper, **says):
    given = {name: getattr(fitting, name) for name in ("rig", "place", "start", "end")}
    return services.correct_fitting(
        fitting,
        by=keeper,
        today=TODAY,
        why="mistyped",
        seen=fitting_words(fitting),
        **given | says,
    )


def withdraw(fitting, keeper):
    return services.withdraw_fitting(fitting, by=keeper, today=TODAY, why="never was")


def test_day_of_a_move_is_corrected_on_both_sides(keeper, cylinder):
    moved = last(cylinder)

    correct(moved, keeper, start=date(2025, 7, 2))

    assert rows(cylinder) == [
        ("Coach", "", date(2025, 1, 1), date(2025, 7, 2)),
        ("Van", "tray", date(2025, 7, 2), None),
    ]
    past = pasts_of(fittings_of([cylinder.pk]), TODAY)
    used = uses_of(cylinder, past[cylinder.pk], TODAY)[0].value
    # 182 of 365 days of the coach's 6,000 mi, and 303 of 485 of the van's 2,000.
    coach, van = 6000 * 182 / 365, 2000 * 303 / 485
    assert abs(used - Decimal(coach + van)) < 1
    entry = ActivityEntry.objects.get(what="corrected installation")
    assert "from Jan 1, 2026" in entry.about
    assert "from Jul 2, 2025 (mistyped)" in entry.about
    assert recheck(keeper.household, as_of=TODAY) == []


def test_another_rig_then_its_items_are_there(keeper, coach, van, cylinder):
    third = builders.make_rig(keeper.household, name="Bus")
    correct(last(cylinder), keeper, rig=third, place="")

    assert rows(cylinder)[-1] == ("Bus", "", date(2026, 1, 1), None)
    assert PlanItem.objects.get(key=KEY).rig == third
    assert Standing.objects.get(item__key=KEY).standing == "later"
    assert recheck(keeper.household, as_of=TODAY) == []


def test_withdrawn_move_then_it_stayed_where_it_came_from(keeper, coach, cylinder):
    moved = last(cylinder)
    withdraw(moved, keeper)
    withdraw(moved, keeper)

    assert rows(cylinder) == [("Coach", "", date(2025, 1, 1), None)]
    assert (cylinder.rig, cylinder.place) == (coach, "")
    assert PlanItem.objects.get(key=KEY).rig == coach
    assert ActivityEntry.objects.filter(what="withdrew installation").count() == 1
    assert recheck(keeper.household, as_of=TODAY) == []


def test_withdrawn_stop_on_the_way_then_it_stayed_until_the_next(
    keeper, coach, van, cylinder
):
    services.move_part(
        cylinder, by=keeper, today=TODAY, rig=coach, place="", on=date(2026, 3, 1)
    )
    stop = cylinder.fittings.get(rig=van)
    withdraw(stop, keeper)

    assert rows(cylinder) == [
        ("Coach", "", date(2025, 1, 1), date(2026, 3, 1)),
        ("Coach", "", date(2026, 3, 1), None),
    ]


def test_only_installation_withdrawn_then_it_is_on_no_rig(keeper, coach):
    made = services.add_part(
        coach, by=keeper, today=TODAY, kind="hose", on=TODAY, keys=[]
    )
    withdraw(last(made), keeper)
    assert (rows(made), made.rig) == ([], None)


def test_scrapped_by_mistake_then_it_is_still_there(keeper, van, cylinder):
    services.put_part_aside(
        cylinder, by=keeper, today=TODAY, on=TODAY, scrap=True, why="old"
    )
    assert not PlanItem.objects.active().filter(key=KEY).exists()

    correct(last(cylinder), keeper, end=None)

    assert rows(cylinder)[-1] == ("Van", "tray", date(2026, 1, 1), None)
    assert (cylinder.rig, cylinder.scrapped_on) == (van, None)
    assert PlanItem.objects.active().get(key=KEY).rig == van
    assert recheck(keeper.household, as_of=TODAY) == []


@pytest.mark.parametrize(
    ("says", "words"),
    [
        ({"start": date(2024, 12, 1)}, "It was on Coach until at least Jan 1, 2025"),
        ({"start": date(2026, 6, 1)}, "still to come"),
        ({"end": date(2025, 12, 1)}, "day off is before the day on"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_changes(keeper, cylinder, says, words):
    before = rows(cylinder)
    with pytest.raises(Refused, match=words):
        correct(last(cylinder), keeper, **says)
    assert rows(cylinder) == before


def test_stale_form_is_answered_with_both_versions(keeper, cylinder):
    moved = last(cylinder)
    seen = fitting_words(moved)
    correct(moved, keeper, start=date(2025, 8, 1))
    with pytest.raises(Refused, match="Someone changed this meanwhile"):
        services.correct_fitting(
            last(cylinder),
            by=keeper,
            today=TODAY,
            why="x",
            seen=seen,
            rig=moved.rig,
            place="tray",
            start=date(2025, 9, 1),
            end=None,
        )


# --- tires ----------------------------------------------------------------------------


@pytest.fixture
def tires(keeper, coach):
    made = [
        services.add_part(
            coach, by=keeper, today=TODAY, kind="tire", place=place, on=date(2025, 1, 1)
        )
        for place in ("LF", "RF")
    ]
    services.rotate_tires(
        coach,
        by=keeper,
        today=TODAY,
        on=date(2026, 4, 1),
        places={made[0]: "RF", made[1]: "LF"},
    )
    return made


def places(tires):
    return [Component.objects.get(pk=one.pk).place for one in tires]


def test_withdrawn_rotation_takes_all_its_tires_back(keeper, tires):
    assert places(tires) == ["RF", "LF"]
    withdraw(last(tires[0]), keeper)

    assert places(tires) == ["LF", "RF"]
    assert Fitting.objects.filter(withdrawn=False, end=None).count() == 2
    assert Fitting.objects.filter(withdrawn=True).count() == 2


def test_day_of_a_rotation_is_that_of_all_its_tires(keeper, tires):
    correct(last(tires[0]), keeper, start=date(2026, 4, 3))

    days = {(one.start, one.end) for tire in tires for one in tire.fittings.all()}
    assert days == {
        (date(2025, 1, 1), date(2026, 4, 3)),
        (date(2026, 4, 3), None),
    }


def test_two_tires_at_one_wheel_are_refused(keeper, tires):
    with pytest.raises(Refused, match="is there|Two tires"):  # noqa: RUF043
        correct(last(tires[0]), keeper, place="LF")


# --- pages ----------------------------------------------------------------------------


def test_pages_list_correct_and_withdraw(keeper, van, cylinder, client_as):
    browser, moved = client_as(keeper), last(cylinder)
    url = reverse("correct_fitting", args=[moved.pk])
    for page in (
        reverse("part", args=[cylinder.pk]),
        reverse("rig_events", args=[van.pk]),
    ):
        text = browser.get(page).content.decode()
        assert url in text
        assert reverse("withdraw_fitting", args=[moved.pk]) in text

    data = {
        "rig": van.pk,
        "place": "tray",
        "start": "2025-07-02",
        "why": "mistyped",
        "seen": fitting_words(moved),
    }
    page = browser.post(url, data, follow=True).content.decode()
    assert "from Jul 2, 2025 (mistyped)" in page

    withdraw_url = reverse("withdraw_fitting", args=[moved.pk])
    browser.post(withdraw_url, {"why": "never was"})
    moved.refresh_from_db()
    assert moved.withdrawn
    assert browser.get(withdraw_url).status_code == 404
