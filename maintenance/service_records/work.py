"""Work done as one value, however it comes: the form, a link of a mail, a walk-around,
a storage list, an import. `record_work` takes it; nothing else makes a record."""

import uuid
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal
from itertools import islice

from maintenance.core.facts import ON_THE_ROAD
from maintenance.core.triggers import parse_triggers
from maintenance.core.triggers.events import WHEEL_OFF
from maintenance.findings.models import Finding
from maintenance.households.refusals import Refused
from maintenance.plans.measures import Measured
from maintenance.plans.models import Outcome, PlanItem
from maintenance.supplies.models import Supply
from maintenance.vehicles.models import Rig
from maintenance.vehicles.queries import meters_shown
from maintenance.vehicles.services import refuse_future
from maintenance.vehicles.state import refuse_after_sale
from maintenance.work_sheets.judging import Judged, judged_outcome, judges_of

from .models import DoneBy, UnfiledPhoto
from .torque import Wheels, check_torque


@dataclass(frozen=True)
class Line:
    """One job: an item of the plan, or free words. `fixes` are findings that it put
    right beside those that became its item."""

    title: str
    item: PlanItem | None = None
    outcome: str = Outcome.DONE
    note: str = ""
    measures: Sequence[Measured] = ()
    steps: Sequence[tuple[str, bool]] = ()  # words, and whether it was ticked
    fixes: Sequence[Finding] = ()


@dataclass(frozen=True)
class Take:
    """So much out of stock."""

    supply: Supply
    amount: Decimal


@dataclass(frozen=True)
class Part:
    """A part that went in; `price` of one."""

    name: str
    number: str = ""
    quantity: Decimal = Decimal(1)
    price: Decimal | None = None


@dataclass(frozen=True)
class Costs:
    """In the household's currency; what is not known is None."""

    labor: Decimal | None = None
    parts: Decimal | None = None
    tax: Decimal | None = None
    total: Decimal | None = None


@dataclass(frozen=True)
class Warranty:
    """Until a day, or until a meter shows a value, or whichever comes first."""

    until: date | None = None
    meter: str = ""
    value: Decimal | None = None
    covers: str = ""


@dataclass(frozen=True)
class WorkDone:
    """Work on one rig, on one day or at some time between `on` and `until`.

    `values` are what its meters showed, by kind, in the meter's own unit;
    `values_confirmed`: they are right, whatever the other readings say; those of the
    kinds in `values_questionable` are kept, but count nowhere. The same
    `form_token` twice is the same work.
    """

    rig: Rig
    on: date
    lines: Sequence[Line]
    doer: str
    done_by: str = DoneBy.MEMBER
    until: date | None = None
    place: str = ""
    notes: str = ""
    values: Mapping[str, Decimal] = field(default_factory=dict)
    values_confirmed: bool = False
    values_questionable: Collection[str] = ()
    wheels: Wheels = field(default_factory=Wheels)
    supplies: Sequence[Take] = ()
    parts: Sequence[Part] = ()
    costs: Costs = field(default_factory=Costs)
    warranty: Warranty = field(default_factory=Warranty)
    signed_off_by: str = ""
    credential: str = ""
    snaps: Sequence[UnfiledPhoto] = ()
    form_token: uuid.UUID = field(default_factory=uuid.uuid4)

    @property
    def last_day(self) -> date:
        return self.until or self.on


def check_work(work: WorkDone, today: date) -> None:
    """Refused for work that cannot have been so."""
    last = "until" if work.until else "on"
    refuse_future(work.last_day, today, last)
    refuse_after_sale(work.rig, work.last_day, last)
    check_lines(work.rig, work.on, work.until, work.lines)
    held = bool(work.wheels.short) and says_held(work.lines)
    check_torque(work.rig, work.wheels, held=held)
    says_moved = any(
        line.outcome == Outcome.MOVED and line.item and checks_wheels(line.item)
        for line in work.lines
    )
    if says_moved and work.wheels.checked and not work.wheels.moved:
        # Settled as held, a wheel whose nut had turned would not be checked again.
        raise Refused("A fastener moved: check the wheel where a nut moved.")
    check_warranty(work.rig, work.last_day, work.values, work.warranty)
    check_values(work.rig, work.values)
    if any(take.supply.household_id != work.rig.household_id for take in work.supplies):
        raise Refused("This isn't on your supplies list. Choose one that is.")


def check_lines(rig: Rig, on: date, until: date | None, lines: Sequence[Line]) -> None:
    if until is not None and until < on:
        raise Refused(
            "The last day is before the first. Enter a later day.", field="until"
        )
    if not lines:
        raise Refused("Enter what was done, like “oil change”.", field="lines")
    strange = [line.item for line in lines if line.item and line.item.rig_id != rig.pk]
    if strange:
        raise Refused(
            f"“{strange[0]}” is on another rig's plan.",
            field="lines",
        )


def check_values(rig: Rig, values: Mapping[str, Decimal]) -> None:
    unknown = values.keys() - {meter.kind for meter in meters_shown(rig)} - ON_THE_ROAD
    if unknown:
        raise Refused(f"{rig} has no such meter: {', '.join(sorted(unknown))}.")
    below = [kind for kind, value in values.items() if value < 0]
    if below:
        raise Refused("Enter a reading of 0 or more.", field=f"meter_{below[0]}")


def check_warranty(
    rig: Rig, last_day: date, values: Mapping[str, Decimal], warranty: Warranty
) -> None:
    """Refused for a warranty that ends before the work, or on a meter not there."""
    if warranty.until is not None and warranty.until <= last_day:
        raise Refused(
            "This warranty would end before it begins. Enter a later day.",
            field="warranty_until",
        )
    if warranty.value is None:
        return
    if not any(meter.kind == warranty.meter for meter in rig.meters.all()):
        raise Refused(
            "Choose which meter the warranty counts on.", field="warranty_meter"
        )
    if warranty.value <= values.get(warranty.meter, Decimal(0)):
        raise Refused(
            "The meter already shows that much. Enter a higher warranty reading.",
            field="warranty_value",
        )


def says_held(lines: Iterable[Line]) -> bool:
    """Whether a line claims of fasteners that they are as tight as they must be."""
    return any(
        line.outcome in {Outcome.HELD, Outcome.DONE, Outcome.SERVICEABLE}
        and line.item is not None
        and checks_wheels(line.item)
        for line in lines
    )


def checks_wheels(item: PlanItem) -> bool:
    """True for the checks that a wheel having been off raises."""
    return any(
        rule.follows() == WHEEL_OFF for rule in parse_triggers(item.triggers, item.key)
    )


# --- what the figures say -------------------------------------------------------------

NOTE = 300  # characters of a line's note


def judged(works: Sequence[WorkDone]) -> list[WorkDone]:
    """Each line as its figures say that it went, whatever it was called."""
    lines = iter(judge_lines([line for work in works for line in work.lines]))
    return [replace(work, lines=list(islice(lines, len(work.lines)))) for work in works]


def judge_lines(lines: Sequence[Line]) -> list[Line]:
    """Each as its figures say that it went; a fault names the limit in its note."""
    judges = judges_of({x.item for x in lines if x.item is not None and x.measures})
    made = []
    for line in lines:
        judge = judges.get(line.item.pk) if line.item is not None else None
        found = judge.judge(line.outcome, line.measures) if judge else None
        made.append(_as_judged(line, found) if found else line)
    return made


def _as_judged(line: Line, found: Judged) -> Line:
    return replace(line, outcome=found.outcome, note=note_with(found.words, line.note))


def note_with(words: str, note: str) -> str:
    """The words of the person stay whole; those of the limit get what room is left."""
    if not words or words in note:
        return note
    room = NOTE - len(f"; {note}") if note else NOTE
    short = words if len(words) <= room else f"{words[: room - 1]}…"
    return "; ".join(filter(None, [short if room > 1 else "", note]))


def without_verdict(
    note: str, item: PlanItem | None, before: Sequence[Measured]
) -> str:
    """A note without what the figures of before had put into it."""
    words = judged_outcome(item, "", before).words if item is not None else ""
    return note.replace(words, "").strip("; ") if words else note
