"""A person who only reads mail keeps a rig in order for a year: never logs in, answers
by the links of the mails alone, and nothing is told twice or forgotten."""

import re
from collections import defaultdict
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from django.test import Client

from maintenance.plans.models import Standing
from maintenance.plans.standings import renew_household
from maintenance.reminders.models import Digest, DigestState
from maintenance.reminders.services import (
    make_digests,
    raise_everywhere,
    send_waiting,
)
from maintenance.service_records.models import ServiceRecord
from maintenance.vehicles.models import Rig
from tests.builders import make_reading
from tests.reminders.builders import done, make_home, take_on

pytestmark = pytest.mark.django_db
HOST = "https://rigs.example.org"
FIRST, DAYS = date(2026, 5, 4), 365
BY_DISTANCE = {"distance": 2500, "unit": "mi", "meter": "odometer"}
NOW = (
    "Unfit to travel until it's fixed",
    "Checks that can't wait",
    "Overdue",
    "Due",
)


def odometer(day: date) -> int:
    """Out for ten days from the first of each month, at 50 miles a day, as the year
    before."""
    months = (day.year - FIRST.year) * 12 + day.month - FIRST.month
    return 41800 + 500 * months + 50 * min(day.day, 10)


def make_plan() -> Rig:
    _member, rig = make_home()
    make_reading(rig, FIRST, odometer(FIRST))
    oil = take_on(rig, "engine_oil", triggers=[{"every": BY_DISTANCE}])
    done(oil, FIRST - timedelta(days=60), values={"odometer": "41300"})
    rotated = take_on(rig, "tire_rotate", triggers=[{"every": BY_DISTANCE}])
    done(rotated, FIRST - timedelta(days=90), values={"odometer": "40800"})
    take_on(rig, "lug_recheck")
    yearly = take_on(rig, "brake_fluid", triggers=[{"every": {"months": 12}}])
    done(yearly, date(2025, 8, 20))
    renew_household(rig.household, as_of=FIRST)
    return rig


class Reader:
    """Reads each mail once, as text, and presses what it offers."""

    def __init__(self) -> None:
        self.phone, self.read = Client(enforce_csrf_checks=True), 0

    def look(self, smtp, today: date) -> None:
        for message in smtp.messages[self.read :]:
            offered = links(message.get_body(("plain",)).get_content())
            # Where it is asked what the odometer shows, the check itself comes later.
            later = {
                item(path)
                for _h, label, path in offered
                if label == "Enter the odometer"
            }
            for heading, label, path in offered:
                if "It's done" not in label or item(path) not in later:
                    self._press(heading, label, path, today)
        self.read = len(smtp.messages)

    def _press(self, heading: str, label: str, path: str, today: date) -> None:
        page = self.phone.get(path).text
        if label.startswith(("Enter the", "Enter a reading")):
            self._send(path, today, meter=first(page, "meter"))
        elif label == "It's done" and heading in NOW:
            given = {"outcome": first(page, "outcome"), "shop": "Garage"}
            if "Which wheels were off?" in page:
                given["wheels_off"] = first(page, "wheels_off")
            self._send(path, today, **given)

    def _send(self, path: str, today: date, **given: str) -> None:
        given |= {"on": today.isoformat(), "value": str(odometer(today))}
        answer = self.phone.post(path, given)
        assert answer.status_code == 302, answer.text


def item(path: str) -> str:
    return path.rsplit("/", 2)[1].split(".")[2]


def first(page: str, name: str) -> str:
    """The first value that a page offers for a field."""
    found = [
        tag for tag in re.findall(r"<input[^>]*>", page) if f'name="{name}"' in tag
    ]
    value = re.search(r'value="(\w+)"', found[0]) if found else None
    assert value, f"the page has no {name}"
    return value[1]


def links(text: str) -> list[tuple[str, str, str]]:
    """(section, what the link is called, its path), in the order of the mail."""
    lines, heading, found = text.replace("\r\n", "\n").split("\n"), "", []
    for n, line in enumerate(lines):
        if line and set(line) == {"-"}:
            heading = lines[n - 1]
        if line.strip().startswith(f"{HOST}/answer/"):
            label = lines[n - 1].strip().rstrip(":")
            found.append((heading, label, line.strip().removeprefix(HOST)))
    return found


def live(rig: Rig, smtp, clock) -> dict[str, list[int]]:
    """A year of mornings; the days (from the first) in whose evening it was overdue."""
    reader, late = Reader(), defaultdict(list)
    for n in range(DAYS):
        day = FIRST + timedelta(days=n)
        now = datetime.combine(day, time(9), ZoneInfo("America/Denver"))
        clock(f"{day} 09:00", "America/Denver")
        raise_everywhere(now)
        make_digests(now)
        while send_waiting(now):  # answers bring mail at once
            reader.look(smtp, day)
        rows = Standing.objects.filter(item__rig=rig, standing="overdue")
        for key in rows.values_list("item__key", flat=True):
            late[key].append(n)
    return late


@pytest.mark.either_database
def test_year_by_mail_then_the_rig_is_in_order(smtp, settings, clock):
    settings.PUBLIC_URL = HOST
    clock(f"{FIRST} 06:00", "America/Denver")
    rig = make_plan()

    late = live(rig, smtp, clock)

    did = list(ServiceRecord.objects.values_list("lines__item__key", flat=True))
    # What a reading shows to be overdue is told, and done, by the next day.
    assert not [key for key, days in late.items() if {n + 1 for n in days} & {*days}]
    assert {"engine_oil", "tire_rotate", "lug_recheck", "brake_fluid"} <= set(did)
    # Each time the wheels were off, they were checked again.
    assert did.count("lug_recheck") >= did.count("tire_rotate")
    ids = [message["Message-ID"] for message in smtp.messages]
    assert len(ids) == len(set(ids))
    daily = Digest.objects.filter(key__startswith="digest:")
    days = list(daily.values_list("day", flat=True))
    assert len(days) == len(set(days))
    assert set(Digest.objects.values_list("state", flat=True)) == {DigestState.SENT}
