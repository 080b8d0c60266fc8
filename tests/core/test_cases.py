"""The worked cases: each was worked by hand from the rules, not from the code's output.

`NAME.json` is a case file; `NAME.expected.json` tells the rule, each item's working in
words, and the fields worked out. A field that is not given was not worked.
"""

import json
from decimal import Decimal
from pathlib import Path

import pytest

from maintenance.core.cases import parse_case
from maintenance.core.facts import FactError
from maintenance.core.reckon import reckon, reckoning_to_data

CASES = Path(__file__).parent.parent / "cases"
NAMES = sorted(
    path.stem for path in CASES.glob("*.json") if ".expected" not in path.name
)


def load(name: str) -> tuple[dict, dict]:
    case = (CASES / f"{name}.json").read_text()
    expected = (CASES / f"{name}.expected.json").read_text()
    return json.loads(case, parse_float=Decimal), json.loads(expected)


def reckoned(case: dict) -> dict:
    rig, calendar, as_of = parse_case(case, "")
    result = reckon(rig, calendar=calendar, as_of=as_of)
    return reckoning_to_data(result, lambda fact: fact.key)


@pytest.mark.parametrize("name", NAMES)
def test_worked_case(name: str) -> None:
    case, expected = load(name)
    if "refused" in expected:
        with pytest.raises(FactError) as refusal:
            reckoned(case)
        assert expected["refused"] in str(refusal.value)
        return
    found = reckoned(case)
    for meter, state in expected.get("meters", {}).items():
        assert found["meters"][meter] == state
    items = {item["key"]: item for item in found["items"]}
    worked = expected.get("items", {})
    assert items.keys() == worked.keys()
    for key, fields in worked.items():
        known = {field: items[key][field] for field in fields if field != "working"}
        assert known == {k: v for k, v in fields.items() if k != "working"}, key


def test_there_are_cases() -> None:
    assert len(NAMES) > 130


@pytest.mark.parametrize("name", NAMES)
def test_every_case_tells_its_rule_and_working(name: str) -> None:
    _case, expected = load(name)
    assert expected["rule"]
    assert all(fields["working"] for fields in expected.get("items", {}).values())


def test_every_reckoned_standing_has_its_facts() -> None:
    for name in NAMES:
        case, expected = load(name)
        if "refused" not in expected:
            assert all(item["why"] for item in reckoned(case)["items"]), name
