"""Finding a cause: trees of questions, walked answer by answer.

A tree asks one question at a time; each answer leads to another question, to a cause or
into another tree. What a rig does not have takes answers away, and a question with one
answer left is not asked. A path is the list of answers given, so that it can be written
down, shared and taken up again.
"""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from itertools import pairwise
from typing import Literal

from maintenance.core.facts import FactError

Who = Literal["owner", "practiced_owner", "shop"]
Sure = Literal["likely", "possible", "unclear"]

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
    last time is worth saying here."""

    key: str
    ask: str
    answers: tuple[Answer, ...]
    look: str = ""
    unknown: Lead | None = None
    measure: Measure | None = None
    fact: str = ""
    items: tuple[str, ...] = ()
    danger: bool = False


@dataclass(frozen=True, slots=True)
class Ending:
    """A cause: what to do, and by whom. `stop` is danger: nothing else is offered."""

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
    stop: bool = False


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
        raise TroubleError("This path goes in circles. Begin again.")
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
        return step.not_cured, Taken(tree.key, step, "That was not it")
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
        raise TroubleError(f"“{given}” is no answer to “{step.ask}”")
    value = as_measured(given, measure)
    key = next(band.answer for band in measure.bands if band.holds(value))
    if key not in left:
        raise TroubleError(f"“{given}” is no answer to “{step.ask}”")
    words = f"{value.normalize():f} {measure.unit}: {left[key].words}"
    return left[key].lead, Taken(tree.key, step, words, value)


def as_measured(text: str, measure: Measure) -> Decimal:
    """The number that was typed, or TroubleError with the range that can be."""
    said = (
        f"Give {measure.name} as a number from {measure.least} to {measure.most} "
        f"{measure.unit}."
    )
    try:
        value = Decimal(text.strip().replace(",", "."))
    except InvalidOperation:
        raise TroubleError(said) from None
    if not value.is_finite() or not measure.least <= value <= measure.most:
        raise TroubleError(said)
    return value


# --- checks of the trees themselves --------------------------------------------------


def check_trees(trees: Mapping[str, Tree]) -> None:
    """FactError at the first place where a tree is broken.

    Every lead exists; every step can be reached; danger is asked about first; every
    band names an answer and together they hold every value; and without the ways back
    that are marked, no path comes round: so each one ends.
    """
    for tree in trees.values():
        for step in tree.steps.values():
            _check_step(trees, tree, step)
        _check_reach(trees, tree)
        _check_danger(tree)
    _check_ends(trees)


def _place(tree: Tree, step: Step) -> str:
    return f"{tree.key}.{step.key}"


def leads_of(step: Step) -> Iterator[Lead]:
    if isinstance(step, Question):
        yield from (answer.lead for answer in step.answers)
        if step.unknown is not None:
            yield step.unknown
    elif step.not_cured is not None:
        yield step.not_cured


def _is_there(trees: Mapping[str, Tree], lead: Lead) -> bool:
    tree = trees.get(lead.tree)
    return tree is not None and (lead.step or tree.first) in tree.steps


def _check_step(trees: Mapping[str, Tree], tree: Tree, step: Step) -> None:
    for lead in leads_of(step):
        if not _is_there(trees, lead):
            where = f"{lead.tree}:{lead.step}"
            raise FactError(
                _place(tree, step), f'leads to "{where}", which is not there'
            )
    if isinstance(step, Question):
        _check_question(tree, step)


def _check_question(tree: Tree, question: Question) -> None:
    place = _place(tree, question)
    keys = [answer.key for answer in question.answers]
    if len(set(keys)) != len(keys) or len(keys) < 2:
        raise FactError(place, "needs two answers or more, each with a key of its own")
    if question.measure is None:
        return
    bands = question.measure.bands
    if strange := {band.answer for band in bands} - set(keys):
        raise FactError(place, f"a band names no answer: {', '.join(sorted(strange))}")
    ends = [(band.low, band.high) for band in bands]
    joined = all(a[1] == b[0] for a, b in pairwise(ends))
    if not ends or not joined or ends[0][0] is not None or ends[-1][1] is not None:
        raise FactError(
            place, "the bands must join from the lowest value to the highest"
        )


def _check_reach(trees: Mapping[str, Tree], tree: Tree) -> None:
    """From the tree's own first question, or from another tree."""
    entries = {tree.first} | {
        lead.step or tree.first
        for other in trees.values()
        if other.key != tree.key
        for step in other.steps.values()
        for lead in leads_of(step)
        if lead.tree == tree.key
    }
    seen: set[str] = set()
    waiting = list(entries)
    while waiting:
        key = waiting.pop()
        if key in seen:
            continue
        seen.add(key)
        own = (x for x in leads_of(tree.steps[key]) if x.tree == tree.key)
        waiting += [lead.step or tree.first for lead in own]
    if lost := sorted(tree.steps.keys() - seen):
        raise FactError(tree.key, f"nothing leads to {', '.join(lost)}")


def _check_danger(tree: Tree) -> None:
    first = tree.steps[tree.first]
    asks = isinstance(first, Question) and first.danger
    stops = any(isinstance(x, Ending) and x.stop for x in tree.steps.values())
    if stops and not asks:
        raise FactError(
            _place(tree, first), "the question about danger must come first"
        )


def _check_ends(trees: Mapping[str, Tree]) -> None:
    done: set[tuple[str, str]] = set()

    def visit(at: tuple[str, str], above: tuple[tuple[str, str], ...]) -> None:
        if at in above:
            raise FactError(f"{at[0]}.{at[1]}", "a path comes back here unmarked")
        if at in done:
            return
        for lead in leads_of(trees[at[0]].step(at[1])):
            if not lead.again:
                to = trees[lead.tree]
                visit((to.key, lead.step or to.first), (*above, at))
        done.add(at)

    for tree in trees.values():
        for key in tree.steps:
            visit((tree.key, key), ())
