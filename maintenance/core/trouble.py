"""Finding a cause: trees of questions, walked answer by answer.

A tree asks one question at a time; each answer leads to another question, to a cause or
into another tree. What a rig does not have takes answers away, and a question with one
answer left is not asked. A path is the list of answers given, so that it can be written
down, shared and taken up again. Each question says what it costs to answer, so that an
order can be chosen; `trouble_checks` holds what every tree must keep to.
"""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from typing import Literal

Who = Literal["owner", "practiced_owner", "shop"]
Sure = Literal["likely", "possible", "unclear"]
# What an answer takes, cheapest first: eyes, ears, nose and memory; something to hold,
# open or run; a measuring instrument.
Cost = Literal["look", "tool", "meter"]
# "leave": everybody out, then 911 from outside. "stop": leave it alone or stay parked,
# and a shop.
Danger = Literal["", "stop", "leave"]

NOT_KNOWN = "unknown"  # the answer “I don't know”
NOT_CURED = "not_cured"  # the answer to a cause that was put right in vain
MOST_STEPS = 60  # of one path; a longer one goes in circles


class TroubleError(ValueError):
    """A path that cannot be walked; the text is fit for a user."""


@dataclass(frozen=True, slots=True)
class Lead:
    """Where something leads: a step of `tree`; no step is its first question. `again`
    marks a way back on purpose."""

    tree: str
    step: str
    again: bool = False


@dataclass(frozen=True, slots=True)
class Answer:
    """`needs` is equipment without which the answer makes no sense."""

    key: str
    words: str
    lead: Lead
    needs: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Band:
    """A measured value from `low` up to, not including, `high` gives this answer."""

    answer: str
    low: Decimal | None = None
    high: Decimal | None = None

    def holds(self, value: Decimal) -> bool:
        above = self.low is None or value >= self.low
        return above and (self.high is None or value < self.high)


@dataclass(frozen=True, slots=True)
class Measure:
    """What can be measured instead of judged. Values outside `least` and `most` are
    slips. `judged_by` names the calculation that says what a value means."""

    name: str
    unit: str
    least: Decimal
    most: Decimal
    bands: tuple[Band, ...]
    judged_by: str = ""


@dataclass(frozen=True, slots=True)
class Question:
    """`fact` names what a rig's own records can answer; `items` are procedures whose
    last time is worth saying here; `source` says where its figures come from."""

    key: str
    ask: str
    answers: tuple[Answer, ...]
    cost: Cost = "look"
    look: str = ""
    unknown: Lead | None = None
    measure: Measure | None = None
    fact: str = ""
    items: tuple[str, ...] = ()
    danger: bool = False
    source: str = ""


@dataclass(frozen=True, slots=True)
class Ending:
    """A cause, named once in its tree: what to do, and by whom. Where it is a danger,
    nothing else is offered."""

    key: str
    cause: str
    do: tuple[str, ...]
    who: Who
    sure: Sure
    source: str
    cautions: tuple[str, ...] = ()
    not_cured: Lead | None = None
    items: tuple[str, ...] = ()
    unfit: bool = False
    danger: Danger = ""

    @property
    def stop(self) -> bool:
        return bool(self.danger)


Step = Question | Ending


@dataclass(frozen=True, slots=True)
class Tree:
    """`needs` is equipment without which a rig cannot have this trouble (all of it)."""

    key: str
    title: str
    steps: Mapping[str, Step]
    first: str
    before: str = ""
    needs: frozenset[str] = frozenset()
    also_called: tuple[str, ...] = ()

    def step(self, key: str) -> Step:
        """KeyError if there is none of this key; without one, the first."""
        return self.steps[key or self.first]


@dataclass(frozen=True, slots=True)
class Taken:
    """One step behind: the question or cause, the answer, the value if measured."""

    tree: str
    step: Step
    answer: str  # its words
    value: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Walk:
    """A path as far as it goes. `answers` are those that the rig leaves at `now`."""

    tree: Tree
    now: Step
    taken: tuple[Taken, ...]
    answers: tuple[Answer, ...] = ()


def walk(
    trees: Mapping[str, Tree],
    key: str,
    path: Sequence[str],
    equipment: Collection[str] | None = None,
) -> Walk:
    """Walk the tree `key` along the answers of `path`.

    An answer is its key; with a measured value, the value itself, such as `12.4`.
    Without `equipment` nothing is taken away. TroubleError says what does not fit.
    """
    if key not in trees:
        raise TroubleError(f"There is no guide called “{key}”.")
    if len(path) > MOST_STEPS:
        raise TroubleError("This link goes in circles. Start over.")
    at = Lead(key, "")
    taken: list[Taken] = []
    for given in path:
        at = _pass_over(trees, at, equipment)
        at, behind = _take(trees[at.tree], at, given, equipment)
        taken.append(behind)
    at = _pass_over(trees, at, equipment)
    now = trees[at.tree].step(at.step)
    return Walk(trees[at.tree], now, tuple(taken), answers_left(now, equipment))


def answers_left(step: Step, equipment: Collection[str] | None) -> tuple[Answer, ...]:
    """The answers of a question that a rig with this equipment can give."""
    if not isinstance(step, Question):
        return ()
    if equipment is None:
        return step.answers
    have = frozenset(equipment)
    return tuple(answer for answer in step.answers if answer.needs <= have)


def _pass_over(
    trees: Mapping[str, Tree], at: Lead, equipment: Collection[str] | None
) -> Lead:
    """On past questions that the rig itself answers."""
    for _ in range(MOST_STEPS):
        step = trees[at.tree].step(at.step)
        left = answers_left(step, equipment)
        if len(left) != 1 or not isinstance(step, Question) or step.danger:
            return at
        at = left[0].lead
    return at


def _take(
    tree: Tree, at: Lead, given: str, equipment: Collection[str] | None
) -> tuple[Lead, Taken]:
    step = tree.step(at.step)
    if isinstance(step, Ending):
        if given != NOT_CURED or step.not_cured is None:
            raise TroubleError(f"“{step.cause}” is the end of this path.")
        return step.not_cured, Taken(tree.key, step, "That wasn't it")
    if given == NOT_KNOWN and step.unknown is not None:
        return step.unknown, Taken(tree.key, step, "I don't know")
    left = {answer.key: answer for answer in answers_left(step, equipment)}
    if given in left:
        return left[given].lead, Taken(tree.key, step, left[given].words)
    return _take_measured(tree, step, given, left)


def _take_measured(
    tree: Tree, step: Question, given: str, left: Mapping[str, Answer]
) -> tuple[Lead, Taken]:
    measure = step.measure
    if measure is None:
        raise TroubleError(f"“{given}” isn't an answer to “{step.ask}”")
    value = as_measured(given, measure)
    key = next(band.answer for band in measure.bands if band.holds(value))
    if key not in left:
        raise TroubleError(f"“{given}” isn't an answer to “{step.ask}”")
    words = f"{value.normalize():f} {measure.unit}: {left[key].words}"
    return left[key].lead, Taken(tree.key, step, words, value)


def as_measured(text: str, measure: Measure) -> Decimal:
    """The number that was typed, or TroubleError with the range that can be."""
    said = (
        f"Enter {measure.name} as a number from {measure.least} to {measure.most} "
        f"{measure.unit}."
    )
    try:
        value = Decimal(text.strip().replace(",", "."))
    except InvalidOperation:
        raise TroubleError(said) from None
    if not value.is_finite() or not measure.least <= value <= measure.most:
        raise TroubleError(said)
    return value


def leads_of(step: Step) -> Iterator[Lead]:
    if isinstance(step, Question):
        yield from (answer.lead for answer in step.answers)
        if step.unknown is not None:
            yield step.unknown
    elif step.not_cured is not None:
        yield step.not_cured
