"""What every tree of questions keeps to; the first slip is named by its place."""

import re
from collections.abc import Iterable, Iterator, Mapping
from itertools import pairwise

from maintenance.core.facts import FactError
from maintenance.core.trouble import (
    Ending,
    Lead,
    Question,
    Step,
    Tree,
    leads_of,
)

LABELS = ("published", "common practice", "from memory")
FIGURE = re.compile(r"\d")


def check_trees(trees: Mapping[str, Tree]) -> None:
    """FactError at the first place where a tree is broken.

    Every lead exists; every cause has a name of its own and can be reached, as every
    question can; danger is asked about first; what is to be left says 911; every band
    names an answer and together they hold every value; figures have a source; without
    the ways back that are marked, no path comes round: so each one ends; nothing is
    likely because somebody did not know; and no question is asked in vain.
    """
    for tree in trees.values():
        for step in tree.steps.values():
            _check_step(trees, tree, step)
        _check_names(tree)
        _check_reach(trees, tree)
        _check_danger(trees, tree)
    _check_ends(trees)
    _check_earned(trees)
    for tree in trees.values():
        _check_effect(tree)


def _place(tree: Tree, step: Step) -> str:
    return f"{tree.key}.{step.key}"


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
        _check_figures(tree, step)
    else:
        _check_ending(tree, step)


def _check_ending(tree: Tree, ending: Ending) -> None:
    place = _place(tree, ending)
    if not any(label in ending.source for label in LABELS):
        raise FactError(place, f"its source must say one of: {', '.join(LABELS)}")
    if ending.danger == "leave" and not any("911" in line for line in ending.do):
        raise FactError(place, "a rig to leave needs a step that says to call 911")
    if ending.danger and ending.not_cured is not None:
        raise FactError(place, "a danger is the end of a path: nothing leads on")


def _check_figures(tree: Tree, question: Question) -> None:
    """What is measured, and each figure in words, says where it comes from."""
    place = _place(tree, question)
    if question.measure is not None and question.cost == "look":
        raise FactError(place, "what is measured costs a tool or a meter")
    words = [question.ask, question.look, *(one.words for one in question.answers)]
    told = question.measure is not None or FIGURE.search(" ".join(words))
    if told and not any(label in question.source for label in LABELS):
        said = ", ".join(LABELS)
        raise FactError(place, f"has a figure: its source must say one of: {said}")


def _check_names(tree: Tree) -> None:
    names: set[str] = set()
    for step in tree.steps.values():
        if isinstance(step, Ending):
            if step.cause in names:
                raise FactError(_place(tree, step), "its cause is named twice")
            names.add(step.cause)


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


def _check_effect(tree: Tree) -> None:
    """A question whose answers all lead to one place costs a look and tells nothing."""
    for step in tree.steps.values():
        if not isinstance(step, Question):
            continue
        if len({answer.lead for answer in step.answers}) < 2:
            raise FactError(_place(tree, step), "asks in vain: all leads to one place")


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


def _check_danger(trees: Mapping[str, Tree], tree: Tree) -> None:
    """The first question is the danger of the subject, and an answer to it stops."""
    first = tree.steps[tree.first]
    if not isinstance(first, Question) or not first.danger:
        raise FactError(
            _place(tree, first), "the question about danger must come first"
        )
    if not any(_stops(trees, answer.lead) for answer in first.answers):
        raise FactError(_place(tree, first), "no answer to it leads to a danger")


def _stops(trees: Mapping[str, Tree], lead: Lead) -> bool:
    step = trees[lead.tree].step(lead.step)
    return isinstance(step, Ending) and step.stop


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


def _check_earned(trees: Mapping[str, Tree]) -> None:
    """“I don't know” never comes to what is likely, unless a question was answered on
    the way: not at once, not where that did not cure, and not past questions that a rig
    without some equipment is not asked."""
    for tree in trees.values():
        for step in tree.steps.values():
            if not isinstance(step, Question) or step.unknown is None:
                continue
            for ending in _not_asked(trees, step.unknown):
                if ending.sure == "likely":
                    place = _place(tree, step)
                    raise FactError(
                        place, f"not known comes to {ending.key}, called likely"
                    )


def _not_asked(trees: Mapping[str, Tree], begin: Lead) -> Iterator[Ending]:
    """The causes that a path comes to from here without an answer to any question."""
    seen: set[tuple[str, str]] = set()
    waiting = [begin]
    while waiting:
        lead = waiting.pop()
        step = trees[lead.tree].step(lead.step)
        if (lead.tree, step.key) in seen:
            continue
        seen.add((lead.tree, step.key))
        if isinstance(step, Question):
            waiting += _passed_over(step)
            continue
        yield step
        if step.not_cured is not None:
            waiting.append(step.not_cured)


def _passed_over(question: Question) -> Iterable[Lead]:
    """Where it leads on a rig for which one answer is left."""
    plain = [answer for answer in question.answers if not answer.needs]
    if question.danger or len(plain) > 1:
        return ()
    return [answer.lead for answer in (plain or question.answers)]
