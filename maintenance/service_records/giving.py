"""What records give: readings, completions, events, findings opened and fixed, supplies
used, papers renewed, warranties. One function for one record and for thousands."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from uuid import NAMESPACE_OID, UUID, uuid5

from django.db.models import Model, Prefetch, Q, QuerySet
from django.utils.timezone import localdate

from maintenance.core.facts import TOW_ODOMETER
from maintenance.findings.models import Finding, FindingState
from maintenance.households.models import Member
from maintenance.library.model import Procedure
from maintenance.plans.measures import EXPIRES, from_data
from maintenance.plans.models import COMPLETING, Completion, Deferral, Outcome, PlanItem
from maintenance.plans.papers import columns_until
from maintenance.plans.queries import procedures_of
from maintenance.supplies.stock import take_out
from maintenance.vehicles.models import Event, Meter, Reading, Rig
from maintenance.vehicles.road import tow_meter_on
from maintenance.vehicles.services import check_places

from .journal import Journal
from .models import (
    FoundOrFixed,
    LineFinding,
    RecordLine,
    ServiceRecord,
    SupplyUsed,
)
from .standing_faults import Fault, standing_faults
from .torque import differing_figures
from .warranty import give_warranty
from .work import WHEEL_OFF, Line, checks_wheels

WHAT = 300  # characters of what is not right


@dataclass
class _Giving:
    """Who gives on which day, and what is looked up once for many records."""

    by: Member
    today: date
    procedures: Mapping[str, Procedure]
    again: bool
    journal: Journal = field(default_factory=Journal)
    renewed: dict[int, list[PlanItem]] = field(default_factory=dict)
    # Record id -> the kinds of meters whose values count nowhere.
    questionable: Mapping[int, Collection[str]] = field(default_factory=dict)

    def also_renewed(self, item: PlanItem) -> list[PlanItem]:
        if item.pk not in self.renewed:
            procedure = self.procedures.get(item.key)
            self.renewed[item.pk] = list(also_renewed(item, procedure))
        return self.renewed[item.pk]


def also_renewed(item: PlanItem, procedure: Procedure | None) -> Iterable[PlanItem]:
    """The items of the same rig that the item's procedure renews with it; work on one
    component renews nothing of another one."""
    if procedure is None or not procedure.renews:
        return ()
    rows = PlanItem.objects.active().filter(rig=item.rig_id, key__in=procedure.renews)
    return rows.filter(Q(component=None) | Q(component=item.component_id))


def give(
    records: Sequence[ServiceRecord],
    *,
    by: Member,
    today: date,
    again: bool = False,
    findings: bool = True,
    questionable: Mapping[int, Collection[str]] | None = None,
) -> None:
    """Give effect to what records say, and note in the journal what was made and
    changed. Of a record that is part of another one: what that one does not give.
    `again`: what it gave before was taken back. Without `findings` none is opened yet.
    Values of the meters that are `questionable` (by record id) are kept as readings
    that count nowhere; given again unchanged, they are so still.

    The caller holds the transaction and renews the standings.
    """
    loaded = _loaded(records)
    if not loaded:
        return
    known = procedures_of(loaded[0].rig.household)
    giving = _Giving(by, today, known, again, questionable=questionable or {})
    _give_readings(giving, loaded)
    _give_completions(giving, loaded)
    _give_events(giving, loaded)
    if findings:
        _open_findings(giving, loaded, standing_faults(loaded[0].rig, _faulty(loaded)))
    _fix_findings(giving, loaded)
    _take_supplies(giving, loaded)
    for record in loaded:
        _renew_papers(giving, record)
        give_warranty(record, today=today, journal=giving.journal)
    giving.journal.write()
    if again:
        _forget_taken_back(loaded)


def _forget_taken_back(records: Sequence[ServiceRecord]) -> None:
    """What a corrected record does not say any more is not its own."""
    alone = [record for record in records if record.merged_into_id is None]
    ids, lines = [record.pk for record in alone], _line_ids(alone)
    for kind, owners in ((READINGS, ids), (EVENTS, ids), (COMPLETIONS, lines)):
        kind.taken_back(owners).delete()


def _loaded(records: Collection[ServiceRecord]) -> list[ServiceRecord]:
    ids = [record.pk for record in records]
    lines = RecordLine.objects.prefetch_related("item__rig__household")
    # The rig by a query of its own: joined, each record would have another copy of it.
    rows = ServiceRecord.objects.select_related(
        "torque", "merged_into", "warranty_item"
    ).prefetch_related(
        "rig__household",
        "rig__meters",
        "torque__places",
        # As a list: of thousands of records the managers cost more than the rows.
        Prefetch("lines", lines, to_attr="its_lines"),
    )
    found = rows.in_bulk(ids)
    return [found[pk] for pk in ids]


def _lines_of(record: ServiceRecord) -> list[RecordLine]:
    """Of a record that was loaded here, in their order."""
    lines: list[RecordLine] = record.its_lines  # type: ignore[attr-defined]
    return lines


# --- rows that a record points to -----------------------------------------------------


@dataclass(frozen=True)
class _Kind:
    """A kind of row that records or their lines point to. `same`: the columns by which
    a row that was taken back is known again."""

    model: type[Model]
    through: type[Model]
    owner: str
    row: str
    same: tuple[str, ...]

    def of(self, row: Model) -> tuple[object, ...]:
        return tuple(getattr(row, name) for name in self.same)

    def taken_back(self, owners: Sequence[int]) -> QuerySet[Model]:
        """The links of the owners to rows that do not count."""
        withdrawn = f"{self.row.removesuffix('_id')}__withdrawn"
        return self.through._default_manager.filter(
            **{f"{self.owner}__in": owners, withdrawn: True}
        )


READINGS = _Kind(
    Reading,
    ServiceRecord.readings.through,
    "servicerecord_id",
    "reading_id",
    ("meter_id", "on", "value", "confirmed", "questionable"),
)
EVENTS = _Kind(
    Event,
    ServiceRecord.events.through,
    "servicerecord_id",
    "event_id",
    ("kind", "on", "values", "places", "note"),
)
COMPLETIONS = _Kind(
    Completion,
    RecordLine.completions.through,
    "recordline_id",
    "completion_id",
    ("item_id", "on", "until", "values", "outcome", "places"),
)
# The record, the id of what points to the row, and the row.
Wanted = tuple[ServiceRecord, int, Model]


def _give_rows(
    giving: _Giving, kind: _Kind, owners: Sequence[int], wanted: Iterable[Wanted]
) -> None:
    """Make the rows, or let those count again that were taken back and are the same."""
    old = _taken_back(kind, owners) if giving.again else defaultdict(list)
    new: list[Wanted] = []
    again: list[int] = []
    for record, owner, row in wanted:
        rows = old[owner]
        same = next((one for one in rows if kind.of(one) == kind.of(row)), None)
        if same is None:
            new.append((record, owner, row))
            continue
        rows.remove(same)
        same.withdrawn = False  # type: ignore[attr-defined]
        again.append(same.pk)
        giving.journal.made(record, same)
    kind.model._default_manager.filter(pk__in=again).update(withdrawn=False)
    kind.model._default_manager.bulk_create(row for _record, _owner, row in new)
    kind.through._default_manager.bulk_create(
        kind.through(**{kind.owner: owner, kind.row: row.pk})
        for _record, owner, row in new
    )
    for record, _owner, row in new:
        giving.journal.made(record, row)


def _taken_back(kind: _Kind, owners: Sequence[int]) -> dict[int, list[Model]]:
    links = kind.taken_back(owners).order_by("pk")
    found = list(links.values_list(kind.owner, kind.row))
    rows = kind.model._default_manager.in_bulk([row for _owner, row in found])
    old: dict[int, list[Model]] = defaultdict(list)
    for owner, row in found:
        old[owner].append(rows[row])
    return old


# --- readings -------------------------------------------------------------------------


def _give_readings(giving: _Giving, records: Sequence[ServiceRecord]) -> None:
    """A figure of a span belongs to none of its days and is no reading."""
    rigs = {record.rig_id: record.rig for record in records}
    meters = {
        pk: {meter.kind: meter for meter in rig.meters.all()}
        for pk, rig in rigs.items()
    }
    open_before = _questionable_before(records) if giving.again else set()
    wanted = (
        (record, record.pk, reading)
        for record in records
        if record.until is None
        for reading in _readings(
            giving, record, _with_tow(record, meters[record.rig_id]), open_before
        )
    )
    _give_rows(giving, READINGS, [record.pk for record in records], wanted)


def _with_tow(record: ServiceRecord, meters: Mapping[str, Meter]) -> dict[str, Meter]:
    """On the road the odometer of what towed the rig was read as well."""
    found = dict(meters)
    if TOW_ODOMETER in record.values:
        tow = tow_meter_on(record.rig, record.on)
        if tow is not None:
            found[TOW_ODOMETER] = tow
    return found


# A record, a meter, the day and the value.
Said = tuple[int, str, date, Decimal]


def _questionable_before(records: Sequence[ServiceRecord]) -> set[Said]:
    """What the records said before, and nobody knew whether it was right."""
    links = READINGS.taken_back([record.pk for record in records])
    names = (
        "servicerecord_id",
        *(f"reading__{x}" for x in ("meter__kind", "on", "value")),
    )
    return set(links.filter(reading__questionable=True).values_list(*names))


def _readings(
    giving: _Giving,
    record: ServiceRecord,
    meters: Mapping[str, Meter],
    open_before: Collection[Said],
) -> Iterator[Reading]:
    kinds = giving.questionable.get(record.pk, ())
    for kind, value in record.values.items():
        if kind in meters:
            said = (record.pk, meters[kind].kind, record.on, Decimal(value))
            is_open = kind in kinds or said in open_before
            yield Reading(
                meter=meters[kind],
                on=record.on,
                value=Decimal(value),
                confirmed=record.values_confirmed and not is_open,
                questionable=is_open,
                entered_by=giving.by,
            )


# --- completions ----------------------------------------------------------------------


def _give_completions(giving: _Giving, records: Sequence[ServiceRecord]) -> None:
    made = [
        (record, line.pk, completion)
        for record in records
        for line, completion in _not_twice(record, _completions(giving, record))
    ]
    _end_deferrals(giving, [(record, done) for record, _line, done in made])
    _give_rows(giving, COMPLETIONS, _line_ids(records), made)


def _line_ids(records: Sequence[ServiceRecord]) -> list[int]:
    return [line.pk for record in records for line in _lines_of(record)]


def _completions(
    giving: _Giving, record: ServiceRecord
) -> Iterator[tuple[RecordLine, Completion]]:
    """Each line's own item and, at the same places, what that also renews."""
    for line in _lines_of(record):
        item = line.item
        if item is None or line.outcome not in COMPLETING:
            continue
        for outcome, places in _parts_of(record, line, item):
            looked = outcome == Outcome.SERVICEABLE
            # Looking renews nothing but the look.
            for one in [item, *([] if looked else giving.also_renewed(item))]:
                yield (
                    line,
                    Completion(
                        item=one,
                        on=record.on,
                        until=record.until,
                        values=record.values,
                        outcome=outcome,
                        places=places,
                        entered_by=giving.by,
                    ),
                )


def _parts_of(
    record: ServiceRecord, line: RecordLine, item: PlanItem
) -> list[tuple[str, list[str] | None]]:
    """How it went, and where (None: everywhere). A check of wheels after they were off
    completes wheel by wheel: those where a nut had moved raise their own next check."""
    checked, moved = wheels_checked(record)
    if not (checked and checks_wheels(item)):
        return [(line.outcome, line.places)]
    parts = [(Outcome.HELD, checked - moved), (Outcome.MOVED, moved)]
    return [
        (outcome, check_places(record.rig, places))
        for outcome, places in parts
        if places
    ]


def wheels_checked(record: ServiceRecord) -> tuple[frozenset[str], frozenset[str]]:
    """The wheels that the record says were checked, and those of them that moved."""
    check = getattr(record, "torque", None)
    places = check.places.all() if check is not None else ()
    wheels = [row for row in places if row.place in record.rig.places]
    moved = frozenset(row.place for row in wheels if row.moved)
    others = (row.place for row in wheels if row.held or row.reached is not None)
    return moved.union(others), moved


def _not_twice(
    record: ServiceRecord, made: Iterable[tuple[RecordLine, Completion]]
) -> Iterator[tuple[RecordLine, Completion]]:
    """Without what the record that this one is part of completes too."""
    theirs = []
    if record.merged_into_id is not None:
        rows = Completion.objects.filter(record_lines__record=record.merged_into_id)
        theirs = list(rows.filter(withdrawn=False).distinct())
    for line, done in made:
        same = [one for one in theirs if one.item_id == done.item_id]
        if not any(_covers(one.places, done.places) for one in same):
            yield line, done


def _covers(places: list[str] | None, others: list[str] | None) -> bool:
    """Whether all of `others` are among `places`; None means all of them."""
    return places is None or (others is not None and set(others) <= set(places))


def _end_deferrals(
    giving: _Giving, made: Sequence[tuple[ServiceRecord, Completion]]
) -> None:
    """What was done since an item was put off ends that; what was before does not."""
    latest: dict[int, tuple[date, ServiceRecord]] = {}
    for record, done in made:
        day = done.until or done.on
        if day >= latest.get(done.item_id, (day, record))[0]:
            latest[done.item_id] = day, record
    rows = Deferral.objects.filter(item__in=latest, ended=False)
    for row in rows:
        day, record = latest[row.item_id]
        if localdate(row.made_at, record.rig.household.zone) <= day:
            giving.journal.change(record, row, ended=True)


# --- events ---------------------------------------------------------------------------


def _give_events(giving: _Giving, records: Sequence[ServiceRecord]) -> None:
    wanted = (
        (record, record.pk, event)
        for record in records
        for event in _events(giving, record)
    )
    _give_rows(giving, EVENTS, [record.pk for record in records], wanted)


def _events(giving: _Giving, record: ServiceRecord) -> Iterator[Event]:
    """Those that the lines' procedures raise, and wheels that were off. Without wheels
    named, work that takes wheels off means all of them."""
    lines = _lines_of(record)
    kinds = raised_kinds(lines, giving.procedures)
    if record.wheels_off:
        kinds.setdefault(WHEEL_OFF, lines[0].title)
    places = check_places(record.rig, record.wheels_off or None)
    theirs = []
    if record.merged_into is not None:
        theirs = list(record.merged_into.events.filter(withdrawn=False))
    for kind, note in kinds.items():
        same = [one for one in theirs if one.kind == kind]
        if not any(_covers(one.places, places) for one in same):
            yield Event(
                rig=record.rig,
                kind=kind,
                on=record.on,
                values=record.values,
                places=places,
                note=note[:200],
                entered_by=giving.by,
            )


def raised_kinds(
    lines: Iterable[RecordLine | Line], known: Mapping[str, Procedure]
) -> dict[str, str]:
    """Kind of event -> title of the job that raises it; `known` are the procedures.

    Work that was measured was done, though a figure made it a fault: tires that were
    rotated were off, and their nuts are checked again.
    """
    return {
        kind: line.title
        for line in lines
        if line.item and line.item.key in known
        if line.outcome in COMPLETING
        or (line.outcome == Outcome.FAULT_FOUND and line.measures)
        for kind in known[line.item.key].raises
    }


# --- findings -------------------------------------------------------------------------


def open_past_findings(
    rig: Rig, records: QuerySet[ServiceRecord], *, by: Member
) -> None:
    """Of many records of the past what still stands: of figures the newest, and what
    was said in words only where nothing later is known of the same job."""
    lines = RecordLine.objects.filter(
        record__in=records, record__voided_at=None, outcome=Outcome.FAULT_FOUND
    )
    faults = standing_faults(rig, lines, newest_words=True)
    giving = _Giving(by, date.min, {}, again=False)
    _open_findings(giving, _loaded({fault.line.record for fault in faults}), faults)
    giving.journal.write()


def _faulty(records: Sequence[ServiceRecord]) -> QuerySet[RecordLine]:
    return RecordLine.objects.filter(record__in=records, outcome=Outcome.FAULT_FOUND)


@dataclass(frozen=True)
class _Wrong:
    """Something a line found. `token` is the same whenever the record is given."""

    line: RecordLine
    what: str
    unfit: bool
    token: UUID


def _open_findings(
    giving: _Giving, records: Sequence[ServiceRecord], faults: Sequence[Fault]
) -> None:
    of: dict[int, list[Fault]] = defaultdict(list)
    for fault in faults:
        of[fault.line.record_id].append(fault)
    wrong = [
        (record, one) for record in records for one in _wrong(record, of[record.pk])
    ]
    tokens = [one.token for _record, one in wrong]
    known = {row.token: row for row in Finding.objects.filter(token__in=tokens)}
    new = []
    for record, one in wrong:
        found = known.get(one.token)
        if found is None:
            new.append((record, one, _finding(giving, record, one)))
        elif found.withdrawn:
            found.withdrawn, found.what, found.unfit = False, one.what, one.unfit
            found.save(update_fields=["withdrawn", "what", "unfit"])
            giving.journal.made(record, found)
    Finding.objects.bulk_create(finding for _record, _one, finding in new)
    for record, _one, finding in new:
        giving.journal.made(record, finding)
    LineFinding.objects.bulk_create(
        LineFinding(line=one.line, finding=finding, how=FoundOrFixed.FOUND)
        for _record, one, finding in new
    )


def _wrong(record: ServiceRecord, faults: Iterable[Fault]) -> Iterator[_Wrong]:
    """Faults found; and a torque on which invoice and manufacturer's book differ: the
    rig is not driven on it until the shop was asked."""
    theirs = _items_found_by(record.merged_into_id)
    for fault in faults:
        line = fault.line
        if line.item_id is None or line.item_id not in theirs:
            token = _token("fault", line)
            yield _Wrong(line, fault.what[:WHAT], fault.unfit, token)
    words = differing_figures(getattr(record, "torque", None))
    if words and (lines := _lines_of(record)):
        yield _Wrong(lines[0], words[:WHAT], True, _token("torque", record))


def _items_found_by(record: int | None) -> set[int]:
    if record is None:
        return set()
    rows = RecordLine.objects.filter(
        record=record, item__isnull=False, finding_links__finding__withdrawn=False,
        finding_links__how=FoundOrFixed.FOUND,
    )  # fmt: skip
    return set(rows.values_list("item", flat=True))


def _token(what: str, row: RecordLine | ServiceRecord) -> UUID:
    return uuid5(NAMESPACE_OID, f"{what} {row.row_key}")


def _finding(giving: _Giving, record: ServiceRecord, wrong: _Wrong) -> Finding:
    return Finding(
        rig=record.rig,
        token=wrong.token,
        what=wrong.what,
        unfit=wrong.unfit,
        found_on=record.on,
        entered_by=giving.by,
    )


def _fix_findings(giving: _Giving, records: Sequence[ServiceRecord]) -> None:
    """Work on the item that a finding became fixes it, and so does a line that says
    that it does."""
    rigs = {record.rig_id for record in records}
    rows = Finding.objects.not_right_yet().filter(rig__in=rigs, item__isnull=False)
    planned: dict[int, list[Finding]] = defaultdict(list)
    for finding in rows:
        planned[finding.item_id].append(finding)  # type: ignore[index]
    links = LineFinding.objects.filter(
        line__record__in=records, how=FoundOrFixed.FIXED, finding__withdrawn=False
    )
    named: dict[int, list[Finding]] = defaultdict(list)
    for link in links.prefetch_related("finding"):
        named[link.line_id].append(link.finding)
    for record in records:
        for line in _lines_of(record):
            by_item = planned.get(line.item_id or 0, ())
            if line.outcome in COMPLETING and (by_item or line.pk in named):
                _fix(giving, record, line, named[line.pk], by_item)


def _fix(
    giving: _Giving,
    record: ServiceRecord,
    line: RecordLine,
    named: Iterable[Finding],
    planned: Iterable[Finding],
) -> None:
    last = record.until or record.on
    by_item = [one for one in planned if one.found_on <= last]
    for finding in {one.pk: one for one in (*named, *by_item)}.values():
        if finding.is_open:
            giving.journal.change(record, finding, state=FindingState.FIXED)
            LineFinding.objects.get_or_create(
                line=line, finding=finding, how=FoundOrFixed.FIXED
            )


# --- supplies and papers --------------------------------------------------------------


def _take_supplies(giving: _Giving, records: Sequence[ServiceRecord]) -> None:
    used: dict[int, list[SupplyUsed]] = defaultdict(list)
    rows = SupplyUsed.objects.filter(record__in=records, supply__isnull=False)
    for row in rows.prefetch_related("supply"):
        used[row.record_id].append(row)
    for record in records:
        if record.pk in used:
            _take(giving, record, used[record.pk])


def _take(giving: _Giving, record: ServiceRecord, taken: Iterable[SupplyUsed]) -> None:
    """Out of stock; what the record that this one is part of took, was taken once."""
    theirs = set()
    if record.merged_into is not None:
        theirs = set(record.merged_into.supplies.values_list("supply", flat=True))
    for used in taken:
        supply = used.supply
        if supply is None or supply.pk in theirs or supply.stock is None:
            continue
        was = supply.stock
        take_out(supply, used.amount, field=f"take_{supply.pk}")
        now = {"stock": str(was - used.amount)}
        giving.journal.changed(record, supply, {"stock": str(was)}, now)


def _renew_papers(giving: _Giving, record: ServiceRecord) -> None:
    """A paper that was renewed is good until the date on the new one."""
    for line in _lines_of(record):
        if line.item is None or line.outcome not in COMPLETING:
            continue
        for one in from_data(line.measures):
            if one.name == EXPIRES and isinstance(one.value, date):
                columns = columns_until(
                    line.item, today=giving.today, expires=one.value
                )
                giving.journal.change(record, line.item, **columns)
