"""Rules that hang on stays: before one begins, while it lasts, and at its end."""

from datetime import date, timedelta

from maintenance.core.facts import (
    Fact,
    Stay,
    StorageEntry,
    StorageExit,
    WhileStored,
)
from maintenance.core.rigday import RigDay
from maintenance.core.triggers.anchors import lead_days
from maintenance.core.triggers.windows import DayWindow, Found, History
from maintenance.core.why import happened, plan_passed, window_of_days

EARLY_DAYS = 14  # work up to two weeks ahead of a stay's start or end counts for it
EXIT_LEAD = timedelta(days=7)


def storage_entry(day: RigDay, history: History, trigger: StorageEntry) -> Found:
    """By n days after a stay's start; one that ends before asks nothing."""
    early = timedelta(days=max(EARLY_DAYS, trigger.lead))
    for stay in day.stays:
        closes = stay.start + timedelta(days=trigger.by_day)
        end = day.end_of(stay)
        ended = stay.until is not None
        if ended or (end is not None and end < closes):
            continue
        if history.since(stay.start - early):
            continue
        opens = stay.start - timedelta(days=trigger.lead)
        facts = (*_stay_facts(day, stay), window_of_days(opens, closes))
        return Found((DayWindow("storage_entry", opens, closes, why=facts),))
    return Found(idle=(Fact("no_stay_entry", {}),))


def while_stored(day: RigDay, history: History, trigger: WhileStored) -> Found:
    """Every n days inside the open stay."""
    stay = day.open_stay
    if stay is None:
        return Found(idle=(Fact("not_stored", {}),))
    stored = _stay_facts(day, stay)
    if trigger.unless_winterized and stay.winterized:
        return Found(idle=(*stored, Fact("winterized", {})))
    base = history.base()
    since = stay.start if base is None else max(stay.start, base.on)
    closes, sooner = _paced(trigger, since)
    end = day.end_of(stay)
    if end is not None and end < closes:
        return Found(idle=(*stored, Fact("stay_ends_before", {"closes": closes})))
    interval = (closes - since).days
    opens = closes - timedelta(days=lead_days(interval))
    done = (
        happened(base.kind, day, on=base.on, until=base.until, values={}, meter=None)
        if base is not None and base.on > stay.start
        else ()
    )
    facts = (
        *stored,
        *done,
        Fact("every_stored", {"days": trigger.days}),
        *sooner,
        window_of_days(opens, closes),
    )
    window = DayWindow("while_stored", opens, closes, interval_days=interval, why=facts)
    return Found((window,))


def _paced(trigger: WhileStored, since: date) -> tuple[date, tuple[Fact, ...]]:
    """When it closes by the rule, or before that by the stay's runway, and why."""
    closes, runway = since + timedelta(days=trigger.days), trigger.runway
    if runway is None:
        return closes, ()
    # What was read on the day of the work counts: to look is not to charge.
    if runway.read_on is not None and runway.read_on >= since:
        by = runway.read_on + timedelta(days=runway.read_days)
        said = Fact("runway_read", {"on": runway.read_on, "days": runway.read_days})
    else:
        by = since + timedelta(days=max(runway.days, 1))
        said = Fact("runway_expected", {"days": max(runway.days, 1)})
    return (by, (said,)) if by < closes else (closes, ())


def storage_exit(day: RigDay, history: History, _trigger: StorageExit) -> Found:
    """By a stay's end; overdue until done or until the next stay begins."""
    for i, stay in enumerate(day.stays):
        end = day.end_of(stay)
        if end is None or _over(day, history, i, end):
            continue
        if history.since(end - timedelta(days=EARLY_DAYS)):
            continue
        opens = end - EXIT_LEAD
        facts = (*_stay_facts(day, stay), window_of_days(opens, end))
        return Found((DayWindow("storage_exit", opens, end, why=facts),))
    stored = () if day.open_stay is None else _stay_facts(day, day.open_stay)
    return Found(idle=(*stored, Fact("no_stay_end", {})))


def _over(day: RigDay, history: History, i: int, end: date) -> bool:
    """Whether an ended stay asks for nothing more: the next has begun, or the item was
    taken on later."""
    if day.stays[i].until is None:
        return False
    taken_on = history.item.taken_on
    if taken_on is not None and end < taken_on:
        return True
    return any(later.start <= day.as_of for later in day.stays[i + 1 :])


def _stay_facts(day: RigDay, stay: Stay) -> tuple[Fact, ...]:
    fact = Fact("stay", {"start": stay.start, "end": day.end_of(stay)})
    return (fact, *plan_passed(day)) if stay is day.open_stay else (fact,)
