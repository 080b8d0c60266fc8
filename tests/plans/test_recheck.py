"""Standings of a new day, and `manage.py recheck`: stored equals reckoned, or it says
where not."""

from datetime import timedelta

import pytest
from django.core.management import call_command

from maintenance.households.models import Household
from maintenance.plans.day_change import renew_behind
from maintenance.plans.models import Standing
from maintenance.plans.standings import renew_household
from maintenance.plans.tasks import renew_standings
from tests.builders import TODAY, make_household, make_item, make_reading, make_rig
from tests.reminders.builders import noon

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)


@pytest.fixture
def home() -> Household:
    home = make_household()
    rig = make_rig(home, name="Juniper")
    make_reading(rig, TODAY - 30 * DAY, 41000)
    make_item(rig, "engine_oil", baseline="in_service")
    make_item(rig, "roof", baseline="stated", baseline_on=TODAY - 350 * DAY)
    renew_household(home, as_of=TODAY)
    return home


def recheck(capsys) -> tuple[int, str]:
    """Exit code and what was printed."""
    try:
        call_command("recheck")
    except SystemExit as stop:
        return int(stop.code or 0), capsys.readouterr().out
    return 0, capsys.readouterr().out


def test_recheck_when_all_is_as_reckoned_then_words_and_zero(home, capsys):
    assert recheck(capsys) == (
        0,
        "All 2 stored standings match.\n",
    )


def test_recheck_when_there_is_nothing_then_words_and_zero(capsys):
    assert recheck(capsys)[0] == 0


@pytest.mark.parametrize(
    "change", [{"standing": "later"}, {"rank": 98}, {"closes_on": TODAY}, {"why": []}]
)
def test_recheck_when_a_standing_was_touched_then_it_is_named(home, capsys, change):
    Standing.objects.filter(item__key="roof").update(**change)

    code, out = recheck(capsys)

    assert code == 1
    assert "Alder Lane, Juniper, Roof" in out
    assert out.count("\n") == 1


def test_recheck_when_a_standing_is_missing_then_it_is_named(home, capsys):
    Standing.objects.filter(item__key="roof").delete()

    code, out = recheck(capsys)

    assert (code, "stored nothing" in out) == (1, True)


def test_recheck_when_an_input_changed_behind_its_back_then_it_is_named(home, capsys):
    make_rig(home, name="Kestrel").plan_items.create(
        key="x", title="X", system="roof-seals", triggers=[], taken_on=TODAY
    )

    assert recheck(capsys)[0] == 1


def test_recheck_changes_nothing(home, capsys):
    Standing.objects.filter(item__key="roof").update(standing="later")

    recheck(capsys)

    assert Standing.objects.get(item__key="roof").standing == "later"


def test_recheck_when_days_have_passed_since_then_no_difference(home, capsys, clock):
    clock("2026-06-20")

    assert recheck(capsys)[0] == 0


def test_recheck_when_a_rig_cannot_be_reckoned_then_it_says_why(home, capsys):
    home.rigs.get().plan_items.update(
        triggers=[{"every": {"hours": 100, "meter": "engine"}}]
    )

    code, out = recheck(capsys)

    assert code == 1
    assert "Alder Lane: can't be worked out" in out


# --- a new day ------------------------------------------------------------------------


def test_renew_behind_when_the_day_has_changed_then_standings_of_today(home):
    assert renew_behind(noon(TODAY)) == 0
    assert renew_behind(noon(TODAY + 20 * DAY)) == 1

    assert Standing.objects.get(item__key="roof").standing == "overdue"
    assert Household.objects.get().reckoned_on == TODAY + 20 * DAY
    assert renew_behind(noon(TODAY + 20 * DAY)) == 0


def test_renew_behind_when_zones_differ_then_each_has_its_own_day(home):
    there = make_household(name="There", timezone="Pacific/Auckland")

    assert renew_behind(noon(TODAY)) == 1
    there.refresh_from_db()
    assert there.reckoned_on == TODAY + DAY


def test_renew_behind_when_one_cannot_be_reckoned_then_the_others_are(home, caplog):
    broken = make_household(name="Broken")
    make_item(make_rig(broken), triggers=[{"every": {"hours": 9, "meter": "engine"}}])

    assert renew_behind(noon(TODAY + 20 * DAY)) == 1
    assert f"household {broken.pk} could not be updated" in caplog.text


def test_renew_behind_when_no_standing_can_change_then_it_leaves_it(home):
    renew_behind(noon(TODAY))
    home.refresh_from_db()
    day_before = home.next_change_on - DAY

    assert day_before > TODAY
    assert renew_behind(noon(day_before)) == 0
    assert renew_behind(noon(home.next_change_on)) == 1


def test_renewed_by_the_job_then_recheck_finds_no_difference(home, capsys, clock):
    clock("2026-05-20")
    renew_standings()

    assert Household.objects.get().reckoned_on == TODAY + 16 * DAY
    assert recheck(capsys)[0] == 0


def test_renew_standings_command_says_how_many(home, capsys, clock):
    clock("2026-05-20")
    call_command("renew_standings")

    assert capsys.readouterr().out == "Households updated: 1.\n"
