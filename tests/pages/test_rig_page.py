"""What a rig's page shows of its last work."""

from datetime import date
from decimal import Decimal
from uuid import uuid4

import pytest
from django.urls import reverse

from maintenance.pages.rig_page import rig_page
from maintenance.service_records.same_work import merge_records
from maintenance.service_records.work import Line
from maintenance.vehicles.models import Rig
from maintenance.vehicles.services import fit_meter
from tests import builders
from tests.builders import TODAY


def test_last_work_leaves_out_what_was_merged_into_another_record(db):
    member = builders.make_member(role="keeper")
    rig = builders.make_rig(member.household)
    first, second = (
        builders.log_work(
            rig,
            by=member,
            today=TODAY,
            form_token=uuid4(),
            on=TODAY,
            lines=[Line("Wash")],
        )
        for _n in range(2)
    )

    merge_records(second, into=first, by=member, today=TODAY)

    assert rig_page(rig, TODAY).records == [first]


# --- whether a trailer's hub has a meter ----------------------------------------------

ASKED = "hub have a distance meter?"


@pytest.fixture
def trailer(db) -> Rig:
    """One with a reading of its towed distance, entered before anybody asked."""
    towed = {"kind": "towed", "unit": "mi"}
    rig = builders.make_rig(
        name="Wren", kind="travel_trailer", wheels="trailer_two", meter=towed
    )
    builders.make_reading(rig, date(2026, 5, 1), 9480, "towed")
    return rig


def page_of(rig, client_as, role="keeper"):
    member = builders.make_member(rig.household, role=role)
    return client_as(member).get(reverse("rig", args=[rig.pk])).content.decode()


def test_reading_of_towed_distance_then_the_keeper_is_asked(trailer, client_as, clock):
    clock("2026-05-04 18:00", "America/Denver")

    page = page_of(trailer, client_as)

    assert f"Does Wren's {ASKED} 9,480\N{NO-BREAK SPACE}mi on" in page
    assert "Yes, it has one" in page


def test_question_for_who_is_no_keeper_then_without_a_button(trailer, client_as, clock):
    clock("2026-05-04 18:00", "America/Denver")

    page = page_of(trailer, client_as, role="crew")

    assert ASKED in page
    assert "Yes, it has one" not in page


def test_nothing_to_ask_then_not_asked(trailer, client_as, clock):
    clock("2026-05-04 18:00", "America/Denver")
    trailer.meters.get().readings.all().delete()
    assert ASKED not in page_of(trailer, client_as)


def test_sold_trailer_then_not_asked(trailer, client_as, clock):
    clock("2026-05-04 18:00", "America/Denver")
    Rig.objects.filter(pk=trailer.pk).update(sold_on=date(2026, 5, 2))
    assert ASKED not in page_of(trailer, client_as)


@pytest.mark.parametrize(
    ("role", "status"), [("keeper", 302), ("crew", 403), ("viewer", 403), ("", 404)]
)
def test_question_is_answered_by_a_keeper_of_the_household_alone(
    trailer, client_as, role, status
):
    own = {"household": trailer.household, "role": role} if role else {}
    member = builders.make_member(**own)

    answer = client_as(member).post(reverse("confirm_hub_meter", args=[trailer.pk]))

    assert answer.status_code == status
    confirmed = trailer.meters.get().hub_confirmed_on
    assert (confirmed is not None) == (status == 302)


def test_hub_meter_added_as_one_then_not_asked(db, client_as, clock):
    clock("2026-05-04 18:00", "America/Denver")
    keeper = builders.make_member()
    rig = builders.make_rig(
        keeper.household, kind="travel_trailer", wheels="trailer_two", meter=None
    )
    about = {"kind": "towed", "unit": "mi", "value": Decimal(120)}

    fit_meter(rig, by=keeper, today=TODAY, **about)

    assert ASKED not in page_of(rig, client_as)
