"""When each procedure makes a rig unfit to travel: each was judged, and stands here.

What is not named makes it so by a finding alone: somebody looked, and says what is
wrong.
"""

import re
from datetime import date

import pytest

from maintenance.core.facts import Span
from maintenance.core.triggers.kinds.life import Life
from maintenance.library.model import UNFIT_WHEN
from maintenance.library.reading import load_library
from maintenance.plans.models import OwnProcedure
from maintenance.plans.own_procedures import as_procedure
from tests.library.library_facts import get, triggers

# Common practice but for what is noted.
BY = {
    "overdue": {
        "bearing_after_water",
        "collision_check",
        "curb_strike_check",
        "flood_recovery",
        "lug_recheck",
        "lug_recheck_dual",
        "lug_steps_trailer",
        # papers
        "insurance_renewal",
        "official_inspection",
        "registration_renewal",
    },
    # From its minute on: nobody knows what it did until somebody has looked.
    "event": {"alarm_cause", "collision_check", "curb_strike_check", "flood_recovery"},
    "measured": {
        "air_brake_test",
        "hub_heat_check",
        "kingpin_wear",
        "propane_leak_check",
        "steering_look",
        "store_tires",
        "tire_condition",  # 49 CFR 393.75(b) and (c)
        "tire_pressure",
        "tire_rotate",
        "tire_wear_pattern",
        "watch_tires",
        "weigh_loaded",
    },
    "age": {"tire_replace"},
}
PAPERS = {"insurance_renewal", "official_inspection", "registration_renewal"}


def keys_by(when: str) -> set[str]:
    every = load_library().procedures.items()
    return {key for key, one in every if when in one.unfit_when}


@pytest.mark.parametrize("when", BY)
def test_what_makes_a_rig_unfit_unseen_is_reviewed_by_key(when: str) -> None:
    assert keys_by(when) == BY[when]


def test_each_text_says_when_and_nothing_else_does() -> None:
    for key, one in load_library().procedures.items():
        assert bool(one.unfit) == bool(one.unfit_when), key
        assert set(one.unfit_when) <= set(UNFIT_WHEN), key


def test_what_may_be_found_is_everything_but_papers_and_age() -> None:
    texts = {key for key, one in load_library().procedures.items() if one.unfit}

    assert texts - keys_by("finding") == PAPERS | keys_by("age")


def test_papers_make_a_rig_not_legal_and_leave_it_fit() -> None:
    every = load_library().procedures.items()
    assert {key for key, one in every if one.not_legal} == PAPERS


def test_road_tire_is_at_its_end_at_ten_years_and_is_replaced_long_before() -> None:
    """Common practice: the ceiling that several tire makers give."""
    assert triggers("tire_replace") == (Life(Span(months=6 * 12), None),)
    assert get("tire_replace").unfit_years == 10


@pytest.mark.parametrize(
    "key",
    ["exit_alarms", "smoke_alarm_test", "co_alarm_test", "propane_alarm_test"],
)
def test_alarm_that_stays_silent_stops_the_trip_wherever_it_is_found(key: str) -> None:
    one = get(key)

    assert one.unfit_when == ("finding",)
    assert re.search(r"does not sound: (take )?no trip", one.unfit)
    assert re.search(r"nobody sleeps? aboard", one.unfit)


@pytest.mark.parametrize("key", ["exit_lighting", "exit_fridge_lighting"])
def test_bad_flame_stops_the_appliance_and_not_the_rig(key: str) -> None:
    """With the gas closed it may be driven to the shop."""
    assert get(key).unfit == ""
    assert "licensed shop" in " ".join(get(key).steps)


def own(**changed: object) -> OwnProcedure:
    plain = {"title": "Look", "who": "owner", "minutes": 1, "steps": ["Look."]}
    return OwnProcedure(written_on=date(2026, 5, 4), **plain, **changed)


@pytest.mark.parametrize(
    ("changed", "when"),
    [
        ({}, ()),
        ({"unfit": "A crack."}, ("finding",)),
        (
            {"unfit": "A crack.", "unfit_when_overdue": True},
            ("overdue", "finding"),
        ),
        (
            {"unfit": "Thin.", "measures": [{"name": "depth", "unit": "in"}]},
            ("measured", "finding"),
        ),
    ],
)
def test_own_procedure_says_when_too(
    changed: dict[str, object], when: tuple[str, ...]
) -> None:
    found = as_procedure(own(**changed))

    assert found.unfit_when == when
    assert found.unfit_when_overdue == ("overdue" in when)
