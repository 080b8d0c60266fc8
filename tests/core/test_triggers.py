"""Triggers as plain data: what is read, what is refused, and back again."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintenance.core.facts import FactError, Span
from maintenance.core.triggers import EVENT_KINDS, parse_triggers, trigger_to_data
from maintenance.core.triggers.kinds.after import After
from maintenance.core.triggers.kinds.every_meter import EveryMeter
from maintenance.core.triggers.kinds.every_time import EveryTime
from maintenance.core.triggers.kinds.life import Life
from maintenance.core.triggers.kinds.storage_entry import StorageEntry
from maintenance.core.triggers.kinds.while_stored import WhileStored

ODOMETER = {"distance": 5000, "unit": "mi", "meter": "odometer"}


def read(data: object, **more: object):
    return parse_triggers([data], "oil", **more)[0]


@pytest.mark.parametrize(
    ("data", "trigger"),
    [
        ({"every": {"years": 2}}, EveryTime(Span(months=24))),
        ({"every": {"days": 9}, "clock": "in_use"}, EveryTime(Span(9), in_use=True)),
        ({"storage_entry": {}}, StorageEntry(0, 7)),
        ({"storage_entry": {"lead": 0}}, StorageEntry(0, 0)),
        ({"while_stored": {"days": 30}}, WhileStored(30)),
        ({"life": {"years": 10}}, Life(Span(months=120), None)),
        (
            {"every": {"hours": 99.5, "meter": "engine"}},
            EveryMeter("engine", "h", Decimal("99.5")),
        ),
        (
            {"after": {"event": "hail", "days": [0, 0]}},
            After("hail", ((Decimal(0), Decimal(0)),)),
        ),
    ],
)
def test_parse(data: dict, trigger: object) -> None:
    assert read(data) == trigger


@pytest.mark.parametrize(
    ("data", "problem"),
    [
        ([], "oil[0]: must be an object with keys, not a list"),
        ({}, "oil[0]: needs a rule: exactly one of"),
        ({"aftr": {}}, 'oil[0]: unknown key "aftr"; did you mean "after"?'),
        ({"season": "spring", "life": {}}, "oil[0]: needs a rule: exactly one of"),
        ({"season": "summer"}, 'oil[0].season: "summer" is not known; known are'),
        ({"season": "spring", "first": {}}, 'oil[0]: unknown key "first"'),
        ({"every": {}}, "oil[0].every: needs an interval: exactly one of"),
        ({"every": {"days": 3, "months": 1}}, "needs an interval: exactly one of"),
        ({"every": {"days": 0}}, "every.days: 0 can't be right: enter 1 to"),
        ({"every": {"days": -5}}, "-5 can't be right"),
        ({"every": {"months": 5000}}, "5000 can't be right: enter 1 to 1,200"),
        ({"every": {"months": 1.5}}, "must be a whole number of months, not 1.5"),
        ({"every": {"months": "12"}}, 'must be a number, not "12"'),
        ({"every": {"months": True}}, "must be a number, not true"),
        (
            {"every": {"months": 1}, "clock": "in_use"},
            "clock: only days in use can count",
        ),
        ({"every": {"months": 1}, "clock": "moon"}, '"moon" is not known'),
        ({"every": {"months": 1}, "first": {"day": 3}}, "first: needs a length"),
        ({"every": {"distance": 9, "meter": "odometer"}}, 'needs "unit": mi or km'),
        ({"every": {"distance": 9, "unit": "mi"}}, 'oil[0].every: needs "meter"'),
        ({"every": ODOMETER | {"unit": "h"}}, 'every.unit: "h" is not known'),
        ({"every": ODOMETER | {"distance": 0}}, "enter 1 to 1,000,000 mi or km"),
        ({"every": ODOMETER, "first": {"hours": 3}}, 'oil[0].first: needs "distance"'),
        ({"after": {"event": "weel_off", "days": [0, 3]}}, 'did you mean "wheel_off"?'),
        ({"after": {"event": "hail", "days": []}}, "must be [least, most] or a list"),
        ({"after": {"event": "hail", "days": [3]}}, "must be a pair [least, most]"),
        ({"after": {"event": "hail", "days": [3, 2]}}, "the second must be larger"),
        ({"after": {"event": "hail", "days": [[0, 1], 5]}}, "days[1]: must be a list"),
        ({"while_stored": {}}, 'oil[0].while_stored: needs "days"'),
        ({"storage_entry": {"by_day": -1}}, "-1 can't be right: enter 0 to"),
        ({"storage_exit": {"lead": 7}}, 'storage_exit: unknown key "lead"'),
        ({"life": {"days": 30}}, "oil[0].life: needs a length of time"),
        ({"life": {"years": 1, "from": "2015"}}, "a day or a month like 2015-04"),
        ({"life": {"years": 1, "from": "2015-13"}}, "is not in the calendar"),
        ({"life": {"years": 1, "from": "2015-02-29"}}, "is not in the calendar"),
        ({"life": {"years": 1, "from": "0015-02-01"}}, "can't be right"),
    ],
)
def test_parse_refuses_by_place_and_key(data: object, problem: str) -> None:
    with pytest.raises(FactError) as refusal:
        read(data)
    assert problem in str(refusal.value)


def test_a_list_is_asked_for() -> None:
    with pytest.raises(FactError, match="oil: must be a list"):
        parse_triggers({}, "oil")  # type: ignore[arg-type]


def test_with_the_rigs_meters_a_missing_unit_is_the_meters_own() -> None:
    every = {"every": {"distance": 5000, "meter": "odometer"}}
    assert read(every, units={"odometer": "km"}).unit == "km"


@pytest.mark.parametrize(
    ("every", "problem"),
    [
        ({"hours": 9, "meter": "engine"}, 'has no "engine"; it has odometer'),
        ({"hours": 9, "meter": "odometer"}, '"odometer" counts in mi'),
    ],
)
def test_with_the_rigs_meters_a_strange_meter_is_refused(
    every: dict, problem: str
) -> None:
    with pytest.raises(FactError) as refusal:
        read({"every": every}, units={"odometer": "mi"})
    assert problem in str(refusal.value)


lengths = st.one_of(
    st.integers(1, 400).map(lambda n: {"days": n}),
    st.integers(1, 100).map(lambda n: {"months": n}),
    st.integers(1, 20).map(lambda n: {"years": n}),
)
distances = st.integers(1, 50000).map(lambda n: {"distance": n})
pairs = st.tuples(st.integers(0, 99), st.integers(100, 200)).map(list)
triggers = st.one_of(
    st.builds(lambda n, s: {"every": n, "severe": s}, lengths, lengths),
    st.builds(
        lambda n, f: {"every": {**n, "unit": "km", "meter": "towed"}, "first": f},
        distances,
        distances,
    ),
    st.sampled_from(["spring", "autumn"]).map(lambda name: {"season": name}),
    st.integers(0, 60).map(lambda n: {"storage_entry": {"by_day": n}}),
    st.booleans().map(
        lambda dry: {"while_stored": {"days": 30, "unless_winterized": dry}}
    ),
    st.just({"storage_exit": {}}),
    st.builds(
        lambda event, days: {"after": {"event": event, "days": days}},
        st.sampled_from(sorted(EVENT_KINDS)),
        st.one_of(pairs, st.lists(pairs, min_size=1, max_size=3)),
    ),
    st.builds(
        lambda p: {
            "after": {
                "event": "wheel_off",
                "distance": p,
                "unit": "mi",
                "meter": "odometer",
            }
        },
        pairs,
    ),
    st.integers(0, 30).map(lambda n: {"before_trip": {"lead": n}}),
    st.sampled_from(["2015-04", "2015-04-30", None]).map(
        lambda start: {"life": {"years": 12, "from": start}}
    ),
)


@given(st.lists(triggers, max_size=5))
def test_to_data_and_back_is_the_same(data: list) -> None:
    parsed = parse_triggers(data, "oil")
    again = parse_triggers([trigger_to_data(one) for one in parsed], "oil")
    assert again == parsed
