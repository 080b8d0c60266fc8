"""The stored standings: renewed with every change, rechecked from scratch."""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from django.db import transaction
from django.db.models import Exists, OuterRef, Q

from maintenance.core import facts
from maintenance.core.deferral import deferral_ends, deferral_over
from maintenance.core.order import due_rank
from maintenance.core.reckon import reckon, standing_to_data
from maintenance.households.models import Household
from maintenance.vehicles.models import Reading, Rig
from maintenance.vehicles.queries import rigs_of

from .fact_data import counted_on, facts_to_data
from .habits import Habits, keep_habits, kept_habits
from .models import Deferral, PlanItem, Standing
from .queries import load_rigs, put_off_since

# rig id -> its meters as reckoned
Meters = Mapping[int, Mapping[str, facts.MeterState]]

COLUMNS = (
    "as_of",
    "standing",
    "unfit",
    "unfit_by",
    "not_legal",
    "expected",
    "governing",
    "opens_on",
    "closes_on",
    "rank",
    "result",
    "why",
)


@dataclass(frozen=True)
class Difference:
    """A stored standing that is not what the reckoning gives."""

    item: PlanItem
    stored: str
    reckoned: str


def renew_household(household: Household, *, as_of: date) -> int:
    """Renew all rigs of a household for a day; returns how many standings changed."""
    return renew_households([household], as_of=as_of)


@transaction.atomic
def renew_households(households: Collection[Household], *, as_of: date) -> int:
    """The same for several, in as many queries as for one."""
    rigs = Rig.objects.filter(household__in=households).kept()
    ahead = [one for one in households if (one.reckoned_on or as_of) > as_of]
    if ahead:
        _reopen_ended_ahead(rigs, as_of)
    changed, changes_on = _renew(rigs, as_of)
    for household in ahead:  # what was to be told is looked at anew, too
        household.next_notice_on = date.min
    for household in households:
        household.reckoned_on = as_of
        household.next_change_on = changes_on.get(household.pk, date.max)
    fields = ["reckoned_on", "next_change_on", "next_notice_on"]
    Household.objects.bulk_update(households, fields)
    return changed


@transaction.atomic
def renew_standings(rigs: Iterable[Rig], *, as_of: date) -> int:
    """Reckon rigs anew and store what differs; returns how many standings changed."""
    changed, changes_on = _renew(rigs, as_of)
    for pk, on in changes_on.items():
        later = Household.objects.filter(pk=pk, next_change_on__gt=on)
        later.update(next_change_on=on)
    return changed


def _renew(rigs: Iterable[Rig], as_of: date) -> tuple[int, dict[int, date]]:
    """How many standings changed, and by household the first day on which one of
    these may change though nothing is entered."""
    rigs = _locked(rigs)
    kept = kept_habits(rigs)
    fresh, reckoned, changes_on = _reckon_rigs(rigs, as_of, kept)
    meters = {pk: one.meters for pk, one in reckoned.items()}
    stored = {row.item_id: row for row in Standing.objects.filter(item__rig__in=rigs)}
    changed = [row for pk, row in fresh.items() if not _same(stored.get(pk), row)]
    # One statement for new and changed ones: an update by cases costs ten times that.
    Standing.objects.bulk_create(
        changed, update_conflicts=True, unique_fields=["item"], update_fields=COLUMNS
    )
    gone = stored.keys() - fresh.keys()
    if gone:
        Standing.objects.filter(item__in=gone).delete()
    keep_habits({pk: one.habits for pk, one in reckoned.items()}, kept=kept)
    _mark_doubtful(rigs, meters)
    for pk, on in _end_deferrals(rigs, reckoned, as_of).items():
        changes_on[pk] = min(on, changes_on.get(pk, date.max))
    return len(changed) + len(gone), changes_on


def reckon_item(
    item: PlanItem, *, as_of: date
) -> tuple[facts.Item, facts.Standing, Mapping[str, facts.MeterState]]:
    """One item as it stands now, with the meters of its rig; nothing is stored."""
    rig = load_rigs([item.rig], as_of)[item.rig_id]
    result = reckon(
        rig,
        calendar=item.rig.household.calendar,
        as_of=as_of,
        kept=kept_habits([item.rig])[item.rig_id],
    )
    pairs = zip(rig.items, result.items, strict=True)
    fact, standing = next(pair for pair in pairs if pair[0].key == str(item.pk))
    return fact, standing, result.meters


def _locked(rigs: Iterable[Rig]) -> list[Rig]:
    """The rigs, held until commit: of two changes at once the later must see both."""
    ids = sorted(rig.pk for rig in rigs)
    rows = Rig.objects.filter(pk__in=ids).select_related("household").order_by("pk")
    return list(rows.select_for_update(of=("self",)))


def recheck(household: Household, *, as_of: date) -> list[Difference]:
    """Reckon everything from scratch, change nothing, and tell every difference."""
    rigs = list(rigs_of(household))
    fresh, _reckoned, _changes_on = _reckon_rigs(rigs, as_of, kept={})
    stored = {
        row.item_id: row
        for row in Standing.objects.filter(item__rig__in=rigs).select_related("item")
    }
    items = PlanItem.objects.filter(pk__in=fresh.keys() | stored.keys())
    return [
        Difference(item, _shown(stored.get(item.pk)), _shown(fresh.get(item.pk)))
        for item in items.select_related("rig").order_by("pk")
        if not _same(stored.get(item.pk), fresh.get(item.pk))
    ]


def _reckon_rigs(
    rigs: Collection[Rig], as_of: date, kept: Habits
) -> tuple[dict[int, Standing], dict[int, facts.Reckoning], dict[int, date]]:
    """Unsaved standings by item id, what was reckoned by rig id, and by household when
    a standing may change by itself."""
    loaded = load_rigs(rigs, as_of)
    rows: dict[int, Standing] = {}
    reckoned: dict[int, facts.Reckoning] = {}
    changes_on: dict[int, date] = {}
    for rig in rigs:
        known = loaded[rig.pk]
        calendar, habits = rig.household.calendar, kept.get(rig.pk)
        result = reckon(known, calendar=calendar, as_of=as_of, kept=habits)
        reckoned[rig.pk] = result
        for item, standing in zip(known.items, result.items, strict=True):
            rows[int(item.key)] = _row(item, standing, result)
        earliest = min((one.changes_on for one in result.items), default=date.max)
        before = changes_on.get(rig.household_id, date.max)
        changes_on[rig.household_id] = min(earliest, before)
    return rows, reckoned, changes_on


def _row(
    item: facts.Item, found: facts.Standing, reckoned: facts.Reckoning
) -> Standing:
    opens, closes = likely_days(found)
    return Standing(
        item_id=int(item.key),
        as_of=reckoned.as_of,
        standing=found.standing,
        unfit=bool(found.unfit_by),
        unfit_by=found.unfit_by,
        not_legal=found.not_legal,
        expected=found.expected,
        governing=found.governing or "",
        opens_on=opens,
        closes_on=closes,
        rank=due_rank(item, found),
        result=standing_to_data(found) | {"unit": _unit(found, reckoned)},
        why=facts_to_data(found.why),
    )


def _unit(found: facts.Standing, reckoned: facts.Reckoning) -> str:
    """The unit of the meter on which the governing window hangs."""
    points = (found.window.opens, found.window.closes) if found.window else ()
    meters = [p.meter for p in points if isinstance(p, facts.MeterPoint)]
    return reckoned.meters[meters[0]].unit if meters else ""


def likely_days(found: facts.Standing) -> tuple[date | None, date | None]:
    """The days on which the governing window opens and closes, or likely will."""
    if found.window is None:
        return None, None
    opens, closes = found.window.opens, found.window.closes
    dates = found.forecast
    return (
        opens if isinstance(opens, date) else dates.opens.likely if dates else None,
        closes if isinstance(closes, date) else dates.closes.likely if dates else None,
    )


def _same(stored: Standing | None, fresh: Standing | None) -> bool:
    if stored is None or fresh is None:
        return stored is fresh
    plain = (name for name in COLUMNS if name not in {"as_of", "why"})
    if any(getattr(stored, name) != getattr(fresh, name) for name in plain):
        return False
    # That a day has gone by is no change: what counts days is counted on when read.
    return counted_on(stored.why, stored.as_of, fresh.as_of) == fresh.why


def _shown(row: Standing | None) -> str:
    if row is None:
        return "nothing"
    return f"{row.standing} {row.result.get('window')}"


def _mark_doubtful(rigs: Iterable[Rig], meters: Meters) -> None:
    """Bring the flag on readings in line with what the reckoning left out."""
    wrong = {
        (rig_id, kind, reading.on, reading.value)
        for rig_id, states in meters.items()
        for kind, state in states.items()
        for reading in state.doubtful
    }
    suspects = Reading.objects.filter(meter__rig__in=rigs, withdrawn=False)
    flagged = suspects.filter(
        Q(doubtful=True) | Q(questionable=True)
    ) | suspects.filter(on__in={on for _rig, _kind, on, _value in wrong})
    flip: dict[bool, list[int]] = {True: [], False: []}
    for row in flagged.select_related("meter"):
        key = (row.meter.rig_id, row.meter.kind, row.on, row.value)
        if row.doubtful != (row.questionable or key in wrong):
            flip[not row.doubtful].append(row.pk)
    for flag, ids in flip.items():
        if ids:
            Reading.objects.filter(pk__in=ids).update(doubtful=flag)


def _end_deferrals(
    rigs: Iterable[Rig], reckoned: Mapping[int, facts.Reckoning], as_of: date
) -> dict[int, date]:
    """A deferral ends with its day, or when its meter shows the value, and at the
    latest where one may end. Household id -> the next day on which one ends."""
    made = Deferral.objects.filter(item__rig__in=rigs, ended=False)
    rows = list(made.select_related("item__rig"))
    since = put_off_since([row.item for row in rows]) if rows else {}
    over: list[int] = []
    ahead: dict[int, date] = {}
    for row in rows:
        result = reckoned[row.item.rig_id]
        ends = _ends_of(row, result, since.get(row.item_id, as_of))
        if any(deferral_over(one, result.meters, as_of=as_of) for one in ends):
            over.append(row.pk)
            continue
        days = [one for one in ends if isinstance(one, date)]
        household = row.item.rig.household_id
        ahead[household] = min([*days, ahead.get(household, date.max)])
    if over:
        Deferral.objects.filter(pk__in=over).update(ended=True, ended_on=as_of)
    return ahead


def _reopen_ended_ahead(rigs: Iterable[Rig], as_of: date) -> None:
    """What a clock that was ahead has ended goes on, but where the item was put off
    again since."""
    again = Deferral.objects.filter(item=OuterRef("item"), ended=False)
    ahead = Deferral.objects.filter(item__rig__in=rigs, ended_on__gt=as_of)
    ended = ahead.exclude(Exists(again)).order_by("pk")
    last_of = {row.item_id: row.pk for row in ended}  # an item has one at a time
    if last_of:
        back = Deferral.objects.filter(pk__in=last_of.values())
        back.update(ended=False, ended_on=None)


def _ends_of(
    row: Deferral, reckoned: facts.Reckoning, since: date
) -> tuple[facts.Point, ...]:
    """All that ends a deferral, the one that comes first counting."""
    key = str(row.item_id)
    standing = next((one for one in reckoned.items if one.key == key), None)
    if standing is None:  # taken off the plan
        return (row.point,)
    latest = deferral_ends(
        standing,
        reckoned.meters,
        safety=row.item.safety,
        put_off_since=since,
        as_of=reckoned.as_of,
    )
    return (row.point, *latest)
