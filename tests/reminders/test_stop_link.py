"""The link that ends mail without logging in (RFC 8058, one-click unsubscribe)."""

import pytest
from django.core import signing
from django.test import Client

from maintenance.households.models import Member
from maintenance.reminders.stop_links import stop_url
from tests.builders import TODAY, make_member

pytestmark = pytest.mark.django_db
ONE_CLICK = {"List-Unsubscribe": "One-Click"}


@pytest.fixture
def member(settings) -> Member:
    settings.PUBLIC_URL = "https://rigs.example.org"
    return make_member()


@pytest.fixture
def url(member) -> str:
    return stop_url(member).removeprefix("https://rigs.example.org")


@pytest.fixture
def outside() -> Client:
    """A mail program: no session, and no page of ours to take a token from."""
    return Client(enforce_csrf_checks=True)


def wants_mail() -> bool:
    return Member.objects.get().wants_mail


# RFC 8058, 3.1: the POST carries this one pair, no cookie, and is not redirected.
def test_stop_link_when_posted_by_a_mail_program_then_mail_ends_at_once(outside, url):
    answer = outside.post(url, ONE_CLICK)

    assert answer.status_code == 200
    assert not wants_mail()
    assert "Email stopped" in answer.text


def test_stop_link_when_posted_twice_then_the_same_answer(outside, url):
    outside.post(url, ONE_CLICK)

    assert outside.post(url, ONE_CLICK).status_code == 200
    assert not wants_mail()


# RFC 8058, 5: looking must change nothing, since scanners of mail open every link.
def test_stop_link_when_only_opened_then_nothing_changes(outside, url):
    answer = outside.get(url)

    assert wants_mail()
    assert "Stop all email" in answer.text


def test_stop_link_when_posted_without_the_pair_then_nothing_changes(outside, url):
    outside.post(url, {"other": "thing"})

    assert wants_mail()


@pytest.mark.parametrize("token", ["1", "1:forged", "", "x" * 50])
def test_stop_link_when_tampered_with_then_it_says_so(outside, member, token):
    answer = outside.post(f"/mail/stop/{token or 'none'}/", ONE_CLICK)

    assert answer.status_code == 404
    assert "This link doesn't work" in answer.text
    assert wants_mail()


def test_stop_link_when_signed_for_another_purpose_then_it_does_not_work(
    outside, member
):
    token = signing.Signer(salt="another").sign(str(member.pk))

    assert outside.post(f"/mail/stop/{token}/", ONE_CLICK).status_code == 404
    assert wants_mail()


def test_stop_link_when_the_member_has_left_then_it_does_not_work(outside, member, url):
    Member.objects.update(left_on=TODAY)

    assert outside.post(url, ONE_CLICK).status_code == 404
