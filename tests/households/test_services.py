import pytest
from django.urls import reverse

from maintenance.households import services
from maintenance.households.access import NotAllowed
from maintenance.households.models import Member, Role
from maintenance.households.refusals import Refused
from tests import builders

PERSON = {
    "name": "Bo",
    "username": "bo",
    "email": "",
    "password": "quiet-paper-lantern",
}


@pytest.fixture
def keeper(db):
    return builders.make_member()


def test_add_member_makes_one_who_can_log_in(keeper, client):
    services.add_member(keeper, today=builders.TODAY, role=Role.CREW, **PERSON)

    login = {"username": "bo", "password": PERSON["password"]}
    assert client.post(reverse("login"), login)["Location"] == reverse("due")


def test_add_member_refuses_a_login_name_that_is_taken(keeper):
    with pytest.raises(Refused, match="taken"):
        services.add_member(
            keeper,
            today=builders.TODAY,
            role=Role.CREW,
            **PERSON | {"username": keeper.user.username.upper()},
        )


def test_add_member_needs_a_keeper(keeper):
    crew = builders.make_member(keeper.household, Role.CREW)

    with pytest.raises(NotAllowed):
        services.add_member(crew, today=builders.TODAY, role=Role.CREW, **PERSON)


def test_part_with_the_only_keeper_is_refused(keeper):
    with pytest.raises(Refused, match="needs a keeper"):
        services.part_with(keeper, by=keeper, today=builders.TODAY)


def test_part_with_ends_login_and_keeps_the_name(keeper):
    crew = builders.make_member(keeper.household, Role.CREW)

    services.part_with(crew, by=keeper, today=builders.TODAY)

    crew.refresh_from_db()
    assert crew.left_on == builders.TODAY
    assert not crew.user.is_active
    assert Member.objects.present().count() == 1


def test_crew_change_their_own_mail_but_not_their_role(keeper):
    crew = builders.make_member(keeper.household, Role.CREW)

    services.change_member(crew, by=crew, email="new@example.org", wants_mail=False)

    crew.user.refresh_from_db()
    assert crew.user.email == "new@example.org"
    with pytest.raises(NotAllowed):
        services.change_member(crew, by=crew, role=Role.KEEPER)
