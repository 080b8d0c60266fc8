"""Heavy work of requests: one at a time, whoever waits is told."""

import pytest

from maintenance.households.refusals import Refused
from maintenance.jobs.slot import one_at_a_time


def test_slot_when_taken_then_the_next_is_refused_in_words():
    with (
        one_at_a_time("reading"),
        pytest.raises(Refused, match="in a minute"),
        one_at_a_time("reading", patience=0),
    ):
        pass


def test_slot_when_free_again_or_another_then_taken():
    with one_at_a_time("reading"), one_at_a_time("other", patience=0):
        pass
    with one_at_a_time("reading", patience=0):
        pass
