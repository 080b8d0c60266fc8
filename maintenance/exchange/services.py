"""Bringing a history in: begin, say how it is to be read, start, stop, void."""

from collections.abc import Mapping
from datetime import date

from django.db import transaction
from django.utils import timezone

from maintenance.core.tables import TableError
from maintenance.core.tables.headers import plain_header
from maintenance.households.access import require
from maintenance.households.activity import note_activity
from maintenance.households.models import Household, Member, Role
from maintenance.households.refusals import Refused
from maintenance.jobs.services import enqueue, stop_job
from maintenance.plans.models import PlanItem
from maintenance.service_records.following import follow_up
from maintenance.service_records.models import ServiceRecord
from maintenance.service_records.services import void_many
from maintenance.vehicles.models import Rig

from .imports.files import Source, keep_table, path_of
from .imports.layout import open_questions
from .imports.verdicts import layout_of, told_of_wheels
from .models import MAY_START, ImportJob, RememberedAnswer, State
from .previews import preview_of


@transaction.atomic
def begin(rig: Rig, *, by: Member, source: Source) -> ImportJob:
    """Keep the table; nothing of it is a record yet."""
    require(by, Role.CREW)
    made = ImportJob.objects.create(
        rig=rig,
        file_name=source.name[:120],
        sha256=source.sha256,
        begun_by=by,
    )
    keep_table(made, source.table)
    return made


@transaction.atomic
def choose_columns(
    bringing: ImportJob, *, by: Member, columns: Mapping[int, str]
) -> None:
    """Which column holds what; what the table then tells of itself is taken from it."""
    require(by, Role.CREW)
    _refuse_begun(bringing)
    chosen = [holds for holds in columns.values() if holds]
    for needed, words in (("on", "the day"), ("what", "what was done")):
        if needed not in chosen:
            raise Refused(f"Choose the column for {words}.")
    twice = {holds for holds in chosen if chosen.count(holds) > 1}
    if twice:
        raise Refused("Two columns can't hold the same thing. Skip one.")
    bringing.columns = {str(n): holds for n, holds in columns.items() if holds}
    layout = layout_of(bringing)
    asked = open_questions(layout)
    bringing.day_order = asked.told_order
    bringing.decimal_comma = asked.told_comma
    bringing.distance_unit = layout.unit_in_name()
    bringing.save()
    if layout.header is not None:
        names = [plain_header(name) for name in layout.names]
        told = {name: columns.get(n, "") for n, name in enumerate(names) if name}
        _remember(bringing.rig.household, RememberedAnswer.About.COLUMN, told)


@transaction.atomic
def answer(
    bringing: ImportJob,
    *,
    by: Member,
    jobs: Mapping[str, PlanItem | None],
    day_order: str = "",
    decimal_comma: bool | None = None,
    distance_unit: str = "",
) -> None:
    """What the table left open, and which job is which item of the plan."""
    require(by, Role.CREW)
    _refuse_begun(bringing)
    asked = open_questions(layout_of(bringing))
    if asked.days and not day_order:
        raise Refused("Choose how the days are written.", field="day_order")
    if asked.numbers and decimal_comma is None:
        raise Refused("Choose how the figures are written.", field="decimal_comma")
    if asked.unit and not distance_unit:
        raise Refused(
            "Choose miles or kilometers for distances.", field="distance_unit"
        )
    bringing.day_order = day_order or asked.told_order
    if decimal_comma is not None:
        bringing.decimal_comma = decimal_comma
    bringing.distance_unit = distance_unit
    bringing.jobs = {words: item.pk for words, item in jobs.items() if item}
    bringing.save()
    _remember(
        bringing.rig.household,
        RememberedAnswer.About.JOB,
        {words.casefold(): item.key if item else "" for words, item in jobs.items()},
    )


def _refuse_begun(bringing: ImportJob) -> None:
    if bringing.state != State.ASKING:
        raise Refused(
            "Rows of this file are already added. Send it again to change them."
        )


def _remember(
    household: Household, about: RememberedAnswer.About, told: Mapping[str, str]
) -> None:
    RememberedAnswer.objects.bulk_create(
        (
            RememberedAnswer(household=household, about=about, words=words, means=means)
            for words, means in told.items()
            if len(words) <= 120
        ),
        update_conflicts=True,
        unique_fields=["household", "about", "words"],
        update_fields=["means"],
    )


def remembered(household: Household, about: RememberedAnswer.About) -> dict[str, str]:
    rows = RememberedAnswer.objects.filter(household=household, about=about)
    return dict(rows.values_list("words", "means"))


def start(
    bringing: ImportJob,
    *,
    by: Member,
    today: date,
    with_doubtful: bool,
    wheels: str = "",
) -> None:
    """Let a worker bring the rows in; also goes on where it was stopped."""
    require(by, Role.CREW)
    if not bringing.columns:
        raise Refused("First choose what each column holds.")
    try:
        judged = preview_of(bringing, today=today)
    except TableError as error:
        raise Refused(str(error)) from None
    if judged is None:
        raise Refused("The preview isn't ready yet. Start the import from there.")
    coming = judged.to_come(with_doubtful=with_doubtful)
    if not coming:
        raise Refused("There are no rows to import.")
    if told_of_wheels(bringing.rig, coming) and not wheels:
        raise Refused("Choose Yes or No: were wheels off?", field="wheels")
    _queue(
        bringing,
        total=bringing.added + len(coming),
        with_doubtful=with_doubtful,
        wheels_off=wheels,
    )
    note_activity(by, "started import", f"{bringing.rig}: {bringing.file_name}")


@transaction.atomic
def _queue(
    bringing: ImportJob, *, total: int, with_doubtful: bool, wheels_off: str
) -> None:
    queued = ImportJob.objects.filter(pk=bringing.pk, state__in=MAY_START).update(
        state=State.QUEUED,
        total=total,
        with_doubtful=with_doubtful,
        wheels_off=wheels_off,
        problem="",
        tries=0,
        claimed_until=None,
    )
    if not queued:
        raise Refused("This file is already being imported.")
    enqueue(bringing)


def stop(bringing: ImportJob, *, by: Member) -> None:
    """What is in stays in; the worker sees it before its next rows."""
    stop_job(bringing, by=by)
    note_activity(by, "stopped import", f"{bringing.rig}: {bringing.file_name}")


@transaction.atomic
def void_all(bringing: ImportJob, *, by: Member, today: date, why: str) -> int:
    """Void every record of this file; its rows may then come in again. How many."""
    require(by, Role.KEEPER)
    if not why.strip():
        raise Refused(
            "Enter why you're voiding these records, like “wrong rig”.", field="why"
        )
    now = timezone.now()
    changed = ImportJob.objects.filter(
        pk=bringing.pk, state__in=(State.DONE, State.STOPPED, State.FAILED)
    ).update(state=State.VOIDED, why_voided=why, ended_at=now)
    if not changed:
        raise Refused("These records can't be voided now. Stop the import first.")
    found = ServiceRecord.objects.filter(brought_rows__bringing=bringing).distinct()
    rig = bringing.rig
    count = void_many(rig, list(found), by=by, today=today, why=why)
    bringing.rows.update(withdrawn=True)
    note_activity(by, "voided all of", f"{rig}: {bringing.file_name}")
    follow_up(rig, today=today)
    return count


@transaction.atomic
def forget(bringing: ImportJob, *, by: Member) -> None:
    """A file of which no row came in goes without a trace."""
    require(by, Role.CREW)
    gone, _rows = ImportJob.objects.filter(
        pk=bringing.pk, added=0, state__in=MAY_START
    ).delete()
    if not gone:
        raise Refused("Rows of this file are already added. Void them instead.")
    transaction.on_commit(lambda: path_of(bringing).unlink(missing_ok=True))
