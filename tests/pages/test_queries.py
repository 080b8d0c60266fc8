"""Every page that somebody can open, and how often it asks the database."""

from random import Random
from unittest import mock

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from maintenance.households.models import Role
from tests import builders
from tests.fuzz.home import make_home
from tests.fuzz.walk import Walker

MOST = 15
# Of what is put together from all facts of a rig: none of these grows with its rows.
MORE = {
    "preview_history": 42,  # a whole print
    "trip": 25,  # reckoned ahead for up to three rigs
    "rig_events": 23,  # nine kinds of facts
}


@pytest.mark.django_db
def test_no_page_asks_more_than_fifteen_times(clock, client_as):
    clock("2026-05-04 09:00", "America/Denver")
    keeper, *_others = make_home("Alder")
    stranger = make_home("Birch")[0]
    founder = builders.make_member(keeper.household, Role.KEEPER, founder=True)
    browser = client_as(founder)
    walker = Walker([founder], stranger.household, Random(1))  # noqa: S311
    with mock.patch("socket.create_connection", side_effect=OSError):
        walker.look_round()
        counted = {
            (address.name, url): _queries(browser, url)
            for address in walker.addresses.values()
            for url in address.seen or ([] if address.kinds else [f"/{address.route}"])
        }

    over = {
        key: count for key, count in counted.items() if count > MORE.get(key[0], MOST)
    }
    assert not over
    assert len({name for name, _url in counted}) > 100  # it has come around


def _queries(browser, url: str) -> int:
    with CaptureQueriesContext(connection) as queries:
        answer = browser.get(url)
        if answer.streaming:
            b"".join(answer)
    return len(queries)
