"""Walking trees of questions, and refusing trees that are broken."""

from dataclasses import replace
from decimal import Decimal

import pytest

from maintenance.core.facts import FactError
from maintenance.core.trouble import (
    Answer,
    Band,
    Ending,
    Lead,
    Measure,
    Question,
    Tree,
    TroubleError,
    walk,
)
from maintenance.core.trouble_checks import check_trees


def lead(step, tree="pump", again=False):
    return Lead(tree, step, again)


def ask(key, *answers, **more):
    made = tuple(
        Answer(name, name.capitalize(), lead(to), frozenset(needs))
        for name, to, *needs in answers
    )
    return Question(key, f"{key}?", made, **more)


def end(key, **more):
    base = {"cause": key, "do": ("Do it.",), "who": "owner", "sure": "likely"}
    return Ending(key, **base | {"source": "common practice"} | more)


VOLTS = Measure(
    "the voltage",
    "V",
    Decimal(0),
    Decimal(17),
    (Band("no", high=Decimal(12)), Band("yes", low=Decimal(12))),
)


def tree(*steps, key="pump", **more):
    return Tree(key, key, {step.key: step for step in steps}, steps[0].key, **more)


@pytest.fixture
def trees():
    pump = tree(
        ask("runs", ("no", "volts"), ("yes", "air"), unknown=lead("air")),
        ask("volts", ("no", "flat"), ("yes", "dead"), measure=VOLTS),
        ask("air", ("gas", "dead", "propane"), ("bubbles", "flat")),
        end("flat", not_cured=lead("dead")),
        end("dead", not_cured=lead("runs", again=True)),
    )
    return {"pump": pump}


def test_walk_begins_with_the_first_question(trees):
    found = walk(trees, "pump", [])

    assert found.now.key == "runs"
    assert [answer.key for answer in found.answers] == ["no", "yes"]


def test_walk_follows_answers_and_keeps_them_in_words(trees):
    found = walk(trees, "pump", ["no", "no"])

    assert found.now.key == "flat"
    assert [(x.step.key, x.answer) for x in found.taken] == [
        ("runs", "No"),
        ("volts", "No"),
    ]


@pytest.mark.parametrize(
    ("typed", "cause"), [("11.99", "flat"), ("12", "dead"), ("12,6", "dead")]
)
def test_measured_value_gives_the_answer_of_its_band(trees, typed, cause):
    found = walk(trees, "pump", ["no", typed])

    assert found.now.key == cause
    assert found.taken[-1].value == Decimal(typed.replace(",", "."))


@pytest.mark.parametrize("typed", ["170", "-1", "NaN", "Infinity", "twelve", ""])
def test_value_that_cannot_be_is_refused_with_the_range(trees, typed):
    with pytest.raises(TroubleError, match="from 0 to 17 V"):
        walk(trees, "pump", ["no", typed])


def test_i_do_not_know_goes_where_the_tree_says(trees):
    assert walk(trees, "pump", ["unknown"]).now.key == "air"


def test_i_do_not_know_is_no_answer_where_the_tree_has_none(trees):
    with pytest.raises(TroubleError):
        walk(trees, "pump", ["no", "unknown"])


def test_cause_that_did_not_cure_leads_on(trees):
    assert walk(trees, "pump", ["no", "no", "not_cured"]).now.key == "dead"


def test_what_the_rig_lacks_takes_the_answer_and_then_the_question_away(trees):
    with_gas = walk(trees, "pump", ["yes"], ["propane"])
    without = walk(trees, "pump", ["yes"], [])

    assert [answer.key for answer in with_gas.answers] == ["gas", "bubbles"]
    assert without.now.key == "flat"


def test_answer_that_the_rig_cannot_give_is_refused(trees):
    trees["pump"].steps["air"]  # "gas" needs propane
    with pytest.raises(TroubleError):
        walk(trees, "pump", ["yes", "gas"], [])


def test_question_about_danger_is_asked_whatever_the_rig_has(trees):
    air = replace(trees["pump"].steps["air"], danger=True)
    steps = {**trees["pump"].steps, "air": air}
    asked = {"pump": replace(trees["pump"], steps=steps)}

    assert walk(asked, "pump", ["yes"], []).now.key == "air"


def test_going_round_has_an_end(trees):
    with pytest.raises(TroubleError, match="circles"):
        walk(trees, "pump", ["no", "yes", "not_cured"] * 30)


def test_tree_that_is_not_there_is_refused(trees):
    with pytest.raises(TroubleError, match="no guide"):
        walk(trees, "engine", [])


# --- what every tree keeps to ---------------------------------------------------------

HURT = end("hurt", danger="leave", do=("Leave.", "Call 911 from outside."))
VOLTS_KNOWN = {"measure": VOLTS, "cost": "meter", "source": "common practice"}


def guarded(*steps):
    """The steps behind a question about danger, as every tree begins."""
    danger = ask("danger", ("yes", "hurt"), ("no", steps[0].key), danger=True)
    return {"pump": tree(danger, HURT, *steps)}


def test_whole_tree_passes():
    check_trees(
        guarded(
            ask("a", ("yes", "b"), ("no", "c"), unknown=lead("c")),
            ask("c", ("yes", "b"), ("no", "d"), **VOLTS_KNOWN),
            end("b", not_cured=lead("c", again=True)),
            end("d", sure="unclear"),
        )
    )


BROKEN = {
    "which is not there": [ask("a", ("yes", "b"), ("no", "nowhere")), end("b")],
    "nothing leads to c": [ask("a", ("yes", "b"), ("no", "b")), end("b"), end("c")],
    "two answers": [ask("a", ("yes", "b")), end("b")],
    "comes back here": [
        ask("a", ("yes", "b"), ("no", "c")),
        end("b", not_cured=lead("a")),
        end("c"),
    ],
    "names no answer": [
        ask("a", ("up", "b"), ("down", "b"), **VOLTS_KNOWN),
        end("b"),
    ],
    "must join": [
        ask(
            "a",
            ("no", "b"),
            ("yes", "b"),
            **VOLTS_KNOWN | {"measure": replace(VOLTS, bands=VOLTS.bands[:1])},
        ),
        end("b"),
    ],
    "costs a tool or a meter": [
        ask("a", ("no", "b"), ("yes", "b"), **VOLTS_KNOWN | {"cost": "look"}),
        end("b"),
    ],
    "has a figure": [
        ask("a", ("no", "b"), ("yes", "b"), look="About 12 V is good."),
        end("b"),
    ],
    "its source must say": [
        ask("a", ("no", "b"), ("yes", "b")),
        end("b", source="a friend"),
    ],
    "named twice": [
        ask("a", ("no", "b"), ("yes", "c")),
        end("b", cause="worn"),
        end("c", cause="worn"),
    ],
    "needs a step that says to call 911": [
        ask("a", ("no", "b"), ("yes", "c")),
        end("b", danger="leave"),
        end("c"),
    ],
    "nothing leads on": [
        ask("a", ("no", "b"), ("yes", "c")),
        end("b", danger="stop", not_cured=lead("c")),
        end("c"),
    ],
    "asks in vain": [
        ask("a", ("no", "b"), ("yes", "c")),
        ask("b", ("no", "d"), ("yes", "d")),
        end("c"),
        end("d"),
    ],
    "not known comes to b": [
        ask("a", ("no", "b"), ("yes", "c"), unknown=lead("b")),
        end("b"),
        end("c"),
    ],
    "not known comes to c": [  # by what did not cure
        ask("a", ("no", "b"), ("yes", "c"), unknown=lead("b")),
        end("b", sure="possible", not_cured=lead("c")),
        end("c"),
    ],
    "not known comes to d": [  # past a question that a rig without gas is not asked
        ask("a", ("no", "b"), ("yes", "c"), unknown=lead("b")),
        ask("b", ("gas", "c", "propane"), ("rest", "d")),
        end("c"),
        end("d"),
    ],
}


@pytest.mark.parametrize("problem", BROKEN)
def test_broken_tree_is_refused_with_its_place(problem):
    with pytest.raises(FactError, match=problem):
        check_trees(guarded(*BROKEN[problem]))


@pytest.mark.parametrize(
    ("problem", "steps"),
    [
        ("danger must come first", [ask("a", ("y", "b"), ("n", "b")), end("b")]),
        (
            "no answer to it leads to a danger",
            [ask("a", ("y", "b"), ("n", "b"), danger=True), end("b")],
        ),
    ],
)
def test_tree_that_does_not_begin_with_its_danger_is_refused(problem, steps):
    with pytest.raises(FactError, match=problem):
        check_trees({"pump": tree(*steps)})
