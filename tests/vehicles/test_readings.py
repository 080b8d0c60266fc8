"""A doubtful reading is asked about, both neighbors named, before it is stored."""

from datetime import date
from decimal import Decimal

import pytest
from django.urls import reverse

from maintenance.vehicles.models import Reading
from tests import builders


@pytest.fixture
def keeper(db):
    return builders.make_member()


@pytest.fixture
def rig(keeper, clock):
    clock("2026-05-04 15:00", "America/Denver")
    rig = builders.make_rig(keeper.household)
    builders.make_reading(rig, date(2026, 3, 1), 42000)
    builders.make_reading(rig, date(2026, 5, 1), 43000)
    return rig


@pytest.fixture
def post(client_as, keeper, rig):
    meter = rig.meters.get()
    url = reverse("give_reading", args=[rig.pk])

    def send(value, on="2026-04-01", **more):
        data = {"meter": meter.pk, "value": value, "on": on, **more}
        return client_as(keeper).post(url, data)

    return send


def test_reading_that_fits_is_stored_at_once(post):
    answer = post("42,500")

    assert answer.status_code == 302
    assert Reading.objects.filter(value=42500, doubtful=False).exists()


def test_only_meter_of_a_rig_is_chosen_already(client_as, keeper, rig):
    page = client_as(keeper).get(reverse("give_reading", args=[rig.pk]))

    assert page.context["form"]["meter"].value() == rig.meters.get().pk


@pytest.mark.parametrize("typed", ["42500", "42,500.0", "42500,0", "42500 mi"])
def test_reading_takes_comma_point_and_unit(post, typed):
    post(typed)

    assert Reading.objects.filter(value=Decimal("42500.0")).exists()


def test_reading_in_kilometers_is_converted(post):
    post("68397.1 km")  # 68,397.1 / 1.609344 = 42,500.0 mi

    assert Reading.objects.filter(value=Decimal("42500.0")).exists()


def test_wild_reading_names_both_neighbors_and_stores_nothing(post):
    answer = post("425000")

    page = answer.content.decode()
    assert "42,000 mi on Mar 1, 2026 and 43,000 mi on May 1, 2026" in page
    assert "I meant 42,500 mi" in page
    assert 'value="425000"' in page
    assert Reading.objects.count() == 2


def test_wild_reading_that_is_right_is_stored_confirmed(post):
    answer = post("425000", doubt="right")

    assert answer.status_code == 302
    assert Reading.objects.get(value=425000).confirmed


def test_wild_reading_that_nobody_can_explain_is_kept_doubtful(post):
    post("425000", doubt="keep")

    assert Reading.objects.get(value=425000).doubtful


def test_typing_slip_is_put_right(post):
    post("425000", doubt="meant:42500.0")

    assert Reading.objects.filter(value=42500).exists()
    assert not Reading.objects.filter(value=425000).exists()


def test_answer_that_was_not_offered_asks_again(post):
    answer = post("425000", doubt="meant:43000000")

    assert answer.status_code == 200
    assert Reading.objects.count() == 2


@pytest.mark.parametrize(
    ("value", "words"),
    [("twelve", "isn&#x27;t a number"), ("-5", "Enter a value"), ("42500 psi", "psi")],
)
def test_what_is_no_reading_is_refused_at_the_field(post, value, words):
    answer = post(value)

    page = answer.content.decode()
    assert words in page
    assert f'value="{value}"' in page


def test_reading_of_tomorrow_is_refused(post):
    answer = post("43100", on="2026-05-05")

    assert "still to come" in answer.content.decode()
