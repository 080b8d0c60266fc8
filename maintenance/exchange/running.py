"""Bringing the rows in: claimed by one worker, portion by portion, stopped at any time.

Each portion is one transaction, so what is counted as in is in. A worker that dies
leaves a claim that runs out; the sweep then takes the file again, and only rows that
are not in yet come in.
"""

import logging
from collections.abc import Iterable, Iterator, Sequence
from datetime import date, timedelta
from typing import Any

from django.db import transaction
from django.db.models import F, Q, QuerySet
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from maintenance.core.tables import TableError
from maintenance.households.access import NotAllowed
from maintenance.households.models import Member
from maintenance.households.refusals import Refused
from maintenance.plans.models import Outcome
from maintenance.service_records.following import follow_up
from maintenance.service_records.giving import open_past_findings
from maintenance.service_records.models import DoneBy, ServiceRecord
from maintenance.service_records.services import record_many
from maintenance.service_records.work import Costs, Line, WorkDone
from maintenance.vehicles.models import Rig

from .bringing.rows import Row
from .bringing.verdicts import judge
from .models import Bringing, BroughtRow, State
from .services import enqueue

log = logging.getLogger(__name__)

PORTION = 500  # records in one transaction: half a second or so
LEASE = timedelta(seconds=60)
MOST_TRIES = 3

BROKEN = gettext_lazy(
    "It broke off. What is in stays in; go on to bring in the rest. The reason is in "
    "the log."
)


def bring_in(bringing: Bringing, *, today: date) -> None:
    """Bring in what is not in yet, unless somebody else does or nobody wants it."""
    claim = _claim(bringing)
    if claim is None:
        return
    try:
        ended = _bring(claim, today)
    except (TableError, Refused, NotAllowed) as error:
        claim.end(State.FAILED, problem=str(error))
    except Exception:
        claim.end(State.FAILED, problem=str(BROKEN))
        raise
    else:
        if ended:
            claim.end(State.DONE)
    finally:
        follow_up(bringing.rig, today=today)


def waiting() -> QuerySet[Bringing]:
    """Those that wait, and those whose worker is gone."""
    free = Q(claimed_until__isnull=True) | Q(claimed_until__lt=timezone.now())
    rows = Bringing.objects.filter(state__in=(State.QUEUED, State.RUNNING))
    return rows.filter(free).select_related("rig__household", "begun_by").order_by("pk")


def sweep() -> None:
    """Give up what killed its workers, and call again for the others."""
    waiting().filter(tries__gte=MOST_TRIES).update(
        state=State.FAILED, problem=str(BROKEN), claimed_until=None
    )
    for bringing in waiting():
        enqueue(bringing)


class Claim:
    """A file that is ours to bring in for as long as nobody stops it."""

    def __init__(self, bringing: Bringing, until: Any) -> None:
        self.bringing, self.until = bringing, until

    def keep(self, came: int) -> bool:
        """Count rows as in and hold on for longer; False when it is ours no more."""
        until = timezone.now() + LEASE
        kept = self._held().update(claimed_until=until, added=F("added") + came)
        self.until = until if kept else self.until
        return bool(kept)

    def end(self, state: State, problem: str = "") -> None:
        self._held().update(
            state=state,
            problem=problem[:300],
            claimed_until=None,
            ended_at=timezone.now(),
        )

    def _held(self) -> QuerySet[Bringing]:
        return Bringing.objects.filter(
            pk=self.bringing.pk, state=State.RUNNING, claimed_until=self.until
        )


def _claim(bringing: Bringing) -> Claim | None:
    """Compare and set: of several workers one gets it."""
    until = timezone.now() + LEASE
    taken = waiting().filter(pk=bringing.pk, tries__lt=MOST_TRIES)
    if not taken.update(state=State.RUNNING, claimed_until=until, tries=F("tries") + 1):
        return None
    return Claim(bringing, until)


def _bring(claim: Claim, today: date) -> bool:
    """True when all is in, False when it was stopped on the way."""
    bringing = claim.bringing
    by = bringing.begun_by
    if by is None:
        raise Refused(_("Who began this is not a member any more."))
    judged = judge(bringing, today=today)
    rows = judged.to_come(with_doubtful=bringing.with_doubtful)
    try:
        return all(
            _bring_portion(claim, by, today, portion)
            for portion in _portions(list(_grouped(rows)))
        )
    finally:
        _open_findings(bringing, by)


def _open_findings(bringing: Bringing, by: Member) -> None:
    """After all rows, since a later one can tell that a fault of an earlier one was put
    right. What a worker that died left out the next one makes up for."""
    records = ServiceRecord.objects.filter(brought_rows__bringing=bringing)
    open_past_findings(bringing.rig, records, by=by)


def _bring_portion(
    claim: Claim, by: Member, today: date, groups: Sequence[Sequence[Row]]
) -> bool:
    with transaction.atomic():
        # First, so that a stop waits for this portion or keeps it from beginning.
        if not claim.keep(sum(len(group) for group in groups)):
            return False
        rig = claim.bringing.rig
        works = [_work(rig, group) for group in groups]
        records = record_many(rig, works, by=by, today=today)
        BroughtRow.objects.bulk_create(_provenance(claim.bringing, records, groups))
    return True


def _provenance(
    bringing: Bringing,
    records: Iterable[ServiceRecord],
    groups: Iterable[Sequence[Row]],
) -> Iterator[BroughtRow]:
    for record, group in zip(records, groups, strict=True):
        for row in group:
            yield BroughtRow(
                bringing=bringing,
                rig=bringing.rig,
                record=record,
                number=row.number,
                digest=row.digest,
            )


def _grouped(rows: Iterable[Row]) -> Iterator[list[Row]]:
    """The rows of one invoice together, in the order of their first ones."""
    groups: dict[Any, list[Row]] = {}
    for row in rows:
        groups.setdefault(row.invoice_key, []).append(row)
    yield from groups.values()


def _portions(groups: list[list[Row]]) -> Iterator[list[list[Row]]]:
    for start in range(0, len(groups), PORTION):
        yield groups[start : start + PORTION]


def _work(rig: Rig, group: Sequence[Row]) -> WorkDone:
    """One record of the rows of one invoice: their costs together, the notes once."""
    first = group[0]
    if first.on is None:  # a refused row never comes here
        raise Refused(_("Row %(no)d has no day.") % {"no": first.number})
    values = {kind: value for row in group for kind, value in row.values.items()}
    costs: dict[str, Any] = {}
    for row in group:
        for name, value in row.costs.items():
            costs[name] = costs.get(name, 0) + value
    notes = dict.fromkeys(row.notes for row in group if row.notes)
    return WorkDone(
        rig=rig,
        on=first.on,
        until=first.until,
        lines=[_line(row) for row in group],
        values=values,
        doer=first.doer or _("Not told"),
        done_by=DoneBy.SHOP if first.doer else DoneBy.MEMBER,
        place=next((row.place for row in group if row.place), ""),
        notes="\n".join(notes),
        costs=Costs(**costs),
    )


def _line(row: Row) -> Line:
    outcome = row.outcome or Outcome.DONE
    return Line(row.title, row.item, outcome, row.note, row.measures)
