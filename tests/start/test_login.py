"""Failed logins are bounded per address and per account, whatever headers say."""

import pytest
from django.test import Client
from django.urls import reverse

from rigsite import login
from tests import builders


def try_login(username: str, *, source: str, **headers: str) -> int:
    answer = Client(headers=headers).post(
        reverse("login"),
        {"username": username, "password": "wrong"},
        REMOTE_ADDR=source,
    )
    return answer.status_code


@pytest.fixture
def few(monkeypatch):
    monkeypatch.setattr(login, "MOST_OF_AN_ADDRESS", 3)
    monkeypatch.setattr(login, "MOST_ON_AN_ACCOUNT", 5)


@pytest.mark.django_db
def test_address_when_it_tries_many_accounts_then_locked_for_all_of_them(few):
    builders.make_member()
    found = [try_login(f"name{n}", source="192.0.2.7") for n in range(4)]
    elsewhere = try_login("name0", source="192.0.2.8")

    assert found == [200, 200, 200, 429]
    assert elsewhere == 200


@pytest.mark.django_db
def test_address_when_it_claims_to_be_others_then_locked_all_the_same(few):
    builders.make_member()
    found = [
        try_login(
            f"name{n}",
            source="192.0.2.7",
            x_forwarded_for=f"203.0.113.{n}",
            forwarded=f"for=203.0.113.{n}",
            x_real_ip=f"203.0.113.{n}",
        )
        for n in range(4)
    ]

    assert found[-1] == 429


@pytest.mark.django_db
def test_network_when_it_tries_from_many_of_its_addresses_then_locked(few):
    """Whoever has an IPv6 address has all of its /64."""
    builders.make_member()
    found = [try_login(f"name{n}", source=f"2001:db8:1:2::{n + 1}") for n in range(4)]
    elsewhere = try_login("name0", source="2001:db8:1:3::1")

    assert found == [200, 200, 200, 429]
    assert elsewhere == 200


@pytest.mark.django_db
def test_account_when_tried_from_many_addresses_then_locked(few):
    builders.make_member()
    found = [try_login("ada", source=f"192.0.2.{n}") for n in range(6)]

    assert found == [200] * 5 + [429]


@pytest.mark.django_db
def test_lock_when_it_holds_then_it_says_until_when(few):
    builders.make_member()
    for _ in range(3):
        try_login("ada", source="192.0.2.7")

    answer = Client().post(
        reverse("login"),
        {"username": "ada", "password": "wrong"},
        REMOTE_ADDR="192.0.2.7",
    )

    assert answer.status_code == 429
    assert answer.headers["Retry-After"] == "900"
