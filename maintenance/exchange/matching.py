"""Which item of a rig's plan a job in free words is likely to be."""

import re
from collections.abc import Iterable, Mapping
from difflib import SequenceMatcher

from maintenance.plans.models import PlanItem

ALIKE = 0.82  # our own figure: "engine oil & filter" and "engine oil and filter"


def propose_items(
    jobs: Iterable[str], items: Iterable[PlanItem], remembered: Mapping[str, str]
) -> dict[str, PlanItem | None]:
    """Job -> item: as chosen before, else by the same or nearly the same words."""
    items = list(items)
    by_key = {item.key: item for item in items}
    by_words = {_plain(item.title): item for item in items}
    return {
        job: by_key.get(remembered[job.casefold()])
        if job.casefold() in remembered
        else _nearest(_plain(job), by_words)
        for job in jobs
    }


def _plain(words: str) -> str:
    return " ".join(re.sub(r"[^\w]+", " ", words.casefold()).split())


def _nearest(job: str, by_words: Mapping[str, PlanItem]) -> PlanItem | None:
    if job in by_words:
        return by_words[job]
    scored = ((SequenceMatcher(None, job, words).ratio(), words) for words in by_words)
    score, words = max(scored, default=(0.0, ""))
    return by_words[words] if score >= ALIKE else None
