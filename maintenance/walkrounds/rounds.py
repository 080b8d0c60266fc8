"""Walk-arounds: started, looked at zone by zone, finished."""

import uuid
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from django.core.files.uploadedfile import UploadedFile
from django.db import transaction

from maintenance.findings.models import Finding, Severity
from maintenance.findings.photos import clean_photos, keep_photos
from maintenance.findings.services import open_finding
from maintenance.findings.zones import whole_round, zone_of
from maintenance.households.access import require
from maintenance.households.activity import note_activity
from maintenance.households.models import Member, Role
from maintenance.households.refusals import Refused
from maintenance.plans.models import Outcome, PlanItem
from maintenance.service_records.services import Recorded, record_work
from maintenance.service_records.torque import Wheels
from maintenance.service_records.wheels_told import WheelWork, wheel_work_in
from maintenance.service_records.work import Line, WorkDone
from maintenance.ui.words import day_words
from maintenance.vehicles.models import Rig

from .models import LookFinding, Sighting, WalkRound, ZoneLook


@dataclass(frozen=True, slots=True)
class Wrong:
    """Something not right, as the form of a zone gives it."""

    what: str
    severity: str = Severity.SOON
    unfit: bool = False


@transaction.atomic
def start_walkround(rig: Rig, *, by: Member, today: date) -> WalkRound:
    """Start one; an unfinished one is gone on with, whoever started it."""
    require(by, Role.CREW)
    Rig.objects.select_for_update().get(pk=rig.pk)
    if rig.sold_on is not None:
        raise Refused(f"{rig} is sold.")
    going = WalkRound.objects.unfinished().filter(rig=rig).first()
    if going is not None:
        return going
    note_activity(by, "started walk-around", str(rig))
    return WalkRound.objects.create(rig=rig, started_on=today, started_by=by)


@transaction.atomic
def keep_look(
    walkround: WalkRound,
    *,
    by: Member,
    today: date,
    token: uuid.UUID,
    zone: str,
    same: bool,
    words: str = "",
    uploads: Iterable[UploadedFile] = (),
    still: Collection[Finding] = (),
    wrong: Wrong | None = None,
) -> ZoneLook:
    """Keep one look at a zone. The same `token` a second time gives the first look.

    As last time: the findings known there are seen again. Changed: those in `still`
    are, and `wrong` opens a new one. A look on its way when the walk-around was
    finished is still taken: nothing that somebody typed is lost.
    """
    require(by, Role.CREW)
    WalkRound.objects.select_for_update().get(pk=walkround.pk)
    known = ZoneLook.objects.filter(token=token).first()
    if known is not None:
        return _the_same(known, walkround, zone)
    if zone_of(walkround.rig, zone) is None:
        raise Refused(f"{walkround.rig} has no such zone.")
    files = [] if same else clean_photos(uploads)
    words = "" if same else words.strip()
    if not (same or words or files or wrong or still):
        words = "Enter what changed, add a photo, or tap “As last time”."
        raise Refused(words, field="words")
    said = {"same": same, "words": words, "on": today, "by": by}
    look = ZoneLook.objects.create(walkround=walkround, zone=zone, token=token, **said)
    found = _open(look, wrong, by) if wrong else None
    look.photos.add(*keep_photos(files, walkround.rig, on=today, finding=found))
    _see_again(look, _known_in(look) if same else still)
    return look


def _the_same(known: ZoneLook, walkround: WalkRound, zone: str) -> ZoneLook:
    if known.walkround_id != walkround.pk or known.zone != zone:
        raise Refused("This form was already sent. Reload the page.")
    return known


def _open(look: ZoneLook, wrong: Wrong, by: Member) -> Finding:
    found = open_finding(
        look.walkround.rig,
        by=by,
        on=look.on,
        what=wrong.what,
        unfit=wrong.unfit,
        zone=look.zone,
        severity=wrong.severity,
    )
    LookFinding.objects.create(look=look, finding=found)
    return found


def _known_in(look: ZoneLook) -> Iterable[Finding]:
    rows = Finding.objects.not_right_yet().filter(rig=look.walkround.rig)
    return rows.filter(zone=look.zone).exclude(look_link__look=look)


def _see_again(look: ZoneLook, findings: Iterable[Finding]) -> None:
    rows = [Sighting(finding=finding, look=look) for finding in findings]
    if any(row.finding.rig_id != look.walkround.rig_id for row in rows):
        raise Refused("This belongs to another rig.")
    Sighting.objects.bulk_create(rows)


def answerable(walkround: WalkRound) -> list[PlanItem]:
    """Items of the plan that this walk-around may have answered: looks at zones that
    were looked at and where nothing new was found, and work that goes through all.

    Only those who looked can say whether it was the whole work of the item.
    """
    looks = list(walkround.looks.prefetch_related("opened"))
    faulty = {look.zone for look in looks if look.opened.all()}
    keys = set(whole_round()) if looks else set()
    for look in looks:
        zone = zone_of(walkround.rig, look.zone)
        if zone is not None and look.zone not in faulty:
            keys |= set(zone.answers)
    items = PlanItem.objects.active().filter(rig=walkround.rig, key__in=keys)
    return list(items.order_by("pk"))


@transaction.atomic
def finish_walkround(
    walkround: WalkRound,
    *,
    by: Member,
    today: date,
    done: Sequence[PlanItem] = (),
    wheels: Wheels | None = None,
    told: str = "",
) -> Recorded | None:
    """Finish it. `done` are the items whose whole work was done with it, `wheels` those
    that were off by the words `told`: one service record holds it all, and what follows
    comes back with it. A second finish changes nothing."""
    require(by, Role.CREW)
    if not walkround.looks.exists():
        raise Refused("Look at one zone at least before you finish.")
    strange = set(done) - set(answerable(walkround))
    if strange:
        raise Refused(f"This walk-around doesn't cover “{min(map(str, strange))}”.")
    changed = WalkRound.objects.filter(pk=walkround.pk, finished_on=None).update(
        finished_on=max(today, walkround.started_on), finished_by=by
    )
    walkround.refresh_from_db()
    if not changed:
        return None
    note_activity(by, "finished walk-around", str(walkround.rig))
    wheels = wheels or Wheels()
    lines = _lines(done, told if wheels.off else "")
    if not lines:
        return None
    recorded = _record(walkround, by, today, lines, wheels)
    walkround.record = recorded.record
    walkround.save(update_fields=["record"])
    return recorded


def wheel_work_told(walkround: WalkRound) -> WheelWork | None:
    """What somebody wrote about a zone that takes wheels off."""
    texts = walkround.looks.exclude(words="").values_list("words", flat=True)
    found = (wheel_work_in(walkround.rig, [], text) for text in texts)
    return next(filter(None, found), None)


def _lines(done: Sequence[PlanItem], told: str) -> list[Line]:
    """What was looked at renews the look; what goes through all zones was done. `told`:
    work that took wheels off, in words."""
    whole = whole_round()
    lines = [
        Line(
            title=item.title,
            item=item,
            outcome=Outcome.DONE if item.key in whole else Outcome.SERVICEABLE,
        )
        for item in done
    ]
    return [*lines, Line(title=told)] if told else lines


def _record(
    walkround: WalkRound, by: Member, today: date, lines: Sequence[Line], wheels: Wheels
) -> Recorded:
    started = walkround.started_on
    work = WorkDone(
        rig=walkround.rig,
        on=started,
        until=today if today > started else None,
        doer=by.name,
        notes=f"Walk-around of {day_words(started)}.",
        lines=lines,
        wheels=wheels,
        form_token=walkround.key,
    )
    return record_work(work, by=by, today=today)
