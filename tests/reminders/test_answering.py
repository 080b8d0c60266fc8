"""Answering by the links of a mail: looking changes nothing, confirming does, once."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.test import Client
from django.utils import timezone

from maintenance.findings.models import Finding, FindingState
from maintenance.findings.services import plan_finding
from maintenance.plans.models import Completion
from maintenance.reminders.answer_links import GOOD_FOR, AnswerLink
from maintenance.reminders.models import AnsweredLink, HeldReminder
from maintenance.reminders.services import make_digest, raise_notices, send_digest
from maintenance.service_records.models import ServiceRecord
from maintenance.service_records.queries import fixed_by
from maintenance.service_records.services import undo_record
from maintenance.vehicles.models import Reading
from maintenance.vehicles.services import report_event
from tests.builders import TODAY, make_item, make_member, make_reading, make_rig
from tests.reminders.builders import (
    make_home,
    noon,
    overdue_item,
    renewed,
    stages,
    take_on,
    wheel_off,
)

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)
HOST = "https://rigs.example.org"
NEXT = {"on": "2026-05-04", "value": "42060"}


@pytest.fixture(autouse=True)
def _today(clock, settings) -> None:
    clock("2026-05-04 09:00", "America/Denver")
    settings.PUBLIC_URL = HOST


@pytest.fixture
def outside() -> Client:
    """A phone's browser without a session, and without our cookies."""
    return Client(enforce_csrf_checks=True)


@pytest.fixture
def item():
    _member, rig = make_home()
    found = take_on(rig, "lug_recheck")
    wheel_off(rig, on=TODAY - DAY)
    renewed(rig.household)
    return found


def link(item, purpose="done", *, member=None, mail=1, until=TODAY + GOOD_FOR):
    member = member or item.rig.household.members.get()
    return AnswerLink(purpose, mail, member.pk, item.pk, until)


def path(*args, **kwargs) -> str:
    return link(*args, **kwargs).url.removeprefix(HOST)


def rows() -> tuple[int, ...]:
    kinds = (ServiceRecord, Completion, Reading, AnsweredLink, HeldReminder)
    return tuple(kind.objects.count() for kind in kinds)


def test_done_on_the_road_asks_for_the_tow_vehicles_odometer(outside):
    member, mule = make_home()
    wren = make_rig(
        mule.household,
        name="Wren",
        kind="travel_trailer",
        wheels="trailer_two",
        meter={"kind": "towed", "unit": "mi"},
    )
    mule.tows.create(
        rig=wren,
        start=TODAY - DAY,
        end=TODAY + 9 * DAY,
        distance=Decimal(900),
    )
    check = take_on(wren, "lug_recheck")
    at = mule.meters.get().readings.order_by("value").last().value
    report_event(
        wren,
        by=member,
        today=TODAY,
        kind="wheel_off",
        on=TODAY - DAY,
        values={"tow_odometer": at},
    )

    page = outside.get(path(check)).text
    assert f"Odometer of {mule} now (mi)" in page
    assert "0 mi towed since the wheel was off" in page
    assert "towed distance shows" not in page

    data = {"on": "2026-05-04", "outcome": "held", "meter_tow_odometer": str(at + 60)}
    answer = outside.post(path(check), data, follow=True)
    assert "Recorded on Wren" in answer.text
    assert mule.meters.get().readings.filter(value=at + 60).exists()
    check.standing.refresh_from_db()
    assert check.standing.standing == "waiting"


# --- looking --------------------------------------------------------------------------


@pytest.mark.parametrize("purpose", ["done", "reading", "later"])
@pytest.mark.parametrize("method", ["get", "head", "options"])
def test_link_when_only_opened_then_nothing_changes(outside, item, purpose, method):
    """Programs that look into mail open every link of it."""
    before = rows()

    for _ in range(3):
        assert getattr(outside, method)(path(item, purpose)).status_code == 200

    assert rows() == before


@pytest.mark.parametrize("purpose", ["done", "reading", "later"])
def test_link_page_says_who_answers_and_leaks_nothing(outside, item, purpose):
    page = outside.get(path(item, purpose))

    assert "You answer as <strong>Robin</strong>" in page.text
    assert item.title in page.text
    assert page["Referrer-Policy"] == "no-referrer"
    assert "noindex" in page["X-Robots-Tag"]
    assert "no-store" in page["Cache-Control"]


# --- done -----------------------------------------------------------------------------


def test_done_when_confirmed_then_recorded_as_by_the_form(outside, item):
    page = outside.post(path(item), NEXT | {"outcome": "held"}, follow=True)

    record = ServiceRecord.objects.get()
    assert (record.on, record.doer, record.values) == (
        TODAY,
        "Robin",
        {"odometer": "42060.0"},
    )
    assert Completion.objects.get(item=item).outcome == "held"
    assert page.status_code == 200
    assert "Recorded on Juniper" in page.text
    item.standing.refresh_from_db()
    assert item.standing.standing == "waiting"


def test_done_leads_to_what_follows_for_the_links_person(outside, item):
    url = path(item)

    page = outside.post(url, NEXT | {"outcome": "held"}, follow=True)

    record = ServiceRecord.objects.get()
    assert page.redirect_chain[-1][0].startswith("/follows/")
    assert "<h2>What comes next</h2>" in page.text
    assert "42,060" in page.text
    assert f"/login/?next=/records/{record.pk}/" in page.text
    assert "Undo" not in page.text
    assert page["Referrer-Policy"] == "no-referrer"


@pytest.mark.parametrize("change", ["expired", "left", "undone", "altered"])
def test_what_follows_ends_with_its_link(outside, item, clock, change):
    url = path(item)
    done = outside.post(url, NEXT | {"outcome": "held"}, follow=True)
    follows = done.redirect_chain[-1][0]
    member = item.rig.household.members.get()
    if change == "expired":
        clock("2026-06-20 09:00", "America/Denver")
    elif change == "left":
        member.left_on = TODAY
        member.save()
    elif change == "undone":
        record, now = ServiceRecord.objects.get(), timezone.now()
        undo_record(record, by=member, now=now, today=TODAY)
    else:
        follows = follows[:-2] + "/"

    page = outside.get(follows)

    assert page.status_code == 404
    assert "Juniper" not in page.text


def test_done_when_a_nut_had_moved_then_the_check_comes_again(outside, item):
    outside.post(path(item), NEXT | {"outcome": "moved"})

    item.standing.refresh_from_db()
    assert item.standing.result["window"]["opens"]["value"] == 42110


def test_done_when_something_was_wrong_then_a_finding_and_still_due(outside, item):
    outside.post(
        path(item), NEXT | {"outcome": "fault_found", "note": "A stud is broken"}
    )

    assert "A stud is broken" in Finding.objects.get().what
    item.standing.refresh_from_db()
    assert item.standing.standing == "due"


def test_done_on_an_item_that_a_finding_became_fixes_the_finding(outside):
    member, rig = make_home()
    found = Finding.objects.create(rig=rig, what="Seam open", found_on=TODAY)
    planned = {"title": "Seal the seam", "due_on": TODAY + 20 * DAY}
    item = plan_finding(found, by=member, today=TODAY, **planned)

    outside.post(path(item), {"on": "2026-05-04", "outcome": "done"})

    found.refresh_from_db()
    assert found.state == FindingState.FIXED
    assert fixed_by(found).item == item


def test_done_when_wrong_without_a_word_then_asked_and_the_link_lives(outside, item):
    page = outside.post(path(item), NEXT | {"outcome": "fault_found"})

    assert "wrong, like “left side leaks”." in page.text
    assert not AnsweredLink.objects.exists()


def test_done_of_a_check_by_distance_without_a_reading_then_asked(outside, item):
    page = outside.post(path(item), {"on": "2026-05-04", "outcome": "held"})

    assert "Enter a number, like 42310." in page.text
    assert not ServiceRecord.objects.exists()


def test_done_by_date_needs_no_reading(outside):
    _member, rig = make_home()
    item = overdue_item(rig)
    renewed(rig.household)

    outside.post(path(item), {"on": "2026-05-04", "outcome": "done"})

    assert Completion.objects.filter(item=item, on=TODAY).exists()


def test_done_when_the_reading_does_not_fit_then_asked_before_it_counts(outside, item):
    url, wrong = path(item), NEXT | {"outcome": "held", "value": "2060"}
    asked = outside.post(url, wrong)
    assert "fit 42,000 mi on May 3, 2026. What is it?" in asked.text
    assert not ServiceRecord.objects.exists()

    outside.post(url, wrong | {"doubt": "right"})

    assert Reading.objects.get(value=Decimal(2060)).confirmed


def test_done_on_a_day_to_come_then_refused_and_the_link_lives(outside, item):
    url = path(item)
    page = outside.post(url, NEXT | {"outcome": "held", "on": "2026-05-05"})
    assert "still to come" in page.text

    outside.post(url, NEXT | {"outcome": "held"})

    assert ServiceRecord.objects.count() == 1


def test_done_of_a_shops_work_then_the_shop_is_asked_for_and_named(outside):
    _member, rig = make_home()
    item = take_on(rig, "brake_fluid", triggers=[{"every": {"months": 24}}])
    given = {"on": "2026-05-04", "outcome": "done"}

    assert "Which shop did it" in outside.get(path(item)).text
    outside.post(path(item), given)
    assert not ServiceRecord.objects.exists()
    outside.post(path(item), given | {"shop": "Corner garage"})

    record = ServiceRecord.objects.get()
    assert (record.done_by, record.doer) == ("shop", "Corner garage")


# --- a reading ------------------------------------------------------------------------


def test_reading_when_confirmed_then_kept_and_the_check_is_told_at_once(outside, item):
    member = item.rig.household.members.get()
    raise_notices(member.household, today=TODAY)
    meter = item.rig.meters.get()
    page = outside.post(path(item, "reading"), NEXT | {"meter": meter.pk}, follow=True)

    assert (
        "Reading saved: Juniper, 42,060 mi on May 4, 2026: 60 mi since May 3"
        in page.text
    )
    assert Reading.objects.get(value=Decimal(42060)).entered_by == member
    item.standing.refresh_from_db()
    assert item.standing.standing == "due"


def test_reading_when_it_does_not_fit_then_asked(outside, item):
    meter = item.rig.meters.get()

    page = outside.post(
        path(item, "reading"), {"on": "2026-05-04", "value": "4206", "meter": meter.pk}
    )

    assert "Typo: I meant" in page.text
    assert not AnsweredLink.objects.exists()


def test_reading_of_another_rigs_meter_then_refused(outside, item):
    strange = make_rig(name="Strange").meters.get()

    outside.post(path(item, "reading"), NEXT | {"meter": strange.pk})

    assert not strange.readings.exists()
    assert not AnsweredLink.objects.exists()


# --- later ----------------------------------------------------------------------------


def test_later_then_this_person_hears_nothing_until_that_day(outside):
    member, rig = make_home()
    other = make_member(member.household, name="Sam")
    item = overdue_item(rig)
    raise_notices(rig.household, today=TODAY)
    for person in (member, other):
        send_digest(make_digest(person, day=TODAY), now=noon(TODAY))

    outside.post(path(item, "later", member=member), {"days": 14})

    told = {}
    for n in range(1, 15):
        raise_notices(rig.household, today=TODAY + n * DAY)
        for person in (member, other):
            if digest := make_digest(person, day=TODAY + n * DAY):
                send_digest(digest, now=noon(TODAY + n * DAY))
                told.setdefault(person.name, []).append(n)
    # Sam after a week of being overdue (since 2 May), and after two.
    assert told == {"Robin": [14], "Sam": [5, 12]}


def test_later_then_the_work_is_as_due_as_before(outside):
    _member, rig = make_home()
    item = overdue_item(rig)
    renewed(rig.household)

    page = outside.post(path(item, "later"), {"days": 7}, follow=True)

    item.standing.refresh_from_db()
    assert item.standing.standing == "overdue"
    assert not item.deferrals.exists()
    assert "again on May 11, 2026" in page.text


@pytest.mark.parametrize("kind", ["safety", "unfit"])
def test_later_of_what_touches_safety_then_three_days_at_most(outside, kind):
    _member, rig = make_home()
    item = overdue_item(rig, **{kind: True})
    renewed(rig.household)
    url = path(item, "later")

    assert "in 7 days" not in outside.get(url).text
    outside.post(url, {"days": 7})

    assert not HeldReminder.objects.exists()


def test_later_then_what_newly_happens_is_told_at_once(outside, item):
    raise_notices(item.rig.household, today=TODAY)
    outside.post(path(item, "later"), {"days": 2})
    wheel_off(item.rig, on=TODAY, value="42300")
    renewed(item.rig.household)

    raise_notices(item.rig.household, today=TODAY)

    assert stages().count(("lug_recheck", "safety")) == 2


# --- links that do nothing ------------------------------------------------------------


def refused(outside, url, status, words) -> None:
    before = rows()
    for answer in (outside.get(url), outside.post(url, NEXT | {"outcome": "held"})):
        assert answer.status_code == status
        assert words in answer.text
    assert rows() == before


def test_link_when_used_then_it_says_what_it_did_and_does_no_more(outside, item):
    url = path(item)
    outside.post(url, NEXT | {"outcome": "held"})

    again = outside.post(url, NEXT | {"outcome": "held", "value": "42070"})

    assert again.status_code == 410
    assert "This link has been used" in again.text
    assert "May 4, 2026, 9:00 AM: Recorded on Juniper" in again.text
    assert ServiceRecord.objects.count() == 1


def test_link_when_the_same_item_comes_in_a_later_mail_then_a_link_of_its_own(
    outside, item
):
    outside.post(path(item, mail=1), NEXT | {"outcome": "moved"})
    make_reading(item.rig, TODAY, 42150)
    outside.post(path(item, mail=2), NEXT | {"outcome": "held", "value": "42150"})

    assert ServiceRecord.objects.count() == 2


def test_link_when_expired_then_it_says_so(outside, item):
    refused(
        outside,
        path(item, until=TODAY - DAY),
        410,
        "It worked until May 3, 2026.",
    )
    assert (
        '<p class="house">Rigsite</p>'
        in outside.get(path(item, until=TODAY - DAY)).text
    )


def test_link_on_its_last_day_then_it_works(outside, item):
    assert outside.get(path(item, until=TODAY)).status_code == 200


def test_link_when_tampered_with_then_it_says_so(outside, item):
    token = link(item).token
    other = make_item(item.rig, "other")
    forged = token.replace(f".{item.pk}.", f".{other.pk}.")
    for changed in (forged, token[:-1], "x", f"{token}x"):
        refused(outside, f"/answer/done/{changed}/", 404, "missing or changed")


def test_link_of_one_purpose_when_used_for_another_then_it_does_not_work(outside, item):
    token = link(item, "later").token

    refused(outside, f"/answer/done/{token}/", 404, "missing or changed")
    assert outside.get(f"/answer/void/{token}/").status_code == 404


def test_link_when_the_member_has_left_then_it_says_so(outside, item):
    item.rig.household.members.update(left_on=TODAY)
    member = item.rig.household.members.get()

    refused(outside, path(item, member=member), 410, "has left the household")


def test_link_when_the_member_may_only_look_by_now_then_it_says_so(outside, item):
    item.rig.household.members.update(role="viewer")

    refused(outside, path(item), 410, "You can only view now")


def test_link_to_an_item_of_another_household_then_it_leads_nowhere(outside, item):
    refused(outside, path(item, member=make_member()), 410, "on your household")


def test_link_to_a_sold_rig_then_it_says_so(outside, item):
    item.rig.sold_on = TODAY
    item.rig.save()

    refused(outside, path(item), 410, "Juniper is sold")


def test_link_to_a_dropped_item_then_it_says_so(outside, item):
    item.dropped_on = TODAY
    item.save()

    refused(outside, path(item), 410, "no longer on the plan")


def test_rows_of_links_that_expired_anyway_go(outside, item):
    member = item.rig.household.members.get()
    AnsweredLink.objects.create(
        key="old",
        member=member,
        what="x",
        expires_on=TODAY - 2 * DAY,
        at="2026-01-01T00:00Z",
    )

    outside.post(path(item), NEXT | {"outcome": "held"})

    assert not AnsweredLink.objects.filter(key="old").exists()


# --- wheels that were off -------------------------------------------------------------


def test_done_of_work_that_takes_wheels_off_then_which_is_asked(outside):
    _member, rig = make_home()
    rotated = take_on(rig, "tire_rotate")
    given = NEXT | {"outcome": "done", "shop": "Tire barn"}

    assert "Which wheels were off?" in outside.get(path(rotated)).text
    asked = outside.post(path(rotated), given)
    assert "which wheels were off?" in asked.text
    assert not ServiceRecord.objects.exists()
    wheels = {"wheels_off": ["LF"], "torque": "110", "torque_from": "invoice"}
    outside.post(path(rotated), given | wheels)

    record = ServiceRecord.objects.get()
    assert record.wheels_off == ["LF"]
    assert record.torque.figure == 110


def test_done_when_the_check_came_too_early_then_the_page_says_so(outside, item):
    early = {"on": "2026-05-04", "value": "42010", "outcome": "held"}

    page = outside.post(path(item), early, follow=True)

    assert "too early to count" in page.text
