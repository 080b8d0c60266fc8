"""How the library's own rules are read and reckoned in tests."""

from collections.abc import Iterable, Mapping

from maintenance.core.cases import parse_case
from maintenance.core.facts import Trigger
from maintenance.core.reckon import reckon, standing_to_data
from maintenance.core.triggers import parse_triggers
from maintenance.library.model import Procedure
from maintenance.library.proposals import propose
from maintenance.library.reading import load_library

AS_OF = "2026-11-01"


def get(key: str) -> Procedure:
    return load_library().procedures[key]


def triggers(key: str) -> tuple[Trigger, ...]:
    return parse_triggers(list(get(key).triggers), key)


def told(key: str) -> str:
    return " ".join((*get(key).cautions, *get(key).steps))


def cited(key: str, figure: str) -> str:
    """What is published and named where a source's `of` speaks of the figure."""
    return " ".join(
        source.text
        for source in get(key).sources
        if source.kind == "published" and figure in source.of
    )


def reckoned(rules: Iterable[Mapping[str, object]], as_of: str, **item: object) -> dict:
    """One item with these rules on a rig that has every meter, on a day."""
    meters = {
        "odometer": {"unit": "mi", "readings": []},
        "generator": {"unit": "h", "readings": item.pop("hours", [])},
    }
    rig = {
        "meters": meters,
        "items": [{"key": "item", "triggers": list(rules), **item}],
    }
    facts, calendar, day = parse_case({"as_of": as_of, "rig": rig}, "")
    return standing_to_data(reckon(facts, calendar=calendar, as_of=day).items[0])


def closes(rules: Iterable[Mapping[str, object]], as_of: str, **item: object) -> object:
    return reckoned(rules, as_of, **item)["window"]["closes"]


def life_of(key: str, start: str, years: int | None = None) -> list[dict]:
    """The library's life of a part made or last tested in `start`; `years` instead,
    where the owner set the rule to what the part itself says."""
    rules = [rule["life"] for rule in get(key).triggers if "life" in rule]
    assert len(rules) == 1, key
    return [{"life": {"years": years or rules[0]["years"], "from": start}}]


def done(on: str) -> list[dict]:
    return [{"on": on}]


def month_of(day: object) -> str:
    return str(day)[:7]


def proposed(*equipment: str, kind: str = "travel_trailer") -> set[str]:
    found = propose(load_library(), kind=kind, equipment=equipment, meters=["towed"])
    return {one.procedure.key for one in found}
