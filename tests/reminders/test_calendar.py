"""The calendar feed by the rules of RFC 5545, read back with icalendar, and the page
that gives and takes its address."""

from datetime import UTC, date, datetime, timedelta

import pytest
from django.test import Client
from django.urls import reverse
from icalendar import Calendar

from maintenance.library.reading import load_library
from maintenance.reminders.models import CalendarFeed
from maintenance.reminders.services import keep_calendar, make_address_anew
from tests.builders import TODAY, make_member, make_rig
from tests.reminders.builders import (
    done,
    due_item,
    make_home,
    overdue_item,
    renewed,
    soon_item,
    take_on,
    wheel_off,
    yearly,
)

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)
NOW = datetime(2026, 5, 4, 15, tzinfo=UTC)


@pytest.fixture(autouse=True)
def _today(clock) -> None:
    clock("2026-05-04 09:00", "America/Denver")


@pytest.fixture
def home():
    member, rig = make_home()
    due_item(rig)
    renewed(rig.household)
    return member, rig


def feed_of(member, shows="coming", alarm_days=None) -> CalendarFeed:
    return keep_calendar(member, now=NOW, shows=shows, alarm_days=alarm_days)


def fetch(feed, **headers):
    url = reverse("calendar_feed", args=[feed.secret])
    return Client().get(url, headers=headers)


def events(feed) -> list:
    return Calendar.from_ical(fetch(feed).content).walk("VEVENT")


def said(event) -> tuple[str, date, date]:
    return (
        str(event["summary"]),
        event.decoded("dtstart"),
        event.decoded("dtend"),
    )


# --- by the standard ------------------------------------------------------------------


# RFC 5545, 3.6: both of these once; 3.1: lines end in CRLF; 8.1: its own media type.
def test_calendar_is_a_whole_calendar(home):
    answer = fetch(feed_of(home[0]))

    assert answer["Content-Type"] == "text/calendar; charset=utf-8"
    raw = answer.content
    assert raw.startswith(b"BEGIN:VCALENDAR\r\n")
    assert raw.endswith(b"END:VCALENDAR\r\n")
    assert raw.count(b"\n") == raw.count(b"\r\n")
    calendar = Calendar.from_ical(raw)
    assert calendar["version"] == "2.0"
    assert calendar["prodid"] == "-//Rigsite//Calendar//EN"
    assert calendar["name"] == calendar["x-wr-calname"] == "Rigsite: Alder Lane"
    assert answer["Content-Disposition"] == 'inline; filename="rigsite.ics"'
    [event] = calendar.events
    assert event["uid"].endswith("@localhost")


# 3.6.1: dates without a time, and an end that is not part of the event.
def test_window_is_an_all_day_event_with_an_exclusive_end(home):
    [event] = events(feed_of(home[0]))

    # Due by 14 May; opens 30 days before it (10 % of a year, at most 30 days).
    assert said(event) == ("Juniper: Due", date(2026, 4, 14), date(2026, 5, 15))
    assert event["dtstart"].params["VALUE"] == "DATE"
    assert event["dtend"].params["VALUE"] == "DATE"


# 3.1: at most 75 octets without the line break, and no character cut in two.
def test_long_lines_are_folded_between_characters():
    member, rig = make_home(name="猫" * 40)
    rig.name = "Käfer " * 9
    rig.save()
    due_item(rig, title="猫" * 60)
    renewed(rig.household)
    feed = feed_of(member)

    lines = fetch(feed).content.split(b"\r\n")

    assert max(len(line) for line in lines) <= 75
    for line in lines:
        line.decode()
    assert "猫" * 60 in str(events(feed)[0]["summary"])


# 3.3.11: commas, semicolons, backslashes and line breaks of a text are escaped.
def test_text_with_signs_of_the_format_then_it_reads_back():
    member, rig = make_home()
    title = "Oil; filter, gasket \\ BEGIN:VEVENT"
    due_item(rig, title=title + "\nEND:VCALENDAR")
    renewed(rig.household)
    feed = feed_of(member)

    [event] = events(feed)

    assert str(event["summary"]) == f"Juniper: {title}\nEND:VCALENDAR"
    assert b"Oil\\; filter\\, gasket \\\\ BEGIN" in fetch(feed).content


def test_window_on_a_meter_then_on_its_likely_days_and_it_says_so():
    member, rig = make_home()
    item = yearly(
        rig,
        "oil",
        TODAY,
        triggers=[{"every": {"distance": 5000, "unit": "mi", "meter": "odometer"}}],
    )
    item.completions.update(values={"odometer": "37500"})
    renewed(rig.household)
    item.standing.refresh_from_db()

    [event] = events(feed_of(member, "all"))

    summary, start, end = said(event)
    assert summary.endswith("(likely)")
    assert (start, end - DAY) == (item.standing.opens_on, item.standing.closes_on)
    assert "are estimates" in str(event["description"])


# 3.8.1.4, 3.6.6: an alarm relative to the start of the first day.
@pytest.mark.parametrize(
    ("days", "trigger"), [(0, timedelta(hours=7)), (7, timedelta(days=-7, hours=7))]
)
def test_alarm_as_chosen_at_the_hour_of_the_mail(home, days, trigger):
    [alarm] = Calendar.from_ical(fetch(feed_of(home[0], alarm_days=days)).content).walk(
        "VALARM"
    )

    assert alarm["action"] == "DISPLAY"
    assert alarm.decoded("trigger") == trigger


def test_alarm_when_none_is_chosen_then_none(home):
    assert b"VALARM" not in fetch(feed_of(home[0])).content


@pytest.mark.parametrize("url", ["", "https://rigs.example.org"])
def test_link_back_only_with_a_public_address(home, settings, url):
    settings.PUBLIC_URL = url

    feed = feed_of(home[0])
    [event] = events(feed)

    item = feed.entries.get().item
    assert event.get("url", "") == (url and url + reverse("item", args=[item.pk]))


# --- stable ---------------------------------------------------------------------------


def test_fetched_again_when_nothing_changed_then_the_same_bytes(home, clock):
    feed = feed_of(home[0], alarm_days=1)
    first = fetch(feed)
    clock("2026-05-05 22:00", "America/Denver")

    again = fetch(feed)

    assert again.content == first.content
    assert again["ETag"] == first["ETag"]


def test_fetched_again_with_the_etag_then_304_and_nothing_else(home):
    feed = feed_of(home[0])
    etag = fetch(feed)["ETag"]

    answer = fetch(feed, if_none_match=etag)

    assert (answer.status_code, answer.content) == (304, b"")
    assert answer["ETag"] == etag
    assert fetch(feed, if_none_match='"other"').status_code == 200


def test_head_then_the_same_without_a_body(home):
    feed = feed_of(home[0])
    full = fetch(feed)

    head = Client().head(reverse("calendar_feed", args=[feed.secret]))

    assert (head.status_code, head.content) == (200, b"")
    assert head["ETag"] == full["ETag"]
    assert (
        Client().post(reverse("calendar_feed", args=[feed.secret])).status_code == 405
    )


def test_work_done_then_the_same_entry_moves_and_its_sequence_rises(home, clock):
    feed = feed_of(home[0], "all")
    [before] = events(feed)
    clock("2026-05-06 09:00", "America/Denver")
    done(feed.entries.get().item, TODAY + DAY)
    renewed(home[0].household, TODAY + 2 * DAY)

    [after] = events(feed)

    assert after["uid"] == before["uid"]
    assert (before["sequence"], after["sequence"]) == (0, 1)
    assert said(after)[2] == date(2027, 5, 6)
    assert before.decoded("dtstamp") == NOW
    assert after.decoded("dtstamp") == NOW + 2 * DAY


def test_job_of_the_library_then_its_short_name_and_its_whole_one_below(home):
    feed = feed_of(home[0])
    events(feed)
    item, oil = feed.entries.get().item, load_library().procedures["engine_oil"]
    item.key, item.title = oil.key, oil.title
    item.save()

    [event] = events(feed)

    assert str(event["summary"]) == f"Juniper: {oil.short}"
    assert str(event["description"]).startswith(f"{oil.title}.")


def test_title_changed_then_the_stamp_moves_and_the_sequence_stays(home, clock):
    feed = feed_of(home[0])
    events(feed)
    entry = feed.entries.get()
    entry.item.title = "Engine oil"
    entry.item.save()
    clock("2026-05-05 09:00", "America/Denver")

    [after] = events(feed)

    assert (str(after["summary"]), after["sequence"]) == ("Juniper: Engine oil", 0)
    assert after.decoded("dtstamp") == NOW + DAY


def test_two_entries_have_two_names(home):
    soon_item(home[1])
    renewed(home[1].household)

    assert len({str(event["uid"]) for event in events(feed_of(home[0]))}) == 2


def test_overdue_then_on_today_with_the_word():
    member, rig = make_home()
    overdue_item(rig)
    renewed(rig.household)

    [entry] = events(feed_of(member))

    assert entry.decoded("dtstart") == TODAY
    assert str(entry["summary"]) == "Overdue: Juniper: Overdue"


# --- which entries --------------------------------------------------------------------


def test_shows_as_chosen():
    member, rig = make_home()
    overdue_item(rig)
    due_item(rig)
    soon_item(rig)
    yearly(rig, "later", TODAY + timedelta(days=200))
    renewed(rig.household)

    counts = [len(events(feed_of(member, one))) for one in ("due", "coming", "all")]

    assert counts == [2, 3, 4]


def test_rigs_that_the_person_is_not_told_of_then_not_shown(home):
    member, rig = home
    due_item(make_rig(member.household, name="Kestrel"))
    renewed(member.household)
    member.told_rigs = [rig.pk]
    member.save()

    assert [said(event)[0] for event in events(feed_of(member))] == ["Juniper: Due"]


def test_sold_rig_then_not_shown(home):
    home[1].sold_on = TODAY
    home[1].save()

    assert events(feed_of(home[0])) == []


def test_item_without_a_day_then_not_shown():
    member, rig = make_home()
    rig.meters.get().readings.all().delete()
    take_on(rig, "lug_recheck")
    wheel_off(rig, value=None)
    renewed(rig.household)

    assert events(feed_of(member, "all")) == []


@pytest.mark.parametrize("rows", [3, 30])
def test_more_entries_then_as_many_queries(rows, django_assert_max_num_queries):
    member, rig = make_home()
    for n in range(rows):
        due_item(rig, f"due_{n}")
    renewed(rig.household)
    feed = feed_of(member)
    fetch(feed)

    with django_assert_max_num_queries(7):
        fetch(feed)


# --- the address ----------------------------------------------------------------------


def test_address_made_anew_then_the_old_one_is_dead_and_the_entries_the_same(home):
    feed = feed_of(home[0])
    before = [event["uid"] for event in events(feed)]

    make_address_anew(home[0], now=NOW)

    assert fetch(feed).status_code == 404
    feed.refresh_from_db()
    assert [event["uid"] for event in events(feed)] == before


def test_address_of_a_member_who_left_then_dead(home):
    feed = feed_of(home[0])
    home[0].left_on = TODAY
    home[0].save()

    assert fetch(feed).status_code == 404


def test_address_that_nobody_has_then_not_found(home):
    assert Client().get("/calendar/guess.ics").status_code == 404


@pytest.mark.parametrize("role", ["viewer", "crew", "keeper"])
def test_page_then_each_member_has_an_address_of_their_own(client_as, home, role):
    client = client_as(make_member(home[0].household, role))

    page = client.post(
        reverse("calendar"), {"shows": "all", "alarm_days": "1"}, follow=True
    )

    feed = CalendarFeed.objects.get()
    assert (feed.shows, feed.alarm_days) == ("all", 1)
    assert f"http://testserver/calendar/{feed.secret}.ics" in page.text
    assert "must be able to reach this computer" in page.text


def test_page_when_choices_are_changed_then_the_address_stays(client_as, home):
    feed = feed_of(home[0], alarm_days=7)

    client_as(home[0]).post(reverse("calendar"), {"shows": "due", "alarm_days": ""})

    changed = CalendarFeed.objects.get()
    assert (changed.secret, changed.shows) == (feed.secret, "due")
    assert changed.alarm_days is None


def test_page_made_anew_and_ended_then_as_it_says(client_as, home):
    feed = feed_of(home[0])
    client = client_as(home[0])

    page = client.post(reverse("new_calendar_address"), follow=True).text
    assert feed.secret not in page
    assert "The old address no longer works" in page
    page = client.post(reverse("no_calendar"), follow=True).text

    assert not CalendarFeed.objects.exists()
    assert "Make an address" in page


def test_page_when_nobody_is_logged_in_then_to_the_login(client):
    assert client.get(reverse("calendar"))["Location"].startswith("/login/")
