"""Rules of items as plain data: compared, and put onto a part's own date."""

from collections.abc import Iterable, Mapping
from typing import Any

from maintenance.core.triggers import parse_triggers, trigger_to_data
from maintenance.library.model import Procedure
from maintenance.library.proposals import resolve_triggers

Rules = list[dict[str, Any]]


def canonical(rules: Iterable[Mapping[str, Any]], key: str) -> Rules:
    """The same rules in one form, so that they can be compared: a year is 12 months."""
    return [trigger_to_data(one) for one in parse_triggers([*map(dict, rules)], key)]


def life_start(rules: Iterable[Mapping[str, Any]]) -> str | None:
    """The date that a part's life counts from, as the rules give it; None: not yet."""
    starts = (rule["life"].get("from") for rule in rules if "life" in rule)
    return next((start for start in starts if start), None)


def with_life_start(rules: Iterable[Mapping[str, Any]], start: str | None) -> Rules:
    """The rules with every life counted from `start`."""
    return [
        {**rule, "life": {**rule["life"], "from": start}}
        if start and "life" in rule
        else dict(rule)
        for rule in rules
    ]


def rules_on(
    procedure: Procedure, meters: Mapping[str, str], *, like: Rules | None = None
) -> Rules:
    """The procedure's rules on a rig's meters; a life keeps the date it has in `like`.
    Decimal figures of the library become plain numbers."""
    fitting = canonical(resolve_triggers(procedure, meters), procedure.key)
    return with_life_start(fitting, life_start(like or []))
