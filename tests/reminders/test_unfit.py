"""What makes a rig unfit to travel: told at once to whoever may drive, first in each
digest until it is put right, and on today in the calendar."""

from datetime import date, timedelta
from uuid import UUID

import pytest
from icalendar import Calendar

from maintenance.findings.models import Finding
from maintenance.findings.services import (
    accept_finding,
    close_finding,
    judge_finding,
    open_finding,
    plan_finding,
    reopen_finding,
)
from maintenance.plans.models import Deferral
from maintenance.reminders.calendar_feed import publish
from maintenance.reminders.models import (
    CalendarEntry,
    CalendarFeed,
    Digest,
    DigestState,
    FindingNotice,
)
from maintenance.reminders.services import (
    keep_calendar,
    make_digest,
    make_digests,
    raise_everywhere,
    raise_notices,
    send_digest,
    tell_at_once,
)
from maintenance.service_records.work import Line
from maintenance.vehicles.services import report_event
from maintenance.walkrounds.rounds import Wrong, keep_look, start_walkround
from tests.builders import TODAY, log_work, make_member, make_rig
from tests.reminders.builders import (
    due_item,
    entered,
    make_home,
    noon,
    overdue_item,
    renewed,
    stages,
    take_on,
)

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)
CRACK = "Crack in the frame"


@pytest.fixture
def home(clock):
    clock("2026-05-04 12:00", "America/Denver")
    member, rig = make_home()
    raise_notices(member.household, today=TODAY)
    return member, rig


def found(member, rig, *, unfit=True, what=CRACK) -> Finding:
    return open_finding(rig, by=member, on=TODAY, what=what, unfit=unfit)


def told() -> list[str]:
    return sorted(digest.member.name for digest in Digest.objects.all())


# --- at once --------------------------------------------------------------------------


def test_finding_when_unfit_then_each_who_may_drive_is_told_at_once(home, workers):
    member, rig = home
    make_member(rig.household, "crew", name="Casey")
    make_member(rig.household, "viewer", name="Vic")
    make_member(rig.household, "crew", name="Nobody", email="")
    make_member(rig.household, "crew", name="Left", left_on=TODAY)

    workers(found, member, rig)

    assert told() == ["Casey", "Robin"]
    mail = Digest.objects.first()
    send_digest(mail, now=noon(TODAY))
    assert mail.subject == "Juniper unfit to travel: Crack in the frame"
    assert "Don't drive Juniper until this is fixed." in mail.text
    assert "Unfit to travel until it's fixed" in mail.text


def test_mail_of_a_finding_with_a_public_address_then_a_link_to_its_page(
    home, workers, settings
):
    settings.PUBLIC_URL = "https://rigs.example.org"
    finding = workers(found, *home)

    mail = Digest.objects.get()
    send_digest(mail, now=noon(TODAY))

    for part in (mail.text, mail.html):
        assert f"https://rigs.example.org/findings/{finding.pk}/" in part
        assert "Answer on its page in Rigsite." in part
        assert "/answer/" not in part


def test_finding_when_fit_to_travel_then_nobody_is_told(home, workers):
    workers(found, *home, unfit=False)

    assert told() == []


def test_finding_then_told_whatever_the_person_chose(home, workers):
    member, rig = home
    other = make_rig(rig.household, name="Kestrel")
    member.told_stages, member.told_rigs = ["heads_up"], [other.pk]
    member.save()

    workers(found, member, rig)

    assert told() == ["Robin"]


def test_finding_when_judged_unfit_later_then_told_then(home, workers):
    member, rig = home
    finding = workers(found, member, rig, unfit=False)

    workers(
        judge_finding,
        finding,
        by=member,
        what=CRACK,
        zone="",
        severity="trip",
        unfit=True,
    )

    assert told() == ["Robin"]


def test_finding_of_a_walkround_then_told_at_once(home, workers):
    member, rig = home
    walk = start_walkround(rig, by=member, today=TODAY)

    workers(
        keep_look,
        walk,
        by=member,
        today=TODAY,
        token=UUID(int=1),
        zone="roof",
        same=False,
        wrong=Wrong(CRACK, unfit=True),
    )

    assert told() == ["Robin"]


def test_findings_of_a_record_then_one_mail_of_all(home, workers):
    member, rig = home
    items = [due_item(rig, key, unfit=True) for key in ("tires", "hitch")]

    lines = [Line(item.title, item, "fault_found", "bad") for item in items]
    workers(log_work, rig, by=member, lines=lines)

    assert told() == ["Robin"]
    assert Digest.objects.get().finding_notices.count() == 2


def test_collision_today_then_each_who_may_drive_is_told_at_once(home, workers):
    """49 CFR 396.7: nothing is driven in a state likely to cause an accident."""
    member, rig = home
    make_member(
        rig.household, "crew", name="Casey", told_stages=["heads_up"], told_rigs=[]
    )
    make_member(rig.household, "viewer", name="Vi", told_stages=[])
    take_on(rig, "collision_check")

    workers(report_event, rig, by=member, today=TODAY, kind="collision", on=TODAY)

    assert told() == ["Casey", "Robin"]
    mail = Digest.objects.filter(member=member).get()
    send_digest(mail, now=noon(TODAY))
    mail.refresh_from_db()
    assert mail.subject.startswith("Juniper unfit to travel")
    for part in (mail.text, mail.html):
        assert "Collision on May 4, 2026: not checked yet." in " ".join(part.split())
        assert "Traffic can kill you" in part


def test_finding_when_told_then_not_told_again(home, workers):
    member, rig = home
    workers(found, member, rig)

    tell_at_once(rig.household, today=TODAY)
    raise_notices(rig.household, today=TODAY)
    raise_everywhere(noon(TODAY))

    assert told() == ["Robin"]


def test_finding_that_no_signal_told_then_the_sweep_does(home):
    member, rig = home
    found(member, rig)  # its transaction has no end here

    entered(rig.household)
    raise_everywhere(noon(TODAY))

    assert told() == ["Robin"]


def test_finding_when_fixed_before_the_mail_went_then_not_sent(home, workers):
    member, rig = home
    finding = workers(found, member, rig)
    close_finding(finding, by=member)

    mail = Digest.objects.get()
    send_digest(mail, now=noon(TODAY))

    assert mail.state == DigestState.EMPTY


def test_finding_when_open_again_then_told_again(home, workers):
    member, rig = home
    finding = workers(found, member, rig)
    accept_finding(finding, by=member, why="It is old.")
    raise_notices(rig.household, today=TODAY)

    workers(reopen_finding, finding, by=member)

    assert told() == ["Robin", "Robin"]


def test_finding_of_a_sold_rig_then_silent(home, workers):
    member, rig = home
    rig.sold_on = TODAY
    rig.save()

    workers(found, member, rig)

    assert told() == []


def test_finding_when_the_member_comes_later_then_told_then(home, workers):
    member, rig = home
    workers(found, member, rig)
    make_member(rig.household, "crew", name="Casey")

    raise_notices(rig.household, today=TODAY)

    assert told() == ["Casey", "Robin"]


def test_finding_then_told_again_after_a_week_and_the_job_wakes_for_it(home, workers):
    member, rig = home
    workers(found, member, rig)
    send_digest(Digest.objects.get(), now=noon(TODAY))
    for days in range(1, 9):
        raise_everywhere(noon(TODAY + days * DAY))

    notices = FindingNotice.objects.order_by("number")
    assert [(n.number, n.raised_on) for n in notices] == [
        (0, TODAY),
        (1, TODAY + 7 * DAY),
    ]
    assert len(told()) == 1  # the second waits for the digest
    [digest] = make_digests(noon(TODAY + 8 * DAY))
    assert digest.finding_notices.count() == 1


# --- items that make a rig unfit ------------------------------------------------------


def test_item_when_overdue_and_unfit_then_told_at_once(home):
    member, rig = home
    member.told_stages = ["heads_up"]
    member.save()
    make_member(rig.household, "viewer", name="Vic", told_stages=["heads_up"])
    overdue_item(rig, "tires", unfit=True)
    renewed(rig.household)

    tell_at_once(rig.household, today=TODAY)
    tell_at_once(rig.household, today=TODAY)

    assert told() == ["Robin"]
    mail = Digest.objects.get()
    send_digest(mail, now=noon(TODAY))
    assert mail.subject == "Juniper unfit to travel: Tires"


def test_item_when_put_off_and_then_unfit_then_told_all_the_same(home):
    _member, rig = home
    item = overdue_item(rig, "tires", unfit=True)
    Deferral.objects.create(item=item, until=TODAY + 9 * DAY, why="away")
    renewed(rig.household)

    raise_notices(rig.household, today=TODAY)

    mail = Digest.objects.get()
    send_digest(mail, now=noon(TODAY))
    assert mail.state == DigestState.IN_TRAY
    assert "Juniper: Tires" in mail.text


# --- first in each digest -------------------------------------------------------------


def daily(member, day: date) -> Digest:
    raise_notices(member.household, today=day)
    made = make_digest(member, day=day)
    assert made is not None
    send_digest(made, now=noon(day))
    return made


def test_digest_when_a_finding_was_told_before_then_it_stands_first(home, workers):
    member, rig = home
    finding = workers(found, member, rig)
    for n in range(3):
        overdue_item(rig, f"job_{n}")
        entered(rig.household)
        mail = daily(member, TODAY + (n + 1) * DAY)
        assert mail.text.index(CRACK) < mail.text.index(f"Job {n}")
        assert mail.subject.startswith("Juniper unfit to travel, ")

    close_finding(finding, by=member)
    overdue_item(rig, "last")
    entered(rig.household)
    assert CRACK not in daily(member, TODAY + 4 * DAY).text


def test_digest_of_a_viewer_then_what_is_unfit_stands_first(home, workers):
    member, rig = home
    workers(found, member, rig)
    viewer = make_member(rig.household, "viewer")
    overdue_item(rig)

    assert daily(viewer, TODAY + DAY).text.index(CRACK) < 300


def test_digest_when_an_unfit_item_was_told_before_then_it_stands_first(home):
    member, rig = home
    overdue_item(rig, "tires", unfit=True)
    raise_notices(rig.household, today=TODAY)
    overdue_item(rig, "oil")
    entered(rig.household)

    mail = daily(member, TODAY + DAY)

    assert ("tires", "overdue") not in stages(mail.notices.all())
    assert mail.text.index("Juniper: Tires") < mail.text.index("Juniper: Oil")


def test_digest_when_the_finding_became_an_item_then_told_once(home, workers):
    member, rig = home
    finding = workers(found, member, rig)
    plan_finding(finding, by=member, today=TODAY, title=CRACK, due_on=TODAY + 3 * DAY)
    due_item(rig, "oil")

    mail = daily(member, TODAY + DAY)

    assert mail.text.count("Juniper: Crack in the frame") == 1
    heading = mail.text.index("Unfit to travel until it's fixed")
    assert heading < mail.text.index(CRACK) < mail.text.index("Juniper: Oil")


# --- in the calendar ------------------------------------------------------------------


def feed_of(member) -> CalendarFeed:
    return keep_calendar(member, now=noon(TODAY), shows="due", alarm_days=None)


def events(feed, day=TODAY) -> list[tuple[str, date, date]]:
    text = publish(feed, now=noon(day), today=day)
    assert publish(feed, now=noon(day), today=day) == text
    return [
        (str(event["summary"]), event.decoded("dtstart"), event.decoded("dtend"))
        for event in Calendar.from_ical(text).events
    ]


def test_calendar_then_the_finding_stands_on_today_until_it_is_put_right(home):
    member, rig = home
    finding = found(member, rig)
    feed = feed_of(member)

    for day in (TODAY, TODAY + DAY):
        assert events(feed, day) == [
            (f"Juniper unfit to travel: {CRACK}", day, day + DAY)
        ]
    assert CalendarEntry.objects.get().sequence == 1

    close_finding(finding, by=member)
    assert events(feed, TODAY + DAY) == []


def test_calendar_then_an_unfit_item_stands_on_today(home):
    member, rig = home
    overdue_item(rig, "tires", unfit=True)
    renewed(rig.household)

    assert events(feed_of(member)) == [
        ("Juniper unfit to travel: Tires", TODAY, TODAY + DAY)
    ]


def test_calendar_when_the_finding_became_an_overdue_item_then_once(home):
    member, rig = home
    finding = found(member, rig)
    plan_finding(finding, by=member, today=TODAY, title=CRACK, due_on=TODAY + DAY)
    feed = feed_of(member)

    assert [day for _what, day, _end in events(feed, TODAY + 2 * DAY)] == [
        TODAY + 2 * DAY
    ]
