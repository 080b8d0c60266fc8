"""A form that is sent twice does its work once, and says so."""

import re
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from threading import Barrier

import pytest
from django.db import connection
from django.urls import reverse
from django.utils import timezone

from maintenance.households.models import Member, Role, SentForm
from maintenance.households.sent_forms import KEPT, forget_sent
from maintenance.service_records.models import UnfiledPhoto
from maintenance.supplies.models import Supply
from maintenance.vehicles.models import Meter, MeterReplacement, Rig
from tests.builders import TODAY, make_household, make_item, make_member, make_rig
from tests.households.test_stale_forms import filled
from tests.walkrounds.conftest import phone_photo

TWICE = "already saved"
SUPPLY = {"name": "Oil filter", "unit": "piece", "stock": "2"}


def token_on(page) -> str:
    found = re.search(r'name="form_token" value="([0-9a-f-]{36})"', page.text)
    assert found, "the form has no token"
    return found[1]


@pytest.fixture
def keeper(db) -> Member:
    return make_member(make_household(), Role.KEEPER)


@pytest.fixture
def page(keeper, client_as):
    return client_as(keeper), reverse("add_supply")


def test_form_sent_twice_then_one_row_and_the_same_place_with_a_word(page):
    client, url = page
    sent = SUPPLY | {"form_token": token_on(client.get(url))}

    first, second = client.post(url, sent), client.post(url, sent)

    assert Supply.objects.count() == 1
    assert second.status_code == 302
    assert second["Location"] == first["Location"]
    assert TWICE in client.get(second["Location"]).text


def test_form_sent_twice_where_the_second_would_be_wrong_then_no_error(page):
    """What is refused the second time (the name is taken) was done the first time."""
    client, url = page[0], reverse("add_rig")
    sent = {
        "form_token": token_on(client.get(url)),
        "name": "Juniper",
        "kind": "folding_trailer",
        "wheels": "trailer_one",
        "in_service_on": "2019-06-01",
        "distance_unit": "mi",
    }

    first, second = client.post(url, sent), client.post(url, sent)

    assert first.status_code == 302, first.text
    assert second["Location"] == first["Location"]


def test_meter_replaced_by_a_double_tap_then_replaced_once(keeper, client_as):
    rig = make_rig(keeper.household)
    client, url = client_as(keeper), reverse("replace_meter", args=[rig.pk])
    sent = {
        "form_token": token_on(client.get(url)),
        "meter": Meter.objects.get().pk,
        "on": "2024-02-01",
        "old_final": "30210",
        "new_start": "0",
    }

    client.post(url, sent)
    client.post(url, sent)

    assert MeterReplacement.objects.count() == 1


def test_form_sent_again_with_other_words_then_asked_and_kept_if_sent_again(page):
    client, url = page
    sent = SUPPLY | {"form_token": token_on(client.get(url))}
    client.post(url, sent)
    other = sent | {"name": "Air filter"}

    asked = client.post(url, other)

    assert asked.status_code == 200
    assert "You already sent this page" in asked.text
    assert Supply.objects.count() == 1
    client.post(url, other | {"form_token": token_on(asked)})
    assert set(Supply.objects.values_list("name", flat=True)) == {
        "Oil filter",
        "Air filter",
    }


def test_form_refused_then_its_token_is_good_still(page):
    client, url = page
    sent = SUPPLY | {"form_token": token_on(client.get(url))}

    client.post(url, sent | {"name": ""})
    client.post(url, sent)

    assert Supply.objects.count() == 1


@pytest.mark.parametrize("token", ["", "x", "٣" * 36, "0" * 400, "\0"])
def test_form_with_a_bad_token_then_words_and_nothing_kept(token, page):
    client, url = page

    answer = client.post(url, SUPPLY | {"form_token": token})

    assert answer.status_code == 200
    assert "save it again" in answer.text
    assert not Supply.objects.exists()


def test_token_of_somebody_else_then_words_and_nothing_of_theirs(page, client_as):
    client, url = page
    stranger = client_as(make_member())
    sent = SUPPLY | {"form_token": token_on(stranger.get(url))}
    stranger.post(url, sent)

    answer = client.post(url, sent)

    assert answer.status_code == 200
    assert "save it again" in answer.text
    assert Supply.objects.count() == 1


def test_what_was_sent_is_not_kept_as_it_was_typed(page):
    client, url = page
    client.post(url, SUPPLY | {"form_token": token_on(client.get(url))})

    assert "Oil filter" not in str(SentForm.objects.values().get())


def test_forget_sent_after_some_days_then_gone(page):
    client, url = page
    client.post(url, SUPPLY | {"form_token": token_on(client.get(url))})

    forget_sent(timezone.now() + KEPT - timedelta(hours=1))
    assert SentForm.objects.exists()
    assert forget_sent(timezone.now() + KEPT + timedelta(hours=1)) == 1


@pytest.mark.django_db(transaction=True)
def test_form_sent_by_several_at_once_then_one_row_and_one_place(client_as):
    keeper = make_member(make_household(), Role.KEEPER)
    client, url = client_as(keeper), reverse("add_supply")
    sent = SUPPLY | {"form_token": token_on(client.get(url))}
    clients = [client_as(keeper) for _ in range(4)]

    answers = at_once([lambda c=one: c.post(url, sent) for one in clients])

    assert Supply.objects.count() == 1
    assert {(one.status_code, one["Location"]) for one in answers} == {
        (302, reverse("supplies"))
    }


@pytest.mark.django_db(transaction=True)
def test_changes_by_several_at_once_then_one_is_kept_and_one_is_asked(client_as):
    keeper = make_member()
    rig = make_rig(keeper.household)
    make_item(rig, taken_on=TODAY)
    url = reverse("change_rig", args=[rig.pk])
    clients = [client_as(keeper) for _ in range(3)]
    sent = [
        filled(client, url) | {"plate": f"P {n}"} for n, client in enumerate(clients)
    ]

    answers = at_once(
        [lambda c=c, s=s: c.post(url, s) for c, s in zip(clients, sent, strict=True)]
    )

    assert sorted(one.status_code for one in answers) == [200, 200, 302]
    kept = next(n for n, one in enumerate(answers) if one.status_code == 302)
    assert Rig.objects.get().plate == f"P {kept}"


def at_once(calls: list[Callable]) -> list:
    barrier = Barrier(len(calls))

    def run(call: Callable):
        try:
            connection.ensure_connection()
            barrier.wait(10)
            return call()
        finally:
            connection.close()

    with ThreadPoolExecutor(len(calls)) as pool:
        return [job.result() for job in [pool.submit(run, call) for call in calls]]


# --- the buttons that make something --------------------------------------------------


def test_photos_sent_twice_then_kept_once(keeper, client_as):
    client, url = client_as(keeper), reverse("snaps")
    sent = {"form_token": token_on(client.get(url))}

    client.post(url, sent | {"photos": phone_photo()})
    second = client.post(url, sent | {"photos": phone_photo()}, follow=True)

    assert UnfiledPhoto.objects.count() == 1
    assert "the first time you sent them" in second.text
