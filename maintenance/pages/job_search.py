"""Jobs of a rig's plan: the likely ones, and those found by typing."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from maintenance.library.model import Procedure
from maintenance.plans.models import PlanItem, StandingName
from maintenance.plans.queries import plan_of, procedures_of
from maintenance.plans.rows import row_of
from maintenance.vehicles.models import Rig

from .search.words import WORD, groups_of

LIKELY = 3
MOST = 6
LEAST = 2  # letters
LIKELY_STANDINGS = (
    StandingName.OVERDUE,
    StandingName.DUE,
    StandingName.SOON,
    StandingName.UNKNOWN,
)
# Words that say that something was done, not what.
ACTS = frozenset(
    {
        *("a", "an", "the", "my", "our", "of", "on", "in", "at", "to", "for", "with"),
        *("and", "had", "have", "has", "did", "do", "got", "get", "was", "were", "i"),
        *("we", "it", "them", "all", "new", "some", "done"),
    }
)


@dataclass(frozen=True, slots=True)
class JobChoice:
    """A job to choose; `when` is a word on its standing, or empty."""

    item: PlanItem
    when: str = ""


def likely_jobs(rig: Rig, today: date) -> list[JobChoice]:
    """Those that press most, in the order of Due."""
    rows = plan_of(rig).filter(standing__in=LIKELY_STANDINGS)
    rows = rows.filter(item__warranty_of__isnull=True)  # a reminder, no work
    rows = rows.order_by("rank", "closes_on", "item__pk")[:LIKELY]
    return [JobChoice(row.item, row_of(row, today).when) for row in rows]


def find_jobs(rig: Rig, typed: str) -> list[JobChoice]:
    """Jobs of the plan in which every word stands, or one that means the same: in the
    title, in what people call it, or in its procedure. The title counts most."""
    typed = " ".join(w for w in WORD.findall(typed.casefold()) if w not in ACTS)
    groups = groups_of(typed) if len(typed) >= LEAST else []
    if not groups:
        return []
    known = procedures_of(rig.household)
    items = PlanItem.objects.active().filter(rig=rig).select_related("rig")
    ranked = [
        (rank, item.title, item)
        for item in items
        if (rank := _rank(groups, _texts(item, known.get(item.key)))) is not None
    ]
    ranked.sort(key=lambda one: one[:2])
    return [JobChoice(item) for _rank_, _title, item in ranked[:MOST]]


def _texts(item: PlanItem, procedure: Procedure | None) -> list[str]:
    """The nearer the job, the earlier."""
    texts = [item.title]
    if procedure is not None:
        texts += [" ".join(procedure.also_called), procedure.title, procedure.why]
        texts += [" ".join(procedure.steps)]
    return [text.casefold() for text in texts]


def _rank(groups: Iterable[list[str]], texts: list[str]) -> int | None:
    """The sum of where each word was found first; None where one was not."""
    words = [set(WORD.findall(text)) for text in texts]
    total = 0
    for group in groups:
        at = next((n for n in range(len(texts)) if _is_in(group, words[n])), None)
        if at is None:
            return None
        total += at
    return total


def _is_in(group: list[str], words: set[str]) -> bool:
    """The word typed may be only begun; those that mean the same stand whole."""
    if any(word.startswith(group[0]) for word in words):
        return True
    stems = set(map(_stem, words))
    return any(set(map(_stem, name.split())) <= stems for name in group)


ENDINGS = ("ations", "ation", "ating", "ated", "ates", "ate", "ings", "ing", "ed", "es")


def _stem(word: str) -> str:
    """“rotated”, “rotating” and “rotation” are one word, and so are one and many."""
    for ending in (*ENDINGS, "s", "e"):
        if word.endswith(ending) and len(word) - len(ending) >= LEAST + 1:
            return word.removesuffix(ending)
    return word
