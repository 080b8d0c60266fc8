"""A rig with a believable past, as long as a test or a benchmark wants it."""

import hashlib
import io
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

from PIL import Image, ImageDraw

from maintenance.households.models import Household, Member
from maintenance.plans.models import Completion, PlanItem
from maintenance.service_records.models import (
    Attachment,
    RecordLine,
    ServiceRecord,
    TorqueCheck,
    TorquePlace,
)
from maintenance.service_records.proof import proof_folder
from maintenance.vehicles.models import Event, MeterReplacement, Rig, Stay
from tests.builders import TODAY, make_household, make_member, make_reading, make_rig

JOBS = (
    ("Engine oil and filter", "done", "5 quarts and a filter, as the manual says"),
    ("Roof seams looked over", "serviceable", ""),
    ("Lug nuts checked again", "held", ""),
    ("Fresh water sanitized", "done", ""),
    ("Tires: pressure and tread", "serviceable", "all above 6/32 in"),
    ("Generator run under load", "done", "half load for an hour"),
)
REPLACED_ON = date(2020, 2, 1)
SHOPS = ("Juniper Wheel and Axle", "Blue Mesa Service", "Ann", "Ben")


def make_record(rig: Rig, by: Member | None = None, **fields) -> ServiceRecord:
    """One record with one line; `titles` for others, `entered_on` for its entry."""
    titles = fields.pop("titles", ["Engine oil and filter"])
    entered_on = fields.pop("entered_on", None)
    outcome = fields.pop("outcome", "done")
    fields.setdefault("on", date(2026, 4, 1))
    fields.setdefault("doer", "Ann")
    fields.setdefault("currency", rig.household.currency)
    record = ServiceRecord.objects.create(rig=rig, entered_by=by, **fields)
    entered = entered_on or record.on
    noon = datetime(entered.year, entered.month, entered.day, 18, tzinfo=UTC)
    ServiceRecord.objects.filter(pk=record.pk).update(entered_at=noon)
    RecordLine.objects.bulk_create(
        RecordLine(record=record, position=n, title=title, outcome=outcome)
        for n, title in enumerate(titles)
    )
    return record


def make_torque(record: ServiceRecord, *, moved: str = "", **fields) -> TorqueCheck:
    fields.setdefault("figure", Decimal("110.0"))
    fields.setdefault("origin", "manual")
    check = TorqueCheck.objects.create(record=record, **fields)
    TorquePlace.objects.bulk_create(
        TorquePlace(
            check_of=check,
            place=place,
            reached=None if place == moved else check.figure,
            moved=place == moved,
        )
        for place in record.rig.places
    )
    return check


def photo_bytes(n: int = 0, size: tuple[int, int] = (1200, 900)) -> bytes:
    """A made-up photo: a wheel on gravel, near enough."""
    picture = Image.effect_noise(size, 60 + n % 20).convert("RGB")
    draw = ImageDraw.Draw(picture)
    w, h = size
    for k, tone in enumerate((40, 90, 150, 60)):
        r = h * (0.45 - 0.1 * k)
        box = (w / 2 - r, h / 2 - r, w / 2 + r, h / 2 + r)
        draw.ellipse(box, fill=(tone, tone + n % 40, tone))
    out = io.BytesIO()
    picture.save(out, "JPEG", quality=80)
    return out.getvalue()


def attach_bytes(
    record: ServiceRecord, data: bytes, name: str, content_type: str = "image/jpeg"
) -> Attachment:
    folder = proof_folder()
    folder.mkdir(parents=True, exist_ok=True)
    digest = hashlib.sha256(data).hexdigest()
    (folder / digest).write_bytes(data)
    return Attachment.objects.create(
        rig=record.rig,
        record=record,
        form_token=record.form_token,
        title=name,
        content_type=content_type,
        stored=digest,
        size=len(data),
        sha256=digest,
    )


def make_busy_rig(
    records: int, household: Household | None = None, *, photos: int = 0, **fields
) -> tuple[Rig, Member]:
    """A motorhome with that many records, one every week or more, and all that goes
    with them; a photo on every `photos`-th."""
    household = household or make_household()
    ann = make_member(household, "keeper", name="Ann Alder")
    rig = make_rig(household, wheels="six", **fields)
    step = max(1, 2400 // max(records, 1))
    days = [TODAY - timedelta(days=step * n) for n in range(records)]
    pictures = [photo_bytes(n) for n in range(5)] if photos else []
    for n, on in enumerate(days):
        _make_one(rig, ann, n, on)
        if photos and n % photos == 0:
            record = ServiceRecord.objects.filter(rig=rig).latest("pk")
            attach_bytes(record, pictures[n % 5], f"wheel-{n}.jpg")
    for n in range(0, 2400, 30):
        on = TODAY - timedelta(days=n)
        make_reading(rig, on, shown_on(on))
    return rig, ann


def shown_on(day: date) -> int:
    """Twenty miles a day; the odometer was replaced in February 2020 at 9,000 mi."""
    days = (day - REPLACED_ON).days
    return 20 * days if days >= 0 else 9_000 + 20 * days


def _make_one(rig: Rig, by: Member, n: int, on: date) -> None:
    title, outcome, note = JOBS[n % len(JOBS)]
    shop = n % 4 < 2
    record = make_record(
        rig,
        by,
        on=on,
        titles=[title, "Walk round the rig"] if n % 3 == 0 else [title],
        outcome=outcome,
        doer=SHOPS[n % 4],
        done_by="shop" if shop else "member",
        place="Alder Lane" if shop else "",
        values={"odometer": str(shown_on(on))},
        total=Decimal("120.50") + n if shop else None,
        parts=Decimal("70.00") if shop else None,
        notes=note,
        entered_on=min(on + timedelta(days=45 if n % 17 == 5 else 1), TODAY),
    )
    if outcome == "held":
        make_torque(record)


def add_past(rig: Rig) -> None:
    """A replaced odometer, stays, events and plan items with completions."""
    MeterReplacement.objects.create(
        meter=rig.meters.get(), on=REPLACED_ON, old_final=Decimal(9_000)
    )
    for year in (2023, 2024, 2025):
        start = date(year - 1, 11, 5)
        Stay.objects.create(
            rig=rig, start=start, ended_on=date(year, 3, 20), winterized=True
        )
    Event.objects.create(rig=rig, kind="wheel_off", on=date(2026, 4, 1), places=["LF"])
    item = PlanItem.objects.create(
        rig=rig,
        key="engine_oil",
        title="Engine oil and filter",
        system="chassis-engine",
        triggers=[{"every": {"months": 12}}],
        taken_on=date(2024, 1, 1),
    )
    Completion.objects.create(item=item, on=date(2025, 4, 1), outcome="done")
