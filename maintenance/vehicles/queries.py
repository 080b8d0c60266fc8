"""Reading rigs and what is known of them, as rows for pages and as plain facts."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from typing import Any

from django.db.models import Q, QuerySet, prefetch_related_objects

from maintenance.core import facts
from maintenance.core.meters import LOOKED_AT, LOOKED_AT_AFTER
from maintenance.core.units import convert
from maintenance.households.models import Household

from .models import (
    Event,
    Meter,
    NotTowed,
    Reading,
    Rig,
    SevereDuty,
    Stay,
    Trip,
)


@dataclass(frozen=True)
class RigFacts:
    """All that the reckoning wants to know of a rig but its items."""

    in_service: facts.Baseline
    meters: dict[str, facts.Meter]
    stays: tuple[facts.Stay, ...]
    trips: tuple[facts.Trip, ...]
    rhythm: dict[str, facts.Runway]  # runway -> what the open stay asks
    places: tuple[str, ...]  # of its wheels
    tow_vehicles: dict[str, facts.TowVehicle]  # by the name that trips give them
    not_towed: tuple[facts.NotTowed, ...]
    events: tuple[facts.Event, ...] = ()
    duty: tuple[facts.Duty, ...] = ()

    def without_items(self) -> facts.Rig:
        """The rig as the core takes it, for what is no item's matter."""
        return facts.Rig(
            meters=self.meters,
            items=(),
            in_service=self.in_service,
            duty=self.duty,
            stays=self.stays,
            trips=self.trips,
            events=self.events,
            places=self.places,
            tow_vehicles=self.tow_vehicles,
            not_towed=self.not_towed,
        )


def rigs_of(household: Household) -> QuerySet[Rig]:
    return Rig.objects.for_household(household).kept()


def readings_of(rig: Rig) -> QuerySet[Reading]:
    """Newest first; withdrawn ones left out."""
    return (
        Reading.objects.filter(meter__rig=rig, withdrawn=False)
        .select_related("meter", "entered_by")
        .order_by("-on", "-pk")
    )


def meters_shown(rig: Rig) -> list[Meter]:
    """Its meters that show something; hours that are logged are shown by none."""
    return [meter for meter in rig.meters.all() if not meter.by_runs]


def meters_asked(rig: Rig, given: Collection[str] = ()) -> list[Meter]:
    """Those of which a form asks what they show: not how far a trailer was towed where
    trips tell it, unless such a figure was `given` before."""
    return [
        meter
        for meter in meters_shown(rig)
        if meter.kind in given or not meter.by_trips
    ]


def decimals(values: dict[str, str]) -> dict[str, Decimal]:
    """Meter values as they are kept in JSON -> as the core takes them."""
    return {meter: Decimal(value) for meter, value in values.items()}


def place_set(places: list[str] | None) -> frozenset[str] | None:
    return None if places is None else frozenset(places)


def rig_facts(rigs: Iterable[Rig], as_of: date) -> dict[int, RigFacts]:
    """The facts of several rigs as known on a day, in a fixed number of queries."""
    known = use_facts(rigs, as_of)
    rows = Event.objects.filter(rig__in=known, withdrawn=False, on__lte=as_of)
    events = _grouped(rows.order_by("on", "pk"), _event)
    duty = _grouped(SevereDuty.objects.filter(rig__in=known, withdrawn=False), _duty)
    return {
        pk: replace(one, events=tuple(events[pk]), duty=tuple(duty[pk]))
        for pk, one in known.items()
    }


def use_facts(rigs: Iterable[Rig], as_of: date) -> dict[int, RigFacts]:
    """Those that bear on their meters: without events and duty, which bear on items."""
    rigs = list(rigs)
    ids = [rig.pk for rig in rigs]
    trip_rows = _trip_rows(ids)
    # What tows is read, too: a trailer counts by its tow vehicle's odometer.
    read = sorted({*ids, *(row.driver.pk for row in trip_rows if row.driver)})
    meters = _meters(read, as_of)
    stay_rows = _stay_rows(read)
    stays = {pk: tuple(map(_stay(as_of), stay_rows[pk])) for pk in read}
    vehicles = {pk: _tow_vehicle(meters[pk], stays[pk]) for pk in read}
    trips = _trips(trip_rows, ids, vehicles)
    _add_towed(ids, meters, trips)
    not_towed = _said_not_towed([pk for pk in ids if "towed" in meters[pk]], as_of)
    return {
        rig.pk: RigFacts(
            in_service=_in_service(rig, meters[rig.pk]),
            meters={kind: meter for kind, (meter, _start) in meters[rig.pk].items()},
            stays=stays[rig.pk],
            trips=tuple(trips[rig.pk]),
            rhythm=_rhythm(stay_rows[rig.pk], as_of),
            places=tuple(rig.places),
            tow_vehicles=_towing(trips[rig.pk], vehicles)
            if "towed" in meters[rig.pk]
            else {},
            not_towed=tuple(not_towed[rig.pk]),
        )
        for rig in rigs
    }


def _stay_rows(ids: list[int]) -> dict[int, list[Stay]]:
    rows = Stay.objects.filter(rig__in=ids, withdrawn=False).order_by("start", "pk")
    found: dict[int, list[Stay]] = _grouped(rows, _same)
    return found


def _said_not_towed(ids: list[int], as_of: date) -> dict[int, list[facts.NotTowed]]:
    rows = NotTowed.objects.filter(rig__in=ids, withdrawn=False, said_on__lte=as_of)
    return _grouped(rows if ids else (), _not_towed)


def _add_towed(
    ids: list[int],
    meters: dict[int, dict[str, tuple[facts.Meter, Decimal | None]]],
    trips: dict[int, list[facts.Trip]],
) -> None:
    """What a car was towed is known by its trips alone."""
    for pk in ids:
        if "odometer" in meters[pk] and any(one.only_towed for one in trips[pk]):
            unit = meters[pk]["odometer"][0].unit
            meters[pk].setdefault("towed", (facts.Meter(unit), None))


def _tow_vehicle(
    meters: dict[str, tuple[facts.Meter, Decimal | None]],
    stays: tuple[facts.Stay, ...],
) -> facts.TowVehicle | None:
    if "odometer" not in meters:
        return None
    return facts.TowVehicle(meters["odometer"][0], stays)


def _towing(
    trips: Iterable[facts.Trip], vehicles: dict[int, facts.TowVehicle | None]
) -> dict[str, facts.TowVehicle]:
    names = {trip.tow for trip in trips if trip.tow}
    found = {name: vehicles.get(int(name)) for name in names}
    return {name: vehicle for name, vehicle in found.items() if vehicle is not None}


def meters_of_rig(rig: Rig) -> dict[str, facts.Meter]:
    """Its meters by kind."""
    found = _meters([rig.pk], date.max)[rig.pk]
    return {kind: meter for kind, (meter, _start) in found.items()}


def meter_beside(
    meter: Meter, on: date, *, without: Collection[int] = ()
) -> facts.Meter:
    """A meter with as many of its readings next to a day as the gate looks at, as if
    those of these ids were not there: it may have thousands."""
    rows = meter.readings.filter(withdrawn=False, questionable=False)
    rows = rows.exclude(pk__in=without) if without else rows
    before = rows.filter(on__lt=on).order_by("-on", "-entered_at", "-pk")
    after = rows.filter(on__gt=on).order_by("on", "entered_at", "pk")
    beside = Q(on=on) | Q(pk__in=before.values("pk")[:LOOKED_AT])
    beside |= Q(pk__in=after.values("pk")[:LOOKED_AT_AFTER])
    found = rows.filter(beside).order_by("entered_at", "pk")
    return facts.Meter(
        meter.unit,  # type: ignore[arg-type]
        tuple(
            facts.Reading(day, value, confirmed, fact_of_event(event) if event else "")
            for day, value, confirmed, event in found.values_list(
                "on", "value", "confirmed", "event_id"
            )
        ),
        _replaced(meter, date.max),
    )


def meters_of_others(rig: Rig, kind: str) -> list[Meter]:
    """The same kind of meter on the household's other rigs."""
    rows = Meter.objects.filter(rig__in=rigs_of(rig.household), kind=kind)
    rows = rows.exclude(rig=rig).select_related("rig").order_by("rig__name")
    return list(rows.prefetch_related("replacements"))


def _same(row: Stay) -> Stay:
    return row


def _rhythm(stays: Iterable[Stay], as_of: date) -> dict[str, facts.Runway]:
    """What the runways of the stay that is open ask, as the reckoning takes it."""
    now = [stay for stay in stays if stay.is_open(as_of)]
    asked = now[-1].rhythm if now else {}
    return {name: _runway(row, as_of) for name, row in asked.items()}


def _runway(row: dict[str, Any], as_of: date) -> facts.Runway:
    read_on = date.fromisoformat(row["read_on"]) if "read_on" in row else None
    if read_on is None or read_on > as_of:
        return facts.Runway(row["days"])
    return facts.Runway(row["days"], read_on, row["read_days"])


def _grouped(rows, make):
    groups = defaultdict(list)
    for row in rows:
        groups[row.rig_id].append(make(row))
    return groups


def _meters(ids: list[int], as_of: date):
    """rig id -> kind -> (meter, value when in service)."""
    readings, taken_back = _readings(ids, as_of)
    found: dict[int, dict[str, tuple[facts.Meter, Decimal | None]]] = defaultdict(dict)
    meters = list(Meter.objects.filter(rig__in=ids).prefetch_related("replacements"))
    prefetch_related_objects([one for one in meters if one.logged], "runs")
    for meter in meters:
        made = facts.Meter(
            meter.unit,  # type: ignore[arg-type]
            tuple(readings[meter.pk]),
            _replaced(meter, as_of),
            tuple(taken_back[meter.pk]),
            runs=_runs(meter, as_of) if meter.logged else None,
        )
        found[meter.rig_id][meter.kind] = (made, meter.in_service_value)
    return found


def _replaced(meter: Meter, as_of: date) -> tuple[facts.Replacement, ...]:
    return tuple(
        facts.Replacement(row.on, row.old_final, row.new_start)
        for row in meter.replacements.all()
        if row.on <= as_of and not row.withdrawn
    )


def _runs(meter: Meter, as_of: date) -> tuple[facts.Run, ...]:
    rows = (run for run in meter.runs.all() if run.on <= as_of and not run.withdrawn)
    return tuple(facts.Run(run.on, run.hours) for run in rows)


Readings = dict[int, list[facts.Reading]]


def _readings(ids: list[int], as_of: date) -> tuple[Readings, Readings]:
    """meter id -> its readings in the order entered, and those that do not count: they
    were withdrawn, or kept as questionable."""
    readings: Readings = defaultdict(list)
    taken_back: Readings = defaultdict(list)
    rows = Reading.objects.filter(meter__rig__in=ids, on__lte=as_of)
    columns = ("meter_id", "on", "value", "confirmed", "event_id")
    flags = ("withdrawn", "questionable")
    for (
        meter_id,
        on,
        value,
        confirmed,
        event_id,
        withdrawn,
        questionable,
    ) in rows.order_by("entered_at", "pk").values_list(*columns, *flags):
        fact = fact_of_event(event_id) if event_id else ""
        group = taken_back if withdrawn or questionable else readings
        group[meter_id].append(facts.Reading(on, value, confirmed, fact))
    return readings, taken_back


def fact_of_event(event_id: int) -> str:
    return f"event {event_id}"


def _in_service(rig: Rig, meters) -> facts.Baseline:
    values = {kind: start for kind, (_m, start) in meters.items() if start is not None}
    return facts.Baseline(rig.in_service_on, values)


def _stay(as_of: date):
    """An end that is still to come is only planned."""

    def stay(row: Stay) -> facts.Stay:
        to_come = row.ended_on is not None and row.ended_on > as_of
        return facts.Stay(
            row.start,
            None if to_come else row.ended_on,
            row.ended_on if to_come else row.planned_until,
            row.winterized,
            row.water_freezes,
        )

    return stay


def _event(row: Event) -> facts.Event:
    return facts.Event(row.kind, row.on, decimals(row.values), place_set(row.places))


def _duty(row: SevereDuty) -> facts.Duty:
    return facts.Duty(row.start, row.end)


def _not_towed(row: NotTowed) -> facts.NotTowed:
    return facts.NotTowed(row.said_on, row.since)


def _trip_rows(ids: list[int]) -> list[Trip]:
    rows = Trip.objects.filter(
        Q(rig__in=ids) | Q(tow_vehicle__in=ids) | Q(towed_car__in=ids),
        withdrawn=False,
    ).select_related("rig", "tow_vehicle", "towed_car", "start_reading", "end_reading")
    return list(rows.order_by("start", "pk"))


def _trips(
    rows: Iterable[Trip],
    ids: Iterable[int],
    vehicles: dict[int, facts.TowVehicle | None],
) -> dict[int, list[facts.Trip]]:
    """A trip is travel of every rig on the way; a car that is towed without its
    odometer counting has it on its towed distance alone."""
    groups: dict[int, list[facts.Trip]] = defaultdict(list)
    wanted = set(ids)
    rows = list(rows)
    by_hand = [row for row in rows if row.by_hand]
    within = {row.pk: _trip_around(row, rows) for row in by_hand}
    for row in rows:
        if within.get(row.pk) is not None:
            continue
        trip = _trip(row, vehicles)
        so_far = [one for one in by_hand if within[one.pk] == row]
        trip = replace(trip, told=(*_so_far(so_far, trip), *trip.told))
        for rig in row.travelers:
            if rig.pk in wanted:
                towed = rig.pk == row.towed_car_id and not row.towed_car_counts
                groups[rig.pk].append(replace(trip, only_towed=towed))
    return groups


def _trip_around(by_hand: Trip, rows: Iterable[Trip]) -> Trip | None:
    """The trip of the rig on a day of which a distance was told by hand."""
    found = [
        row
        for row in rows
        if not row.by_hand
        and row.rig_id == by_hand.rig_id
        and row.start <= by_hand.end <= row.end
    ]
    return found[-1] if found else None


def _so_far(
    by_hand: Iterable[Trip], trip: facts.Trip
) -> Iterator[tuple[date, Decimal]]:
    """Each says what was towed since the one before it."""
    total = Decimal(0)
    for row in sorted(by_hand, key=lambda one: (one.end, one.pk)):
        gone = convert(row.distance or Decimal(0), row.unit, trip.unit)
        total += gone
        yield row.end, total


def _trip(row: Trip, vehicles: dict[int, facts.TowVehicle | None]) -> facts.Trip:
    """A distance told by hand counts from its last day on; until somebody tells it, it
    is the plan."""
    span = row.odometer_span
    told: tuple[tuple[date, Decimal], ...] = ()
    planned = row.told_on is None or row.told_on < row.end
    if span is None and not planned and row.distance is not None:
        told = ((row.end, row.distance),)
    driver = row.driver.pk if row.driver else 0
    vehicle = vehicles.get(driver)
    return facts.Trip(
        start=row.start,
        end=row.end,
        distance=row.distance,
        unit=row.unit,  # type: ignore[arg-type]
        tow=str(driver or ""),
        odometer=span,
        off=row.off or Decimal(0),
        odometer_unit="mi" if vehicle is None else vehicle.odometer.unit,
        told=told,
        planned=planned,
    )
