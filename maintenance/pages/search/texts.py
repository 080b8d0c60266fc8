"""The texts that can be searched: made from guides, library, calculators and rows."""

from collections.abc import Iterable, Iterator

from django.db.models import QuerySet

from maintenance.calculators.subjects import CALCULATORS
from maintenance.core.trouble import Question, Tree
from maintenance.findings.models import Finding
from maintenance.households.models import Household
from maintenance.library.model import Procedure
from maintenance.library.reading import load_library
from maintenance.plans.models import PlanItem
from maintenance.plans.queries import procedures_of
from maintenance.service_records.models import ServiceRecord
from maintenance.troubleshooting.reading import load_trees
from maintenance.ui.words import day_words
from maintenance.vehicles.models import Manual

from ..models import SearchKind, SearchText


def common_texts() -> Iterator[SearchText]:
    """What is the same in every household."""
    for tree in load_trees().values():
        yield SearchText(
            kind=SearchKind.GUIDE,
            key=tree.key,
            title=tree.title,
            words=_joined([*tree.also_called, *_words_of_tree(tree)]),
        )
    for calculator in CALCULATORS.values():
        yield SearchText(
            kind=SearchKind.CALCULATOR,
            key=calculator.key,
            title=str(calculator.title),
            about=str(calculator.group),
            words=_joined([str(calculator.about), *calculator.also_called]),
        )
    for procedure in load_library().procedures.values():
        yield SearchText(
            kind=SearchKind.PROCEDURE,
            key=procedure.key,
            title=procedure.title,
            about=load_library().systems[procedure.system].title,
            words=_words_of(procedure),
        )


def _words_of_tree(tree: Tree) -> Iterator[str]:
    for step in tree.steps.values():
        if isinstance(step, Question):
            yield step.ask
            yield from (answer.words for answer in step.answers)
        else:
            yield step.cause
            yield from step.do


def _words_of(procedure: Procedure) -> str:
    return _joined(
        [procedure.why, *procedure.steps, *procedure.tools, *procedure.supplies]
    )


def item_texts(household: Household) -> Iterator[SearchText]:
    """The household's plan items, with what their procedure and maker say."""
    procedures = procedures_of(household)
    rows = PlanItem.objects.for_household(household).active()
    for item in rows.select_related("rig", "maker"):
        procedure, maker = procedures.get(item.key), getattr(item, "maker", None)
        told = [maker.document, maker.note] if maker else []
        yield SearchText(
            household=household,
            kind=SearchKind.ITEM,
            key=str(item.pk),
            title=item.title,
            about=item.rig.name,
            words=_joined([*told, _words_of(procedure) if procedure else ""]),
        )


def record_texts(rows: "QuerySet[ServiceRecord]") -> Iterator[SearchText]:
    rows = rows.select_related("rig").prefetch_related(
        "lines", "supplies", "parts_used"
    )
    for record in rows.iterator(chunk_size=500):
        lines = list(record.lines.all())
        used = [f"{part.name} {part.number}" for part in record.parts_used.all()]
        about = f"{record.rig.name}, {day_words(record.on)}"
        yield SearchText(
            household_id=record.rig.household_id,
            kind=SearchKind.RECORD,
            key=str(record.pk),
            title="; ".join(line.title for line in lines)[:300],
            about=f"{about}, void" if record.voided_at else about,
            words=_joined(
                [
                    record.doer,
                    record.place,
                    record.notes,
                    *(line.note for line in lines),
                    *used,
                    *(supply.name for supply in record.supplies.all()),
                ]
            ),
        )


def finding_texts(household: Household) -> Iterator[SearchText]:
    rows = Finding.objects.for_household(household).select_related("rig")
    for finding in rows:
        yield SearchText(
            household=household,
            kind=SearchKind.FINDING,
            key=str(finding.pk),
            title=finding.what,
            about=f"{finding.rig.name}, {finding.get_state_display()}",
        )


def manual_texts(household: Household) -> Iterator[SearchText]:
    rows = Manual.objects.filter(rig__household=household).select_related("rig")
    for manual in rows.prefetch_related("notes"):
        yield SearchText(
            household=household,
            kind=SearchKind.MANUAL,
            key=str(manual.key),
            title=manual.title,
            about=manual.rig.name,
            words=_joined([manual.about, *(str(note) for note in manual.notes.all())]),
        )


def _joined(texts: Iterable[str]) -> str:
    return "\n".join(text for text in texts if text)
