"""One digest per person and local day, with what is still true."""

from datetime import timedelta

import pytest

from maintenance.reminders.models import Digest, DigestState, Notice
from maintenance.reminders.services import (
    make_digest,
    make_digests,
    raise_everywhere,
    raise_notices,
    send_digest,
)
from tests.builders import TODAY, make_member
from tests.reminders.builders import (
    digest_for,
    done,
    due_item,
    make_home,
    noon,
    overdue_item,
    renewed,
    stages,
)

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)


def test_make_digest_when_there_is_nothing_to_say_then_none():
    member, _rig = make_home()
    raise_notices(member.household, today=TODAY)

    assert make_digest(member, day=TODAY) is None
    assert not Digest.objects.exists()


def test_make_digest_when_called_twice_then_one():
    member, rig = make_home()
    overdue_item(rig)

    first = digest_for(member)
    assert make_digest(member, day=TODAY) is None
    assert Digest.objects.get() == first


def test_make_digest_when_something_comes_up_later_that_day_then_it_waits():
    member, rig = make_home()
    overdue_item(rig)
    send_digest(digest_for(member), now=noon(TODAY))
    due_item(rig)
    renewed(member.household)
    raise_notices(member.household, today=TODAY)

    assert make_digest(member, day=TODAY) is None
    assert stages(digest_for(member, TODAY + DAY).notices.all()) == [("due", "due")]


def test_make_digest_when_done_since_it_was_raised_then_not_told():
    member, rig = make_home()
    item = overdue_item(rig)
    due_item(rig)
    raise_notices(member.household, today=TODAY)
    done(item, TODAY)
    renewed(member.household)

    digest = digest_for(member)

    assert stages(digest.notices.all()) == [("due", "due")]


def test_make_digest_when_the_rig_was_sold_since_then_none():
    member, rig = make_home()
    overdue_item(rig)
    raise_notices(member.household, today=TODAY)
    rig.sold_on = TODAY
    rig.save()

    assert make_digest(member, day=TODAY) is None
    assert not Notice.objects.exists()


def test_make_digest_of_two_members_then_each_has_their_own():
    member, rig = make_home()
    other = make_member(member.household, "viewer")
    overdue_item(rig)

    first, second = digest_for(member), digest_for(other)

    assert first.key != second.key
    assert first.message_id != second.message_id


# --- whose hour has come --------------------------------------------------------------


def test_make_digests_when_the_hour_has_not_come_then_none():
    member, rig = make_home()
    overdue_item(rig)
    raise_everywhere(noon(TODAY))

    assert make_digests(noon(TODAY) - timedelta(hours=6)) == []
    assert [digest.member for digest in make_digests(noon(TODAY))] == [member]
    assert make_digests(noon(TODAY)) == []


def test_make_digests_when_hours_differ_then_each_at_their_own():
    member, rig = make_home()
    late = make_member(member.household, digest_hour=20)
    overdue_item(rig)
    raise_everywhere(noon(TODAY))

    assert {d.member for d in make_digests(noon(TODAY))} == {member}
    evening = noon(TODAY) + timedelta(hours=8)
    assert {d.member for d in make_digests(evening)} == {late}


def test_make_digests_when_a_member_has_left_then_none():
    member, rig = make_home()
    overdue_item(rig)
    raise_everywhere(noon(TODAY))
    member.left_on = TODAY
    member.save()

    assert make_digests(noon(TODAY)) == []


# --- days without a server ------------------------------------------------------------


def test_make_digest_when_earlier_ones_never_went_out_then_one_says_all():
    member, rig = make_home()
    overdue_item(rig)
    earlier = digest_for(member)
    due_item(rig)
    renewed(member.household)

    digest = digest_for(member, TODAY + DAY)

    earlier.refresh_from_db()
    assert earlier.state == DigestState.FOLDED
    assert stages(digest.notices.all()) == [("due", "due"), ("overdue", "overdue")]


@pytest.mark.parametrize(
    "state", [DigestState.SENDING, DigestState.UNKNOWN, DigestState.SENT]
)
def test_make_digest_when_an_earlier_one_may_have_gone_out_then_it_is_left(state):
    member, rig = make_home()
    overdue_item(rig)
    earlier = digest_for(member)
    Digest.objects.update(state=state)
    due_item(rig)
    renewed(member.household)

    digest = digest_for(member, TODAY + DAY)

    assert stages(digest.notices.all()) == [("due", "due")]
    assert stages(earlier.notices.all()) == [("overdue", "overdue")]


# --- what goes out --------------------------------------------------------------------


def test_send_digest_without_a_server_then_it_is_in_the_tray():
    member, rig = make_home()
    overdue_item(rig)
    digest = digest_for(member)

    send_digest(digest, now=noon(TODAY))

    assert digest.state == DigestState.IN_TRAY
    assert digest.subject == "Overdue on Juniper: Overdue"
    assert (digest.text, digest.html) != ("", "")


def test_send_digest_when_all_was_done_meanwhile_then_nothing_goes_out():
    member, rig = make_home()
    item = overdue_item(rig)
    digest = digest_for(member)
    done(item, TODAY)
    renewed(member.household)

    send_digest(digest, now=noon(TODAY))

    assert (digest.state, digest.text) == (DigestState.EMPTY, "")


def test_send_digest_when_some_was_done_meanwhile_then_only_the_rest():
    member, rig = make_home()
    item = overdue_item(rig)
    due_item(rig)
    digest = digest_for(member)
    done(item, TODAY)
    renewed(member.household)

    send_digest(digest, now=noon(TODAY))

    assert digest.state == DigestState.IN_TRAY
    assert "Juniper: Due" in digest.text
    assert "Juniper: Overdue" not in digest.text


@pytest.mark.parametrize("change", [{"left_on": TODAY}, {"wants_mail": False}])
def test_send_digest_when_the_member_is_gone_then_nothing_goes_out(change):
    member, rig = make_home()
    overdue_item(rig)
    digest = digest_for(member)
    type(member).objects.filter(pk=member.pk).update(**change)

    send_digest(digest, now=noon(TODAY))

    assert digest.state == DigestState.EMPTY
