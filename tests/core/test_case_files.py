"""Case files: what is read, what is refused by place and key, and the output's form."""

from copy import deepcopy
from datetime import date
from decimal import Decimal

import pytest

from maintenance.core.cases import parse_case
from maintenance.core.facts import Calendar, FactError, Standing
from maintenance.core.output import rounded, standing_to_data
from maintenance.core.reckon import reckon, reckoning_to_data

CASE = {
    "as_of": "2026-05-04",
    "household": {"timezone": "Europe/Paris", "horizon_days": 14},
    "rig": {
        "in_service": {"on": "2019-06-01", "odometer": 12},
        "duty": [{"from": "2026-05-01", "to": "2026-09-01", "kind": "severe"}],
        "meters": {
            "odometer": {
                "unit": "km",
                "readings": [["2026-04-01", 41800, "confirmed"], ["2026-05-04", 42395]],
                "replaced": [{"on": "2024-02-01", "old_final": 302, "new_start": 0}],
            }
        },
        "stays": [{"from": "2025-11-05", "to": "2026-03-20", "winterized": True}],
        "trips": [
            {"from": "2026-06-01", "to": "2026-06-20", "distance": 1800},
            {
                "from": "2026-04-01",
                "to": "2026-04-02",
                "tow": "pickup",
                "odometer": [5, 9],
                "odometer_unit": "mi",
            },
        ],
        "events": [{"kind": "wheel_off", "on": "2026-05-01", "places": ["LF", "LR"]}],
        "items": [
            {
                "key": "oil",
                "baseline": {"on": "2025-06-30", "odometer": 5},
                "triggers": [{"every": {"months": 12}}],
                "done": [{"on": ["2026-03-20", "2026-03-31"], "outcome": "held"}],
                "safety": True,
            }
        ],
    },
}


def test_everything_is_read() -> None:
    rig, calendar, as_of = parse_case(CASE, "")
    assert as_of == date(2026, 5, 4)
    assert calendar == Calendar("Europe/Paris", 14)
    assert rig.meters["odometer"].readings[0].confirmed
    assert rig.stays[0].winterized
    assert rig.trips[0].unit == "km"  # the rig's own
    assert rig.trips[1].odometer == (5, 9)
    assert rig.trips[1].odometer_unit == "mi"
    assert rig.events[0].places == {"LF", "LR"}
    assert rig.duty[0].end == date(2026, 9, 1)
    item = rig.items[0]
    assert item.safety
    assert item.done[0].until == date(2026, 3, 31)
    assert item.done[0].outcome == "held"


def changed(path: str, value: object) -> dict:
    """CASE with one value set, by a path like rig.items.0.key; ... takes it out."""
    data = deepcopy(CASE)
    at: object = data
    *steps, last = path.split(".")
    for step in steps:
        at = at[int(step)] if isinstance(at, list) else at[step]  # type: ignore[index]
    if value is ...:
        del at[last]  # type: ignore[attr-defined]
    elif isinstance(at, list):
        at[int(last)] = value
    else:
        at[last] = value  # type: ignore[index]
    return data


ODOMETER = "rig.meters.odometer"


@pytest.mark.parametrize(
    ("path", "value", "problem"),
    [
        ("as_of", ..., 'needs "as_of"'),
        ("as_of", "today", 'as_of: must be a day like 2026-05-04, not "today"'),
        ("as_of", "2026-02-30", 'as_of: "2026-02-30" is not in the calendar'),
        ("as_of", "2026-5-4", "as_of: must be a day like"),
        ("rig", ..., 'needs "rig"'),
        ("rig.meters", ..., 'rig: needs "meters"'),
        ("rig.items", ..., 'rig: needs "items"'),
        ("extra", 1, 'unknown key "extra"; known are'),
        ("household.horizon", 1, 'household: unknown key "horizon"; did you mean'),
        ("household.horizon_days", -1, "household.horizon_days: -1 can't be right"),
        (
            "household.seasons",
            {"winter": []},
            'household.seasons: unknown key "winter"',
        ),
        ("household.seasons", {"spring": ["03-15"]}, "must be [first day, last day]"),
        ("household.seasons", {"spring": ["03-15", "02-30"]}, '"02-30" is not a day'),
        ("rig.stay", [], 'rig: unknown key "stay"; did you mean "stays"?'),
        (f"{ODOMETER}.unit", ..., f'{ODOMETER}: needs "unit"'),
        (f"{ODOMETER}.unit", "miles", f'{ODOMETER}.unit: "miles" is not known'),
        (f"{ODOMETER}.reading", [], f'{ODOMETER}: unknown key "reading"'),
        (f"{ODOMETER}.readings.0", ["2026-04-01"], "readings[0]: must be [day, value]"),
        (f"{ODOMETER}.readings.0", ["2026-04-01", 1, "sure"], "readings[0]: must be"),
        (f"{ODOMETER}.readings.0", ["2026-04-01", "many"], "must be a number, not"),
        (
            f"{ODOMETER}.readings.0",
            ["2026-04-01", -1],
            "readings[0]: -1 can't be right",
        ),
        (f"{ODOMETER}.readings.0", ["2026-05-05", 1], "2026-05-05 is after 2026-05-04"),
        (f"{ODOMETER}.replaced.0.from", 1, 'replaced[0]: unknown key "from"'),
        ("rig.in_service.engine", 3, 'rig.in_service: unknown key "engine"'),
        ("rig.duty.0.kind", "mild", 'rig.duty[0].kind: "mild" is not known'),
        (
            "rig.stays.0.to",
            "2025-11-01",
            "stays[0].to: 2025-11-01 is before 2025-11-05",
        ),
        ("rig.stays.0.to", "2026-06-01", "rig.stays[0]: 2026-06-01 is after"),
        ("rig.stays.0.winterized", "yes", "winterized: must be true or false"),
        ("rig.trips.0.to", ..., 'rig.trips[0]: needs "to"'),
        ("rig.trips.0.unit", "h", 'rig.trips[0].unit: "h" is not known'),
        ("rig.trips.1.odometer", [9, 5], "odometer: must be [when hitched, when unhit"),
        ("rig.events.0.kind", "weel_off", 'did you mean "wheel_off"?'),
        ("rig.events.0.places", [], "rig.events[0].places: names no place"),
        ("rig.events.0.on", "2026-05-05", "rig.events[0]: 2026-05-05 is after"),
        ("rig.items.0.key", ..., 'rig.items[0]: needs "key"'),
        ("rig.items.0.triggers", ..., 'rig.items[0]: needs "triggers"'),
        ("rig.items.0.triggers.0", {"evry": {}}, 'triggers[0]: unknown key "evry"'),
        ("rig.items.0.baseline", "bought", 'must be "in_service" or a day with'),
        ("rig.items.0.baseline.hub", 3, 'baseline: unknown key "hub"'),
        ("rig.items.0.safety", 1, "items[0].safety: must be true or false, not 1"),
        ("rig.items.0.done.0.outcome", "ok", 'done[0].outcome: "ok" is not known'),
        ("rig.items.0.done.0.odometr", 5, 'unknown key "odometr"; did you mean "odome'),
        ("rig.items.0.done.0.odometer", Decimal("1e999"), "can't be right"),
        ("rig.items.0.done.0.odometer", Decimal("Infinity"), "t a number"),
        ("rig.items.0.done.0.on", ["2026-03-31", "2026-03-20"], "2026-03-20 is before"),
        ("rig.items.0.done.0.on", ["2026-03-31"], "must be a day or [first day, last"),
        ("rig.items.0.done.0.on", "2026-05-05", "done[0]: 2026-05-05 is after"),
        (
            "rig.items",
            [CASE["rig"]["items"][0]] * 2,
            'items[1].key: "oil" is there twi',
        ),  # type: ignore[index]
    ],
)
def test_refused_by_place_and_key(path: str, value: object, problem: str) -> None:
    with pytest.raises(FactError) as refusal:
        parse_case(changed(path, value), "")
    assert problem in str(refusal.value)


@pytest.mark.parametrize("data", [[], None, 5, "text"])
def test_anything_but_an_object_is_refused(data: object) -> None:
    with pytest.raises(FactError, match="must be an object"):
        parse_case(data, "case")


def test_the_place_comes_first() -> None:
    with pytest.raises(FactError) as refusal:
        parse_case(changed("rig.items.0.key", 5), "a.json")
    assert refusal.value.place == "a.json.rig.items[0].key"


def test_the_form_of_the_output() -> None:
    rig, calendar, as_of = parse_case(CASE, "")
    reckoning = reckon(rig, calendar=calendar, as_of=as_of)
    data = reckoning_to_data(reckoning, lambda fact: fact.key)
    assert list(data) == ["as_of", "meters", "items"]
    assert data["meters"] == {
        "odometer": {"known": 42395, "unit": "km", "doubtful": []}
    }
    items = data["items"]
    assert isinstance(items, list)
    assert list(items[0]) == [
        "key",
        "standing",
        "governing",
        "expected",
        "window",
        "pending",
        "forecast",
        "why",
    ]


def test_a_standing_without_anything_has_all_its_keys() -> None:
    assert standing_to_data(Standing("oil", "settled")) == {
        "key": "oil",
        "standing": "settled",
        "governing": None,
        "expected": False,
        "window": None,
        "pending": [],
        "forecast": None,
    }


@pytest.mark.parametrize(
    ("value", "shown"),
    [
        ("42395", 42395),
        ("42395.04", 42395),
        ("42395.05", 42395.1),
        ("42395.95", 42396),
        ("-0.04", 0),
        ("-1210.5", -1210.5),
    ],
)
def test_values_are_rounded_to_a_tenth(value: str, shown: float) -> None:
    assert rounded(Decimal(value)) == shown
    assert isinstance(rounded(Decimal(value)), type(shown))
