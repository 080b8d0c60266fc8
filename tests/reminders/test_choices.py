"""What a person chose to be told of, of which rigs, and on which days."""

from datetime import timedelta

import pytest

from maintenance.households.models import Member
from maintenance.reminders.models import Digest, Notice
from maintenance.reminders.services import make_digests, raise_notices
from tests.builders import TODAY, make_rig
from tests.reminders.builders import (
    due_item,
    make_home,
    noon,
    overdue_item,
    renewed,
    soon_item,
    stages,
)

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)
MONDAY = 0


@pytest.fixture
def home():
    member, rig = make_home()
    for make in (overdue_item, due_item, soon_item):
        make(rig)
    other = make_rig(member.household, name="Alder")
    overdue_item(other, "other")
    renewed(member.household)
    return member


def change(client, **fields):
    given = {"name": "Robin", "email": "robin@example.org", "wants_mail": "on"}
    given |= {"digest_hour": "7", "told_stages": ["overdue", "due"]}
    return client.post("/household/myself/", given | fields)


def rig_ids(member: Member) -> list[int]:
    return list(member.household.rigs.order_by("name").values_list("pk", flat=True))


def test_raise_notices_when_stages_are_chosen_then_no_others(home):
    Member.objects.update(told_stages=["overdue"])

    raise_notices(home.household, today=TODAY)

    assert stages() == [("other", "overdue"), ("overdue", "overdue")]


def test_raise_notices_when_rigs_are_chosen_then_no_others(home):
    alder, _juniper = rig_ids(home)
    Member.objects.update(told_rigs=[alder])

    raise_notices(home.household, today=TODAY)

    assert stages() == [("other", "overdue")]


def test_make_digests_when_the_day_is_a_quiet_one_then_the_next_says_all(home):
    assert TODAY.weekday() == MONDAY
    Member.objects.update(quiet_days=[MONDAY])
    raise_notices(home.household, today=TODAY)

    assert make_digests(noon(TODAY)) == []
    [digest] = make_digests(noon(TODAY + DAY))

    assert digest.notices.count() == Notice.objects.count()


def test_make_digest_when_a_stage_was_given_up_meanwhile_then_not_told(home):
    raise_notices(home.household, today=TODAY)
    Member.objects.update(told_stages=["due"])

    make_digests(noon(TODAY))

    assert stages(Digest.objects.get().notices.all()) == [("due", "due")]


def test_page_when_all_rigs_are_ticked_then_later_ones_are_told_of_too(home, client_as):
    answer = change(client_as(home), told_rigs=rig_ids(home), quiet_days=["5", "6"])

    assert answer.status_code == 302
    home.refresh_from_db()
    assert home.told_rigs is None
    assert home.quiet_days == [5, 6]
    assert home.told_stages == ["overdue", "due"]


def test_page_when_one_rig_is_ticked_then_that_one_alone(home, client_as):
    change(client_as(home), told_rigs=rig_ids(home)[:1])

    home.refresh_from_db()
    assert home.told_rigs == rig_ids(home)[:1]


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"told_stages": []}, "Tick at least one"),
        ({"told_rigs": []}, "Tick at least one"),
        ({"quiet_days": list("0123456")}, "That leaves no day."),
        ({"told_rigs": ["99999"]}, "one of the choices"),
    ],
)
def test_page_when_nothing_would_be_told_then_it_says_so(
    home, client_as, fields, words
):
    answer = change(client_as(home), **({"told_rigs": rig_ids(home)} | fields))

    assert answer.status_code == 200
    assert words in answer.text


def test_page_when_there_is_one_rig_then_it_is_no_question(client_as):
    member, _rig = make_home()

    page = client_as(member).get("/household/myself/").text
    assert "For these rigs" not in page

    assert change(client_as(member)).status_code == 302
    member.refresh_from_db()
    assert member.told_rigs is None
