"""The log: what narrows it, and that its queries do not grow."""

from datetime import date
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from maintenance.service_records.work import Line, Part
from tests import builders
from tests.builders import TODAY

MOST_QUERIES = 12
TITLES = ("Oil change", "Filter", "Sealed roof")


@pytest.fixture
def keeper(db, clock):
    clock("2026-05-04 12:00", "America/Denver")
    return builders.make_member()


def log(rig, by, title, on=TODAY, **more):
    lines = more.pop("lines", None) or [Line(title)]
    more.setdefault("doer", "Ada")
    return builders.log_work(
        rig, by=by, today=TODAY, form_token=uuid4(), on=on, lines=lines, **more
    )


@pytest.fixture
def household(keeper):
    van = builders.make_rig(keeper.household, name="Van")
    oil = builders.make_item(van)
    log(van, keeper, "", lines=[Line("Oil change", oil)])
    part = Part("Cabin filter", "CF-9081")
    log(van, keeper, "Filter", date(2025, 3, 1), parts_used=[part])
    log(builders.make_rig(keeper.household, name="Trailer"), keeper, "Sealed roof")
    return keeper.household


@pytest.mark.parametrize(
    ("query", "found"),
    [
        ({}, {*TITLES}),
        ({"system": "chassis-engine"}, {"Oil change"}),
        ({"year": "2025"}, {"Filter"}),
        ({"text": "cf-9081"}, {"Filter"}),
        ({"text": "ROOF"}, {"Sealed roof"}),
        ({"year": "2025", "text": "roof"}, set()),
        ({"rig": "9" * 40, "year": "0", "text": "\0"}, {*TITLES}),
    ],
)
def test_log_is_narrowed_by_what_is_asked(client_as, keeper, household, query, found):
    page = client_as(keeper).get(reverse("log"), query).content.decode()

    assert {title for title in TITLES if f">{title}</a>" in page} == found


def test_log_is_narrowed_by_rig(client_as, keeper, household):
    rig = household.rigs.get(name="Trailer")

    page = client_as(keeper).get(reverse("log"), {"rig": rig.pk}).content.decode()

    assert "Sealed roof" in page
    assert "Oil change" not in page


def test_nothing_that_fits_is_said(client_as, keeper, household):
    page = client_as(keeper).get(reverse("log"), {"text": "xyzzy"}).content.decode()

    assert "No matching records" in page


def queries_of(client):
    with CaptureQueriesContext(connection) as queries:
        client.get(reverse("log"))
    return len(queries)


def test_more_records_ask_no_more_queries(client_as, keeper, household):
    client, rig = client_as(keeper), household.rigs.get(name="Van")
    few = queries_of(client)
    for n in range(27):
        log(rig, keeper, f"Job {n}")

    assert queries_of(client) == few <= MOST_QUERIES
