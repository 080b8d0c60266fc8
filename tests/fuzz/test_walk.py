"""Five hundred requests of a fixed seed; `python -m tests.fuzz 5000` makes more."""

import pytest

from tests.fuzz.home import make_home
from tests.fuzz.walk import walk

REQUESTS = 500


@pytest.mark.django_db
def test_every_address_with_nonsense_then_words_and_nothing_of_others_changed(clock):
    clock("2026-05-04 09:00", "America/Denver")
    members, strangers = make_home("Alder"), make_home("Birch")

    walked = walk(members, strangers, requests=REQUESTS, seed=20260504)

    faults = [f"{one.what}: {one.words}" for one in walked.faults.values()]
    assert not faults, "\n\n".join([str(walked), *faults])
    assert walked.requests == REQUESTS
    # It got through to most pages, and work was taken: else nothing was tried.
    assert len(walked.reached) > walked.addresses / 2
    assert walked.kept > REQUESTS / 25
