"""Facts worded: every fact the core gives, and sentences a user can check by hand."""

import json
import re
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest

from maintenance import core
from maintenance.core.cases import parse_case
from maintenance.core.facts import Fact, FactError, Meter, Reading
from maintenance.core.meters import judge_value
from maintenance.core.reckon import reckon
from maintenance.plans.wording.facts import SENTENCES, word

CORE = Path(core.__file__ or "").parent
CASES = Path(__file__).parent.parent / "cases"
FACT = re.compile(r'(?:\bFact|happened)\(\s*f?"([a-z_{}]+)"')


def keys_in_core() -> set[str]:
    sources = (path.read_text() for path in CORE.rglob("*.py"))
    return {key for source in sources for key in FACT.findall(source)}


def test_every_fact_of_the_core_is_worded() -> None:
    assert keys_in_core() - SENTENCES.keys() == set()
    keys = keys_in_core()
    assert len(keys) > 40


def cases() -> list[str]:
    return [str(p) for p in sorted(CASES.glob("*.json")) if ".expected" not in p.name]


@pytest.mark.parametrize("path", cases())
def test_all_facts_of_a_case_become_whole_sentences(path: str) -> None:
    try:
        case = json.loads(Path(path).read_text(), parse_float=Decimal)
        rig, calendar, as_of = parse_case(case, "")
    except FactError:
        return  # a case that is refused has no facts
    for item in reckon(rig, calendar=calendar, as_of=as_of).items:
        for fact in item.why:
            sentence = word(fact, as_of)
            assert re.fullmatch(r"[A-Z0-9“-].*[.?]", sentence), sentence
            assert "None" not in sentence
            assert "  " not in sentence
            assert "%" not in sentence


def said(name: str, key: str) -> list[str]:
    case = json.loads((CASES / f"{name}.json").read_text(), parse_float=Decimal)
    rig, calendar, as_of = parse_case(case, "")
    items = reckon(rig, calendar=calendar, as_of=as_of).items
    item = next(one for one in items if one.key == key)
    return [word(fact, as_of) for fact in item.why]


def test_a_follow_up_reads_as_an_owner_would_tell_it() -> None:
    assert said("after-distance", "early")[:5] == [
        "Wheel off at 42,310 mi on May 1 (LF, LR).",
        "Re-check between 42,360 and 42,410 mi.",
        "Checked on May 2, 20 mi after: too early to count. A check counts from"
        " 42,360 mi.",
        "Last reading 42,395 mi on May 4.",
        "15 mi to go.",
    ]


@pytest.mark.parametrize(
    ("case", "key", "sentences"),
    [
        (
            "first-and-severe",
            "severe",
            [
                "Last done at 2,000 mi on Jan 15.",
                "Every 3,000 mi, because the rig was in severe duty.",
                "Due between 4,700 and 5,000 mi.",
                "Last reading 5,000 mi on May 4.",
                "0 to go: the limit is this very reading.",
            ],
        ),
        (
            "estimated-values",
            "in_the_stay",
            ["Last done at 41,400 mi (estimated from the readings) on Jan 10."],
        ),
        (
            "meter-replaced",
            "before",
            [
                "Last done at 29,800 mi on Jan 10.",
                "On today's meter, that's -405 mi.",
                "Every 10,000 mi.",
                "Due between 9,095 and 9,595 mi.",
            ],
        ),
        (
            "anchored-time",
            "overrun",
            [
                "Last done on Sep 15, 2025.",
                "Every 12 months.",
                "Counted from Jun 30, 2025, when it was due.",
                "Due between May 31 and Jun 30.",
                "It comes due in 27 days.",
            ],
        ),
        ("base", "none", ["Nothing on record yet."]),
        ("base", "span", ["Last done between May 20, 2025 and Jun 10, 2025."]),
        (
            "every-in-use-void-plan",
            "exit",
            [
                "In storage from Nov 5, 2025; the end isn't known.",
                "It was due out of storage on Jan 5. Is it still parked?",
            ],
        ),
        (
            "every-in-use-void-plan",
            "in_use",
            [
                "Last done on Oct 1, 2025.",
                "Every 60 days out of storage.",
                "Days in storage don't count, and the end of storage isn't known.",
                "It was due out of storage on Jan 5. Is it still parked?",
            ],
        ),
        (
            "life",
            "month",
            ["Good for 12 years from Apr 2015, to the end of the month."],
        ),
        (
            "expected-day-after",
            "recheck",
            [
                "Wheel off at 42,310 mi on May 1.",
                "Re-check between 42,360 and 42,410 mi.",
                "Last reading 42,310 mi on May 1.",
                "It comes due in 50 mi.",
                "No reading since May 1: check now, or enter a reading.",
            ],
        ),
        ("after-no-value", "recheck", ["Wheel off on May 1."]),
        ("waiting-in-a-stay", "distance", ["Last done at 12,000 mi on Oct 1, 2025."]),
        ("after-days", "early", ["Hail on May 1."]),
    ],
)
def test_sentences_can_be_checked_by_hand(
    case: str, key: str, sentences: list[str]
) -> None:
    assert said(case, key)[: len(sentences)] == sentences


def test_days_of_another_year_carry_it() -> None:
    fact = Fact("also_by_day", {"closes": date(2027, 1, 2)})
    assert word(fact, date(2026, 5, 4)) == "Also by Jan 2, 2027."
    assert word(fact, date(2027, 5, 4)) == "Also by Jan 2."
    assert word(fact) == "Also by Jan 2, 2027."


def test_one_day_is_one_day() -> None:
    assert word(Fact("left_days", {"days": 1})) == "1 day to go."
    assert word(Fact("left_days", {"days": 0})) == "Today is the last day."
    assert word(Fact("over_by_days", {"days": 1})) == "That was 1 day ago."


def test_a_doubtful_reading_is_told_with_its_neighbors() -> None:
    case = json.loads((CASES / "doubtful-lower.json").read_text())
    rig, _calendar, as_of = parse_case(case, "")
    meter = rig.meters["odometer"]
    reasons = judge_value(meter, meter.readings[2]).reasons
    assert [word(fact, as_of) for fact in reasons] == [
        "1,200 mi on Mar 1 doesn't fit between 11,000 mi on Feb 1 and 12,000 mi on "
        "Apr 1.",
        "It is less than 11,000 mi on Feb 1, which was before.",
    ]


def test_what_the_gate_says_of_a_value_reads_as_a_person_would_tell_it() -> None:
    rows = [("2025-01-01", 9000), ("2025-10-01", 10000)]
    meter = Meter(
        "mi", tuple(Reading(date.fromisoformat(on), Decimal(v)) for on, v in rows)
    )
    verdict = judge_value(meter, Reading(date(2025, 11, 30), Decimal(67900)))
    assert verdict.echo is not None
    assert word(verdict.echo, date(2025, 11, 30)) == (
        "57,900 mi since Oct 1, 965 mi a day."
    )
    assert [word(fact, date(2025, 11, 30)) for fact in verdict.reasons] == [
        "That would be 965 mi a day for 60 days; the most it ever did in as many days "
        "is 3.7 mi a day.",
    ]
