import pytest
from django.test import Client
from django.urls import reverse

from maintenance.households.models import Household, Member, Role
from tests import builders

FILLED = {
    "name": "Ada",
    "username": "ada",
    "email": "ada@example.org",
    "password": "quiet-paper-lantern",
    "again": "quiet-paper-lantern",
    "household": "Alder Lane",
    "timezone": "America/Denver",
    "distance_unit": "mi",
    "country": "US",
    "currency": "usd",
}


@pytest.fixture
def client() -> Client:
    """A browser on the machine itself."""
    return Client(headers={"host": "127.0.0.1:8020"})


@pytest.mark.django_db
def test_first_look_leads_to_the_first_run(client):
    answer = client.get(reverse("due"), follow=True)

    assert answer.redirect_chain[-1][0] == reverse("first_run")


@pytest.mark.django_db
def test_first_run_makes_keeper_and_household_and_logs_in(client):
    answer = client.post(reverse("first_run"), FILLED, follow=True)

    member = Member.objects.get()
    assert (member.role, member.household.name) == (Role.KEEPER, "Alder Lane")
    assert member.founder
    assert member.household.currency == "USD"
    assert answer.wsgi_request.user == member.user


@pytest.mark.django_db
def test_first_run_is_closed_once_somebody_is_there(client):
    builders.make_member()

    answer = client.post(reverse("first_run"), FILLED)

    assert answer.status_code == 302
    assert Household.objects.filter(name="Alder Lane").count() == 1


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("field", "value", "words"),
    [
        ("timezone", "Mars/Olympus", "one of the choices"),
        ("password", "short", "Use at least 8 characters"),
        ("currency", "dollars", "three letters"),
        ("email", "nowhere", "Enter an email address, like"),
    ],
)
def test_first_run_says_what_is_wrong_and_keeps_the_rest(client, field, value, words):
    answer = client.post(reverse("first_run"), FILLED | {field: value})

    page = answer.content.decode()
    assert words in page
    assert FILLED["password"] not in page
    assert "Alder Lane" in page
    assert not Household.objects.exists()
