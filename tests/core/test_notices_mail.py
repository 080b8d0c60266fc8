"""What goes out, under which name, and when: also on days of 23 or 25 hours."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta, timezone
from email.message import EmailMessage
from email.policy import SMTP

import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintenance.core.facts import Standing, StandingName, Window
from maintenance.core.notices import (
    ItemNow,
    Key,
    Notice,
    Person,
    Stage,
    digest_day,
    digest_key,
    message_id,
    one_per_item,
    still_true,
)

HOUR = timedelta(hours=1)
DAY = timedelta(days=1)
TODAY = date(2026, 5, 10)


def item(name: StandingName, **more: object) -> ItemNow:
    window = Window(date(2026, 5, 2), date(2026, 6, 1))
    standing = Standing("oil", name, governing="every_time", window=window)
    return replace(ItemNow(7, 70, standing), **more)


# --- before sending -----------------------------------------------------------------


@pytest.mark.parametrize(
    ("stage", "cycle", "now", "holds"),
    [
        ("due", "every_time:2026-06-01", item("due"), True),
        ("due", "every_time:2026-06-01@2026-05-09", item("due"), True),
        # done since: the window is another
        ("due", "every_time:2025-06-01", item("due"), False),
        ("due", "every_time:2026-06-01", item("later"), False),
        ("heads_up", "every_time:2026-06-01", item("due"), False),
        ("overdue", "every_time:2026-06-01#3", item("overdue"), True),
        ("due", "every_time:2026-06-01", item("due", held_until=TODAY + DAY), False),
        ("due", "every_time:2026-06-01", item("due", held_until=TODAY), True),
        ("safety", "event:e", item("later", safety=True, events=("e",)), True),
        ("safety", "event:e", item("later", safety=True), False),
        ("withdrawn", "event:e", item("later", safety=True), True),
        # asked for by another event, or by its own rule
        ("withdrawn", "event:e", item("later", safety=True, events=("f",)), False),
        ("withdrawn", "event:e", item("due", safety=True), False),
    ],
)
def test_still_true_until_the_work_is_done_or_put_off(
    stage: Stage, cycle: str, now: ItemNow, holds: bool
) -> None:
    key = Key(7, cycle, stage, 1)
    assert still_true(key, now, Person(1), as_of=TODAY) is holds


def test_withdrawn_is_told_whatever_the_person_chose() -> None:
    person = Person(1, stages=frozenset(), rigs=frozenset())
    key = Key(7, "event:e", "withdrawn", 1)
    assert still_true(key, item("later", safety=True), person, as_of=TODAY)


@pytest.mark.parametrize(
    ("cycle", "event"),
    [("event:12", "12"), ("event:moved-3", "moved-3"), ("after:2026-06-01", "")],
)
def test_key_names_the_event_it_rests_on(cycle: str, event: str) -> None:
    assert Key(7, cycle, "safety", 1).event == event


def test_one_per_item_keeps_the_most_urgent_of_each_person_and_item() -> None:
    def notice(number: int, stage: Stage, person: int = 1) -> Notice:
        return Notice(Key(number, "w", stage, person), 70, at_once=False)

    kept = one_per_item(
        [
            notice(1, "book"),
            notice(1, "due"),
            notice(2, "heads_up"),
            notice(3, "overdue"),
            notice(1, "book", person=2),
        ]
    )
    assert [(n.key.item, n.key.stage, n.key.person) for n in kept] == [
        (3, "overdue", 1),
        (1, "due", 1),
        (1, "book", 2),
        (2, "heads_up", 1),
    ]


# --- the hour of the digest --------------------------------------------------------


def first_due(tz: str, hour: int, around: datetime) -> dict[date, datetime]:
    """The first moment, on the quarter hour, at which each day's digest is due."""
    found: dict[date, datetime] = {}
    for quarter in range(4 * 72):
        moment = around - 36 * HOUR + quarter * HOUR / 4
        day = digest_day(moment, tz, hour)
        if day is not None:
            found.setdefault(day, moment)
    return found


@pytest.mark.parametrize(
    ("moment", "day"),
    [
        ("2026-07-01T12:59:59", None),  # 6:59:59 in Denver
        ("2026-07-01T13:00:00", date(2026, 7, 1)),
        ("2026-07-02T05:59:59", date(2026, 7, 1)),  # last second of the day
        ("2026-07-02T06:00:00", None),
    ],
)
def test_digest_day_runs_from_the_hour_to_local_midnight(
    moment: str, day: date | None
) -> None:
    now = datetime.fromisoformat(moment).replace(tzinfo=UTC)
    assert digest_day(now, "America/Denver", 7) == day


# Days on which the clock jumps (IANA time zone database): zone, hour of the mail, day,
# and the moment in UTC at which that day's digest falls due.
CLOCK_CHANGES = [
    # Denver, 8 March 2026: 2:00 to 2:59 do not exist, 3:00 is 9:00 UTC
    ("America/Denver", 1, date(2026, 3, 8), "2026-03-08T08:00"),
    ("America/Denver", 2, date(2026, 3, 8), "2026-03-08T09:00"),
    ("America/Denver", 3, date(2026, 3, 8), "2026-03-08T09:00"),
    ("America/Denver", 7, date(2026, 3, 8), "2026-03-08T13:00"),
    # Denver, 1 November 2026: 1:00 to 1:59 come twice, the first from 7:00 UTC
    ("America/Denver", 1, date(2026, 11, 1), "2026-11-01T07:00"),
    ("America/Denver", 2, date(2026, 11, 1), "2026-11-01T09:00"),
    # Cairo, 24 April 2026: the day starts at 1:00, which is 22:00 UTC
    ("Africa/Cairo", 0, date(2026, 4, 24), "2026-04-23T22:00"),
    # Havana, 1 November 2026: 0:00 to 0:59 come twice, the first from 4:00 UTC
    ("America/Havana", 0, date(2026, 11, 1), "2026-11-01T04:00"),
    # Lord Howe, 5 April 2026: half an hour back at 2:00, to 1:30
    ("Australia/Lord_Howe", 2, date(2026, 4, 5), "2026-04-04T15:30"),
]


@pytest.mark.parametrize(("tz", "hour", "day", "moment"), CLOCK_CHANGES)
def test_digest_day_on_a_day_the_clock_changes_comes_once_at_the_right_moment(
    tz: str, hour: int, day: date, moment: str
) -> None:
    expected = datetime.fromisoformat(moment).replace(tzinfo=UTC)
    found = first_due(tz, hour, expected)
    assert found[day] == expected
    assert {day - timedelta(days=1), day, day + timedelta(days=1)} <= found.keys()


@given(
    st.integers(0, 10 * 365 * 24 * 60),
    st.sampled_from(["America/Denver", "Africa/Cairo", "Pacific/Auckland", "UTC"]),
    st.integers(0, 23),
)
def test_digest_day_is_never_of_another_local_day_and_comes_within_a_day(
    minutes: int, tz: str, hour: int
) -> None:
    now = datetime(2020, 1, 1, tzinfo=UTC) + timedelta(minutes=minutes)
    days = [digest_day(now + n * HOUR, tz, hour) for n in range(26)]
    seen = [day for day in days if day is not None]
    assert seen
    assert seen == sorted(seen)
    assert all(abs((day - now.date()).days) <= 2 for day in seen)


def test_digest_day_keeps_quiet_days() -> None:
    sunday = datetime(2026, 7, 5, 18, tzinfo=UTC)
    assert digest_day(sunday, "America/Denver", 7) == date(2026, 7, 5)
    assert digest_day(sunday, "America/Denver", 7, frozenset({6})) is None
    assert digest_day(sunday + 24 * HOUR, "America/Denver", 7, frozenset({6}))


@pytest.mark.parametrize("tz", ["", "Mars/Base", "../etc/passwd", "America", "/etc"])
def test_digest_day_in_an_unknown_zone_is_refused(tz: str) -> None:
    with pytest.raises(ValueError, match="is not a known time zone"):
        digest_day(datetime(2026, 7, 1, tzinfo=UTC), tz, 7)


def test_digest_day_refuses_a_moment_without_zone_and_an_hour_out_of_range() -> None:
    with pytest.raises(ValueError, match="needs a time zone"):
        digest_day(datetime.fromisoformat("2026-07-01T12:00"), "UTC", 7)
    with pytest.raises(ValueError, match="give 0 to 23"):
        digest_day(datetime(2026, 7, 1, tzinfo=UTC), "UTC", 24)


# --- names --------------------------------------------------------------------------


MADE_AT = datetime(2026, 7, 1, 13, 0, 0, 250, tzinfo=UTC)


def test_message_id_is_the_same_for_the_same_key_and_moment_only() -> None:
    key = digest_key(12, date(2026, 7, 1))
    assert key == "digest:12:2026-07-01"
    ours = message_id(key, MADE_AT, "rigs.example")
    elsewhere = MADE_AT.astimezone(timezone(timedelta(hours=-6)))
    assert ours == message_id(key, elsewhere, "Rigs.Example.")
    others = {digest_key(13, date(2026, 7, 1)), digest_key(12, date(2026, 7, 2)), ""}
    found = {message_id(other, MADE_AT, "rigs.example") for other in others}
    later = MADE_AT + timedelta(microseconds=1)
    found.add(message_id(key, later, "rigs.example"))
    assert ours not in found
    assert len(found) == 4


@given(st.text(max_size=60))
def test_message_id_of_any_key_parses_strictly(key: str) -> None:
    mail = EmailMessage(policy=SMTP)
    mail["Message-ID"] = message_id(key, MADE_AT, "mail.rigs.example")
    header = mail["Message-ID"]
    assert not header.defects
    assert str(header).endswith("@mail.rigs.example>")


@pytest.mark.parametrize(
    "domain", ["", " ", "a b", "exa>mple.org", "x\r\nBcc: y", "-a.org", "a..b", "é.org"]
)
def test_message_id_refuses_what_is_no_domain(domain: str) -> None:
    with pytest.raises(ValueError, match="is not a domain"):
        message_id("k", MADE_AT, domain)
