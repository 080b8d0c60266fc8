"""A check that is due because a trailer was probably towed: the mail asks whether it
was, and its links answer without a login."""

import re
from datetime import date, timedelta

import pytest
from django.test import Client

from maintenance.plans.models import Standing
from maintenance.plans.standings import renew_household
from maintenance.reminders.services import make_digest, raise_notices, send_digest
from maintenance.vehicles.models import NotTowed
from tests import builders

pytestmark = pytest.mark.django_db
HOST = "https://rigs.example.org"
TRIP_END = date(2026, 3, 1)
TODAY = date(2026, 9, 1)
CHECK = {
    "after": {"event": "wheel_off", "distance": [50, 100], "unit": "mi",
              "meter": "towed"},
}  # fmt: skip


@pytest.fixture
def keeper(clock):
    clock("2026-09-01 12:00", "America/Denver")
    return builders.make_member()


@pytest.fixture
def wren(keeper):
    rig = builders.make_rig(
        keeper.household,
        name="Wren",
        kind="travel_trailer",
        wheels="trailer_two",
        meter={"kind": "towed", "unit": "mi"},
        in_service_on=date(2024, 5, 1),
    )
    for end in (date(2025, 6, 1), date(2025, 8, 1), TRIP_END):
        rig.trips.create(
            title="Lake", start=end - timedelta(9), end=end, distance=900, told_on=end
        )
    rig.events.create(kind="wheel_off", on=date(2026, 3, 5))
    builders.make_item(rig, "lug_recheck", triggers=[CHECK], safety=True)
    renew_household(keeper.household, as_of=TODAY)
    return rig


def mail_to(member):
    raise_notices(member.household, today=TODAY, at_once=False)
    digest = make_digest(member, day=TODAY)
    send_digest(digest)
    digest.refresh_from_db()
    return digest


@pytest.fixture
def mail(wren, keeper, settings):
    settings.PUBLIC_URL = HOST
    return mail_to(keeper)


def link(mail, purpose):
    [found] = set(re.findall(rf"{HOST}(/answer/{purpose}/\S+)", mail.text))
    assert f'href="{HOST}{found}"' in mail.html
    return found


def words(mail):
    return " ".join(mail.text.split())


def test_mail_asks_first_whether_it_was_towed(mail):
    assert "Wren: towed since Mar 1, 2026? Answer, or do the check now." in words(mail)
    links = re.findall(rf"{HOST}/answer/(\w+)/", mail.text)
    assert links == ["not_towed", "reading", "done", "later", "parked"]
    assert "No reading since then" not in words(mail)


def test_opening_the_link_changes_nothing_and_its_day_is_preset(mail):
    page = Client().get(link(mail, "not_towed")).text

    assert 'value="2026-03-01"' in page
    assert "due stays due" in page
    assert not NotTowed.objects.exists()


def test_not_towed_is_said_once_what_is_due_stays_and_is_silent(mail, wren, keeper):
    outside, page = Client(enforce_csrf_checks=True), link(mail, "not_towed")

    said = outside.post(page, {"since": "2026-03-01"}, follow=True).text
    again = outside.post(page, {"since": "2026-03-01"})

    assert "Wren: not towed since Mar 1, 2026, as of Sep 1, 2026." in said
    assert again.status_code == 410
    kept = NotTowed.objects.get()
    assert (kept.rig, kept.said_on, kept.entered_by) == (wren, TODAY, keeper)
    row = Standing.objects.get(item__rig=wren)
    assert (row.standing, row.expected) == ("due", True)
    raise_notices(keeper.household, today=TODAY + timedelta(1))
    assert make_digest(keeper, day=TODAY + timedelta(1)) is None


def test_a_day_on_which_it_was_towed_is_refused_and_kept_in_the_form(mail):
    answer = Client().post(link(mail, "not_towed"), {"since": "2026-02-01"})

    assert answer.status_code == 200
    assert "it was towed then" in answer.text
    assert 'value="2026-02-01"' in answer.text
    assert not NotTowed.objects.exists()


def test_what_it_was_towed_is_told_by_the_other_link(mail, wren):
    page = link(mail, "reading")
    form = Client().get(page)
    assert "Distance towed since Mar 1, 2026 (mi)" in form.text
    meter = wren.meters.get()

    said = Client().post(
        page, {"meter": meter.pk, "value": "70", "on": "2026-09-01"}, follow=True
    )

    assert "Distance towed of Wren: 70 mi." in said.text
    row = Standing.objects.get(item__rig=wren)
    assert (row.standing, row.expected) == ("due", False)


def test_without_a_public_address_it_says_where_to_answer(wren, keeper):
    mail = mail_to(keeper)

    assert "Wren: towed since Mar 1, 2026? Answer, or do the check now." in words(mail)
    assert "enter a reading on the rig's page" in words(mail)
    assert "/answer/" not in mail.text


def test_viewer_is_told_and_gets_no_link_to_answer(wren, keeper, settings):
    settings.PUBLIC_URL = HOST
    mail = mail_to(builders.make_member(keeper.household, "viewer"))

    assert "Wren: towed since Mar 1, 2026?" in words(mail)
    assert set(re.findall(r"/answer/(\w+)/", mail.text)) <= {"later"}
