"""What follows from work: standings renewed, safety told, and said as data."""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date

from django.db.models import Q, QuerySet

from maintenance.core.facts import (
    ODOMETER,
    ON_THE_ROAD,
    TOW_ODOMETER,
    TOWED,
    WHEEL_DISTANCE,
    Point,
)
from maintenance.core.triggers import FOLLOW_UPS
from maintenance.findings.fitness import Reason, fitness_of
from maintenance.findings.models import Finding
from maintenance.households.workers import ask_to_tell
from maintenance.plans.models import (
    Completion,
    Outcome,
    PlanItem,
    Standing,
    StandingName,
)
from maintenance.plans.receivers import renew_rigs, renewal_waits
from maintenance.vehicles.models import Rig, Trip

from .models import FoundOrFixed, LineFinding, RecordLine, ServiceRecord

PRESSING = {
    StandingName.OVERDUE,
    StandingName.DUE,
    StandingName.SOON,
    StandingName.UNKNOWN,
}

Units = Mapping[str, str]  # of the meters that windows count on
# Item id -> its standing; the rig as it stood before.
Before = Mapping[int, Standing]


@dataclass(frozen=True, slots=True)
class Window:
    """A follow-up of an item. A value of a meter is as it shows it, in `unit`; `places`
    None means all. `has_figure`: the check that was too early said what the meter
    showed, or the window asks for none."""

    item: PlanItem
    opens: Point
    closes: Point
    unit: str
    places: list[str] | None
    has_figure: bool = field(default=True, compare=False)


@dataclass(frozen=True, slots=True)
class WhatFollows:
    """`opened`: follow-ups that were not there before. `settled`: items that pressed
    and do no more. `early`: done before the window opened, so that it still stands.
    `unfit`: what makes the rig unfit to travel now. `kept`: in words, what was not
    taken back because others had changed it."""

    opened: tuple[Window, ...] = ()
    settled: tuple[PlanItem, ...] = ()
    early: tuple[Window, ...] = ()
    findings: tuple[Finding, ...] = ()
    unfit: tuple[Reason, ...] = ()
    kept: tuple[str, ...] = field(default=())


def standings_before(rig: Rig) -> Before | None:
    """None where they are behind: there is nothing to compare with then."""
    if renewal_waits():
        return None
    rows = Standing.objects.filter(item__rig=rig)
    return {row.item_id: row for row in rows}


def follow_up(
    rig: Rig,
    *,
    today: date,
    before: Before | None = None,
    records: Sequence[ServiceRecord] = (),
    kept: Sequence[str] = (),
) -> WhatFollows:
    """Renew the rig's standings, have told at once what touches safety, and return what
    follows from `records` since it stood as in `before`. Once for many records."""
    renew_rigs(rig.household, [rig.pk, *_read_on_the_road(rig)], as_of=today)
    ask_to_tell(rig.household_id)
    if before is None:
        return WhatFollows(kept=tuple(kept))
    rows = Standing.objects.filter(item__rig=rig).select_related("item")
    after = {row.item_id: row for row in rows}
    done = _items_done(records) & before.keys() & after.keys()
    stopped = fitness_of(rig.household, today, [rig]).get(rig.pk)
    units = _units(rig)
    return WhatFollows(
        opened=tuple(
            _in_unit(one, units)
            for one in _opened(before, after, _shifted(records, before, after))
        ),
        settled=tuple(
            after[pk].item for pk in sorted(done) if _settled(before[pk], after[pk])
        ),
        early=tuple(_in_unit(one, units) for one in _early(records, before, after)),
        findings=tuple(_found_by(records)),
        unfit=tuple(stopped.unfit) if stopped else (),
        kept=tuple(kept),
    )


def _read_on_the_road(rig: Rig) -> list[int]:
    """What towed the rig, where a record of it ever told of its odometer."""
    if not rig.records.filter(values__has_key=TOW_ODOMETER).exists():
        return []
    trips = Trip.objects.filter(Q(rig=rig) | Q(towed_car=rig), withdrawn=False)
    drivers = {trip.driver for trip in trips.select_related("rig", "tow_vehicle")}
    return [one.pk for one in drivers if one is not None and one != rig]


def _early(
    records: Sequence[ServiceRecord],
    before: Before,
    after: Mapping[int, Standing],
) -> Iterator[Window]:
    """Of items that were done: what is open still where it was done. A check that
    settled something came in time, though others of its series lie ahead."""
    at, shifted = _places_done(records), _shifted(records, before, after)
    read = {kind for record in records for kind in record.values}
    read |= {WHEEL_DISTANCE} if ODOMETER in read else set()
    for pk in sorted(at.keys() & before.keys() & after.keys()):
        was, now = _windows(before[pk], after[pk].item), _windows(after[pk])
        if pk in shifted:
            was = now
        if any(window not in now for window in was):
            continue
        for window in now:
            if window in was and _touches(window.places, at[pk]):
                meter = "" if isinstance(window.opens, date) else window.opens.meter
                yield replace(
                    window, has_figure=not meter or bool(read & {meter, *ON_THE_ROAD})
                )


def _places_done(records: Sequence[ServiceRecord]) -> dict[int, set[str] | None]:
    """Item id -> the places at which the records completed it; None: at all."""
    found: dict[int, set[str] | None] = {}
    rows = Completion.objects.filter(record_lines__record__in=records, withdrawn=False)
    for pk, places in rows.values_list("item", "places"):
        known = found.get(pk, set())
        found[pk] = None if places is None or known is None else known | set(places)
    return found


def _touches(places: list[str] | None, done: set[str] | None) -> bool:
    return places is None or done is None or bool(done & set(places))


def _items_done(records: Sequence[ServiceRecord]) -> set[int]:
    rows = Completion.objects.filter(record_lines__record__in=records, withdrawn=False)
    return set(rows.values_list("item", flat=True))


def _found_by(records: Sequence[ServiceRecord]) -> QuerySet[Finding]:
    links = LineFinding.objects.filter(line__record__in=records, how=FoundOrFixed.FOUND)
    return Finding.objects.filter(withdrawn=False, line_links__in=links).order_by("pk")


def _settled(before: Standing, after: Standing) -> bool:
    return before.standing in PRESSING and after.standing not in PRESSING


def _opened(
    before: Before, after: Mapping[int, Standing], shifted: Collection[int]
) -> list[Window]:
    return [
        window
        for pk, row in after.items()
        if pk not in shifted
        for window in _windows(row)
        if pk not in before or window not in _windows(before[pk], row.item)
    ]


def _shifted(
    records: Sequence[ServiceRecord], before: Before, after: Mapping[int, Standing]
) -> set[int]:
    """Items whose follow-ups are those of before, at other values: what the tow
    vehicle's odometer showed now says more of how far the trip had come at the event.
    """
    if not any(TOW_ODOMETER in record.values for record in records):
        return set()
    lines = RecordLine.objects.filter(record__in=records, outcome=Outcome.MOVED)
    moved = set(lines.values_list("item", flat=True))
    return {
        pk
        for pk in before.keys() & after.keys() - moved
        if _shapes(before[pk]) == _shapes(after[pk])
    }


def _shapes(row: Standing) -> list[tuple[str, list[str]]]:
    """Of each window on a meter its length, of others the days; and its places."""
    return sorted((_shape(one), one.places or []) for one in _windows(row))


def _shape(window: Window) -> str:
    opens, closes = window.opens, window.closes
    if isinstance(opens, date) or isinstance(closes, date):
        return f"{opens} {closes}"
    return f"{opens.meter} {closes.value - opens.value:.0f}"


def _units(rig: Rig) -> Units:
    found = {meter.kind: meter.unit for meter in rig.meters.all()}
    # A car that is towed counts on its wheels what it was towed as well.
    of_wheels = found.get(ODOMETER, "mi")
    return {TOWED: of_wheels, WHEEL_DISTANCE: of_wheels} | found


def _in_unit(window: Window, units: Units) -> Window:
    """That of its own meter: another window of the item may govern."""
    if isinstance(window.closes, date):
        return window
    return replace(window, unit=units[window.closes.meter])


def _windows(row: Standing, item: PlanItem | None = None) -> list[Window]:
    """The open follow-ups by events, without their units."""
    return [
        Window(
            item=item or row.item,
            opens=one.window.opens,
            closes=one.window.closes,
            unit="",
            places=None if one.places is None else sorted(one.places),
        )
        for one in row.pending
        if one.kind in FOLLOW_UPS
    ]
