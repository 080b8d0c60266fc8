"""An address that is refused for good gets no more mail, and the household reads so;
nothing else stops an address."""

from datetime import timedelta

import pytest
from django.urls import reverse

from maintenance.reminders.models import Digest, DigestState, StoppedAddress
from maintenance.reminders.services import (
    make_digest,
    raise_notices,
    send_digest,
    use_address_again,
)
from tests.builders import TODAY, make_member
from tests.reminders.builders import (
    digest_for,
    due_item,
    make_home,
    noon,
    overdue_item,
    stages,
)

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)
NOW = noon(TODAY)
GONE = "550 5.1.1 No such mailbox here"


@pytest.fixture
def digest(clock) -> Digest:
    clock("2026-05-04 12:00", "America/Denver")
    member, rig = make_home()
    overdue_item(rig)
    return digest_for(member)


@pytest.fixture
def bounced(smtp, digest) -> Digest:
    smtp.addresses = [GONE]
    send_digest(digest, now=NOW)
    return digest


def test_address_refused_for_good_then_stopped_with_the_servers_words(bounced):
    stopped = StoppedAddress.objects.get()

    assert bounced.state == DigestState.REFUSED
    assert stopped.address == bounced.member.user.email
    assert stopped.words == f"The server answered: {GONE}"


@pytest.mark.parametrize(
    ("where", "answer"),
    [
        ("addresses", "450 4.2.1 Try later"),
        ("addresses", "554 5.7.1 Relay access denied"),
        ("senders", "550 5.1.8 Bad sender"),
        ("answers", "554 5.6.0 We mind your words"),
    ],
)
def test_refused_for_another_reason_then_the_address_stays(smtp, digest, where, answer):
    setattr(smtp, where, [answer])

    send_digest(digest, now=NOW)

    assert digest.state in {DigestState.QUEUED, DigestState.REFUSED}
    assert not StoppedAddress.objects.exists()


def test_stopped_address_then_nothing_more_goes_there(smtp, bounced):
    member = bounced.member
    due_item(member.household.rigs.get())

    raise_notices(member.household, today=TODAY + 20 * DAY)

    assert make_digest(member, day=TODAY + 20 * DAY) is None
    assert smtp.messages == []


def test_stopped_address_then_the_others_are_told_as_before(smtp, bounced):
    other = make_member(bounced.member.household)

    send_digest(digest_for(other), now=NOW)

    assert smtp.recipients == [[other.user.email]]


def test_address_used_again_then_the_next_mail_says_what_was_refused(smtp, bounced):
    use_address_again(StoppedAddress.objects.get(), by=bounced.member)

    later = make_digest(bounced.member, day=TODAY + DAY)
    send_digest(later, now=NOW + DAY)

    assert later.state == DigestState.SENT
    assert stages(later.notices.all()) == [("overdue", "overdue")]


def test_another_address_given_then_the_next_mail_says_what_was_refused(smtp, bounced):
    user = bounced.member.user
    user.email = "new@example.org"
    user.save()
    due_item(bounced.member.household.rigs.get())
    raise_notices(bounced.member.household, today=TODAY + DAY)

    later = make_digest(bounced.member, day=TODAY + DAY)
    send_digest(later, now=NOW + DAY)

    assert smtp.recipients == [["new@example.org"]]
    assert stages(later.notices.all()) == [("due", "due"), ("overdue", "overdue")]


def test_stopped_address_then_due_and_mail_say_so(client_as, bounced):
    client = client_as(make_member(bounced.member.household, "viewer"))

    due = client.get(reverse("due")).text
    assert f"No reminders reach {bounced.to}" in " ".join(due.split())
    tray = client.get(reverse("mail")).text
    assert f"Email to {bounced.to} has stopped" in tray
    assert GONE in tray
    assert "Use it again" not in tray  # a viewer may mend their own alone


def test_use_again_by_its_owner_or_a_keeper_then_the_note_goes(client_as, bounced):
    url = reverse("use_address_again", args=[StoppedAddress.objects.get().pk])
    crew = client_as(make_member(bounced.member.household, "crew"))
    assert crew.post(url).status_code == 403

    page = client_as(bounced.member).post(url, follow=True)

    assert f"Email goes to {bounced.to} again." in page.text
    assert "has stopped" not in page.text


def test_use_again_of_another_household_then_it_does_not_exist(client_as, bounced):
    url = reverse("use_address_again", args=[StoppedAddress.objects.get().pk])

    assert client_as(make_member()).post(url).status_code == 404
    assert StoppedAddress.objects.exists()
