"""Work that is withdrawn takes with it what safety mail rested on: what is not sent is
dropped, and of what went out the next digest says so, once."""

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

import pytest
from django.utils import timezone
from icalendar import Calendar

from maintenance.findings.models import Finding
from maintenance.findings.services import close_finding
from maintenance.households.models import Member
from maintenance.reminders.calendar_feed import publish
from maintenance.reminders.models import (
    Digest,
    DigestState,
    FindingNotice,
    Notice,
    Stage,
)
from maintenance.reminders.services import (
    keep_calendar,
    make_digest,
    make_digests,
    raise_everywhere,
    raise_notices,
    send_digest,
    send_waiting,
    tidy,
)
from maintenance.service_records.amending import Amended, amend_record
from maintenance.service_records.models import ServiceRecord
from maintenance.service_records.services import undo_record, void_record
from maintenance.service_records.torque import Wheels
from maintenance.service_records.work import Line
from maintenance.ui.words import day_words
from maintenance.vehicles.models import Rig
from tests.builders import TODAY, log_work, make_member
from tests.reminders.builders import (
    due_item,
    entered,
    make_home,
    noon,
    overdue_item,
    take_on,
)

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)
TOMORROW = TODAY + DAY
RECHECK = "Juniper: Re-check lug torque after a wheel was off"
GONE = "No longer applies"


@pytest.fixture(scope="module")
def looked_at(shared):
    with shared(look_at_home, at="2026-05-04 12:00") as (pks, _files):
        yield pks


@pytest.fixture
def home(looked_at, clock):
    clock("2026-05-04 12:00", "America/Denver")
    member, rig = looked_at
    return Member.objects.get(pk=member), Rig.objects.get(pk=rig)


def look_at_home():
    """Looked at this morning; the lug re-check and a tire check are on the plan."""
    member, rig = make_home()
    take_on(rig, "lug_recheck")
    due_item(rig, "tires", unfit=True)
    raise_notices(member.household, today=TODAY)
    make_digest(member, day=TODAY)
    send_waiting(noon(TODAY))
    return member.pk, rig.pk


@pytest.fixture
def log(home, workers) -> Callable[..., ServiceRecord]:
    """Wheels off, recorded, and what safety asks for told."""
    member, rig = home

    def wheels_off(*places: str, **fields) -> ServiceRecord:
        fields.setdefault("lines", [Line("Brakes looked at")])
        off = Wheels(off=frozenset(places or ["LF"]))
        values = {"odometer": Decimal(42310)}
        return workers(log_work, rig, by=member, wheels=off, values=values, **fields)

    return wheels_off


@pytest.fixture
def void(home, workers):
    member, _rig = home
    return lambda record: workers(
        void_record, record, by=member, today=TODAY, why="the other rig"
    )


@pytest.fixture
def undo(home, workers):
    member, _rig = home
    return lambda record: workers(
        undo_record, record, by=member, now=timezone.now(), today=TODAY
    )


def safety_mail() -> Digest:
    return Digest.objects.exclude(key__startswith="digest:").order_by("pk").last()


def tomorrow(days: int = 1) -> list[Digest]:
    """As the jobs of that day leave its digests."""
    now = noon(TODAY + days * DAY)
    raise_everywhere(now)
    made = make_digests(now)
    for digest in made:
        send_digest(digest, now=now)
    return made


def found_fault(member, rig, workers) -> ServiceRecord:
    tires = rig.plan_items.get(key="tires")
    line = Line("Tires", tires, "fault_found", "cut to the cord")
    record = workers(log_work, rig, by=member, lines=[line])
    assert Finding.objects.get().unfit
    return record


# --- mail that did not go -------------------------------------------------------------


@pytest.mark.parametrize("way", ["undo", "void"])
@pytest.mark.parametrize("told_of_it", [True, False])
def test_withdrawn_before_the_mail_went_then_no_mail(
    home, log, void, undo, way, told_of_it, monkeypatch
):
    record = log()
    mail = safety_mail()
    assert mail.notices.filter(stage=Stage.SAFETY).count() == 1
    if not told_of_it:  # the worker that tells comes after the one that sends
        monkeypatch.setattr(
            "maintenance.households.workers.call_worker", lambda *_args, **_more: None
        )

    {"undo": undo, "void": void}[way](record)
    assert Notice.objects.filter(stage=Stage.SAFETY).exists() is not told_of_it
    send_digest(mail, now=noon(TODAY))

    assert (mail.state, mail.text) == (DigestState.EMPTY, "")
    assert tomorrow() == []


def test_withdrawn_while_it_waits_for_a_digest_then_dropped(home, log, void):
    record = log()
    Notice.objects.filter(stage=Stage.SAFETY).update(digest=None)

    void(record)

    assert not Notice.objects.filter(cycle__startswith="event:").exists()


def test_withdrawn_when_the_mail_is_to_be_tried_again_then_not_sent(home, log, void):
    record = log()
    mail = safety_mail()
    Digest.objects.filter(pk=mail.pk).update(written_at=noon(TODAY), attempts=1)

    void(record)
    send_digest(mail, now=noon(TODAY))

    assert mail.state == DigestState.EMPTY


@pytest.mark.parametrize("way", ["undo", "void"])
def test_fault_withdrawn_before_the_mail_went_then_no_mail(
    home, workers, void, undo, way
):
    record = found_fault(*home, workers)
    mail = safety_mail()

    {"undo": undo, "void": void}[way](record)
    send_digest(mail, now=noon(TODAY))

    assert mail.state == DigestState.EMPTY
    assert not FindingNotice.objects.exists()
    assert tomorrow() == []


# --- mail that went -------------------------------------------------------------------


@pytest.mark.parametrize("way", ["undo", "void"])
@pytest.mark.parametrize("state", [None, DigestState.SENT, DigestState.UNKNOWN])
def test_withdrawn_after_the_mail_went_then_the_next_digest_says_so_once(
    home, log, void, undo, way, state
):
    member, rig = home
    record = log()
    mail = safety_mail()
    send_digest(mail, now=noon(TODAY))
    assert mail.state == DigestState.IN_TRAY
    assert RECHECK in mail.text
    if state:
        later = noon(TODAY + 30 * DAY)
        Digest.objects.filter(pk=mail.pk).update(state=state, next_attempt_at=later)

    {"undo": undo, "void": void}[way](record)
    [digest] = tomorrow()

    assert digest.member == member
    assert digest.subject == (
        "No longer applies to Juniper: Re-check lug torque after a wheel was off"
    )
    said = " ".join(digest.text.split())
    assert (
        f"{GONE} {'-' * len(GONE)} * {RECHECK} We reminded you on {day_words(TODAY)}. "
        "The entry behind it was withdrawn, so you don't need to do it now. "
        "How to answer ------------- You don't need to answer this."
    ) in said
    assert GONE in digest.html
    assert tomorrow(2) == tomorrow(9) == []
    rig.plan_items.get(key="lug_recheck").standing.refresh_from_db()
    feed = keep_calendar(member, now=noon(TODAY), shows="all", alarm_days=None)
    shown = Calendar.from_ical(publish(feed, now=noon(TOMORROW), today=TOMORROW))
    assert not any("lug torque" in str(event["summary"]) for event in shown.events)


def test_withdrawn_after_the_mail_went_then_due_asks_no_more(
    home, log, void, client_as
):
    member, _rig = home
    record = log()
    send_waiting(noon(TODAY))
    browser = client_as(member)
    assert "Re-check lug torque" in browser.get("/").text

    void(record)

    assert "Re-check lug torque" not in browser.get("/").text


def test_withdrawn_when_other_work_is_due_then_it_stands_last(home, log, void):
    _member, rig = home
    record = log()
    send_waiting(noon(TODAY))
    void(record)
    overdue_item(rig, "oil")
    entered(rig.household)

    [digest] = tomorrow()

    assert digest.subject == "1 overdue, 1 no longer needed: Juniper"
    assert digest.text.index("Juniper: Oil") < digest.text.index(GONE)


def test_withdrawn_then_only_those_read_so_who_were_told(home, log, void):
    _member, rig = home
    record = log()
    send_waiting(noon(TODAY))
    make_member(rig.household, "crew", name="Later")

    void(record)

    said = {digest.member.name: GONE in digest.text for digest in tomorrow()}
    assert said == {"Robin": True, "Later": False}


def test_withdrawn_when_the_digest_could_not_be_sent_then_the_next_one_says_so(
    home, log, void
):
    _member, rig = home
    record = log()
    send_waiting(noon(TODAY))
    void(record)
    now = noon(TOMORROW)
    [unsent] = make_digests(now)
    overdue_item(rig, "oil")
    entered(rig.household)

    [digest] = tomorrow(2)

    unsent.refresh_from_db()
    assert unsent.state == DigestState.FOLDED
    assert RECHECK in digest.text


def test_withdrawn_and_recorded_again_then_asked_for_and_not_said_to_be_withdrawn(
    home, log, void
):
    record = log()
    send_waiting(noon(TODAY))
    void(record)

    log()

    mail = safety_mail()
    assert mail.state == DigestState.QUEUED
    send_digest(mail, now=noon(TODAY))
    assert RECHECK in mail.text
    assert GONE not in mail.text
    assert tomorrow() == []


def test_withdrawn_twice_then_said_twice(home, log, void):
    for days in (1, 2):
        record = log()
        send_waiting(noon(TODAY))
        void(record)
        [digest] = tomorrow(days)
        assert RECHECK in digest.text


def test_event_withdrawn_counts_again_and_is_withdrawn_again_then_said_again(
    home, log, void
):
    _member, rig = home
    record = log()
    send_waiting(noon(TODAY))
    void(record)
    tomorrow()
    events = record.events.all()
    for withdrawn, day in ((False, 2), (True, 3)):
        events.update(withdrawn=withdrawn)
        rig.household.reckoned_on = None
        rig.household.save()
        raise_notices(rig.household, today=TODAY + day * DAY)
        send_waiting(noon(TODAY + day * DAY))

    [digest] = make_digests(noon(TODAY + 3 * DAY))
    send_digest(digest, now=noon(TODAY + 3 * DAY))
    assert RECHECK in digest.text
    assert Notice.objects.filter(stage=Stage.WITHDRAWN).count() == 1


# --- what is not withdrawn ------------------------------------------------------------


def check(home, workers, on=TODAY) -> ServiceRecord:
    member, rig = home
    item = rig.plan_items.get(key="lug_recheck")
    values = {"odometer": Decimal(42370)}
    return workers(
        log_work,
        rig,
        by=member,
        on=on,
        today=on,
        lines=[Line(item.title, item, "held")],
        values=values,
    )


def test_check_done_then_nothing_is_said(home, log, workers):
    log()
    send_waiting(noon(TODAY))

    check(home, workers)

    assert tomorrow() == []


def test_check_done_and_its_cause_withdrawn_then_nothing_is_said(
    home, log, void, workers
):
    record = log()
    send_waiting(noon(TODAY))
    check(home, workers)

    void(record)

    assert tomorrow() == []
    assert not Notice.objects.filter(cycle__startswith="event:").exists()


def amended(record, **changes) -> Amended:
    lines = [(row, Line(row.title, row.item)) for row in record.lines.all()]
    values = {"odometer": Decimal(record.values["odometer"])}
    return replace(Amended(record.on, record.until, lines, values), **changes)


def test_corrected_record_whose_event_stays_then_nothing_is_said(home, log, workers):
    member, _rig = home
    record = log()
    send_waiting(noon(TODAY))
    to = amended(record, fields={"doer": "Bay Street Garage"})

    workers(amend_record, record, by=member, today=TODAY, why="who it was", to=to)

    assert Digest.objects.exclude(key__startswith="digest:").count() == 1
    assert tomorrow() == []


def test_corrected_record_whose_event_is_another_then_asked_for_and_not_withdrawn(
    home, log, workers
):
    member, _rig = home
    record = log()
    send_waiting(noon(TODAY))
    to = amended(record, values={"odometer": Decimal(42340)})

    workers(amend_record, record, by=member, today=TODAY, why="a slip", to=to)

    assert Digest.objects.exclude(key__startswith="digest:").count() == 2
    send_waiting(noon(TODAY))
    assert RECHECK in safety_mail().text
    assert GONE not in safety_mail().text
    check(home, workers)
    assert tomorrow() == []


def test_one_of_two_events_withdrawn_then_nothing_is_said(home, log, void):
    record = log("LF")
    log("RR")
    send_waiting(noon(TODAY))

    void(record)

    assert tomorrow() == []


# --- findings -------------------------------------------------------------------------


@pytest.mark.parametrize("way", ["undo", "void"])
def test_fault_withdrawn_after_the_mail_went_then_the_next_digest_says_so_once(
    home, workers, void, undo, way
):
    record = found_fault(*home, workers)
    what = Finding.objects.get().what
    send_waiting(noon(TODAY))
    assert safety_mail().text.count(what) == 1

    {"undo": undo, "void": void}[way](record)
    [digest] = tomorrow()

    assert digest.subject == f"No longer applies to Juniper: {what}"
    assert (
        f"We reminded you on {day_words(TODAY)}. "
        "The entry that reported it was withdrawn." in " ".join(digest.text.split())
    )
    assert "unfit" not in digest.text.lower()
    assert tomorrow(2) == tomorrow(9) == []


def test_fault_told_by_an_earlier_version_and_withdrawn_then_said(home, workers, void):
    record = found_fault(*home, workers)
    what = Finding.objects.get().what
    send_waiting(noon(TODAY))
    FindingNotice.objects.update(rig=None, what="")

    void(record)

    assert what in tomorrow()[0].text


def test_fault_fixed_and_its_record_withdrawn_then_nothing_is_said(home, workers, void):
    member, _rig = home
    record = found_fault(*home, workers)
    send_waiting(noon(TODAY))
    close_finding(Finding.objects.get(), by=member)

    void(record)

    assert tomorrow() == []
    assert not FindingNotice.objects.exists()


def test_fault_withdrawn_and_found_again_then_told_and_not_said_to_be_withdrawn(
    home, workers, void
):
    member, rig = home
    record = found_fault(member, rig, workers)
    send_waiting(noon(TODAY))
    void(record)
    Finding.objects.all().delete()

    found_fault(member, rig, workers)

    send_waiting(noon(TODAY))
    assert "unfit to travel" in safety_mail().subject
    overdue_item(rig, "oil")
    entered(rig.household)
    [digest] = tomorrow()
    assert "unfit to travel" in digest.subject
    assert GONE not in digest.text


# --- letting go -----------------------------------------------------------------------


def test_tidy_then_what_was_said_to_be_withdrawn_goes(home, log, void, workers):
    records = [log(), found_fault(*home, workers)]
    send_waiting(noon(TODAY))
    for record in records:
        void(record)
    tomorrow()
    assert FindingNotice.objects.get().withdrawn

    tidy(noon(TODAY + 300 * DAY))
    assert Notice.objects.filter(stage=Stage.WITHDRAWN).exists()
    tidy(noon(TODAY + 500 * DAY))

    assert not Notice.objects.filter(stage=Stage.WITHDRAWN).exists()
    assert not FindingNotice.objects.exists()
