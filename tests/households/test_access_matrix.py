"""Who may open what, where the walk of every address (`test_every_address.py`) does not
tell: members who left, proof, mail."""

from uuid import uuid4

import pytest
from django.urls import reverse
from django.utils import timezone

from maintenance.households.models import Role
from maintenance.reminders.models import Digest
from maintenance.service_records.models import Attachment
from maintenance.service_records.work import Line
from tests import builders

FOUND = "founder"
RANK = [Role.VIEWER, Role.CREW, Role.KEEPER, FOUND]


@pytest.fixture
def household(db):
    return builders.make_household()


def member_of_rank(household, rank):
    """A founder is a keeper who looks after the program, too."""
    if rank == FOUND:
        return builders.make_member(household, Role.KEEPER, founder=True)
    return builders.make_member(household, rank)


def test_member_who_left_is_told_so(household, client_as):
    member = builders.make_member(household, left_on=builders.TODAY)

    answer = client_as(member).get(reverse("due"), follow=True)

    assert answer.status_code == 403
    assert "You're not in a household" in answer.content.decode()


def test_proof_of_another_household_is_not_found(household, client_as):
    keeper = builders.make_member(household)
    rig = builders.make_rig(household)
    kept = Attachment.objects.create(
        rig=rig,
        record=builders.log_work(rig, by=keeper, lines=[Line("Oil changed")]),
        form_token=uuid4(),
        title="invoice.pdf",
        content_type="application/pdf",
        stored="x.pdf",
        size=1,
        sha256="0" * 64,
    )
    stranger = client_as(builders.make_member())

    assert stranger.get(reverse("proof", args=[kept.key])).status_code == 404


@pytest.mark.parametrize("role", RANK)
def test_mail_opens_for_its_addressee_alone(role, household, client_as):
    """A role opens nobody else's mail; a keeper sees how it went, without its words."""
    reader = member_of_rank(household, role)
    other = builders.make_member(household, Role.KEEPER)
    own, theirs = (
        Digest.objects.create(
            member=member,
            key=f"digest:{member.pk}",
            day=builders.TODAY,
            subject="What is due",
            text="/answer/ of this person",
            html="/answer/ of this person",
            made_at=timezone.now(),
        )
        for member in (reader, other)
    )
    client = client_as(reader)

    for name in ("one_mail", "formatted_mail"):
        assert "/answer/" in client.get(reverse(name, args=[own.pk])).text
        answer = client.get(reverse(name, args=[theirs.pk]))
        known = reader.is_keeper and name == "one_mail"
        assert answer.status_code == (200 if known else 404)
        assert "/answer/" not in answer.text
        assert "What is due" not in answer.text
