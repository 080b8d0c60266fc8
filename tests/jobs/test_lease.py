"""Holding a job: of two workers one gets it, and what ends the work is noted."""

from datetime import timedelta

import pytest
from django.db import transaction
from django.utils import timezone

from maintenance.households.access import NotAllowed
from maintenance.households.refusals import Refused
from maintenance.jobs.lease import MOST_TRIES, Claim, Stopped
from maintenance.jobs.services import stop_job
from tests.builders import make_member


@pytest.fixture
def job(make):
    return make()


def ran_out() -> dict:
    return {"claimed_until": timezone.now() - timedelta(seconds=1)}


def fresh(job):
    return type(job).objects.get(pk=job.pk)


def test_take_when_two_workers_want_it_then_one_gets_it(job):
    first = Claim.take(fresh(job))
    second = Claim.take(fresh(job))

    assert first is not None
    assert second is None
    assert (fresh(job).state, fresh(job).tries) == (job.RUNNING, 1)


@pytest.mark.parametrize("state", ["STOPPED", "FAILED"])
def test_take_when_it_is_over_then_none(make, kind, state):
    assert Claim.take(make(state=getattr(kind, state))) is None


def test_take_when_a_worker_left_it_then_taken_as_often_as_allowed(make, kind):
    left = make(state=kind.RUNNING, tries=MOST_TRIES - 1, **ran_out())

    assert Claim.take(left) is not None
    kind.objects.update(**ran_out())
    assert Claim.take(left) is None


def test_keep_when_another_took_it_after_the_claim_ran_out_then_lost(job, kind):
    lost = Claim.take(job)
    kind.objects.update(**ran_out())
    held = Claim.take(fresh(job))

    assert not lost.keep(problem="of the first")
    assert not lost.end(job.FAILED)
    assert held.keep()
    assert held.keep()
    assert (fresh(job).state, fresh(job).problem) == (job.RUNNING, "")


def test_keep_when_rolled_back_then_the_claim_is_still_ours(job):
    claim = Claim.take(job)
    claim.keep()
    with transaction.atomic():
        claim.keep()
        transaction.set_rollback(True)

    assert claim.end(job.FAILED, "It broke off.")
    assert fresh(job).problem == "It broke off."


def test_end_then_nobody_holds_it(job):
    claim = Claim.take(job)

    assert claim.end(job.FAILED, "long " * 100)
    assert fresh(job).claimed_until is None
    assert len(fresh(job).problem) == 300
    assert not claim.keep()


@pytest.mark.parametrize("refusal", [Refused, NotAllowed])
def test_work_refused_then_failed_with_its_words(job, refusal):
    with Claim.take(job).at_work():
        raise refusal("The file is gone.")

    assert (fresh(job).state, fresh(job).problem) == (job.FAILED, "The file is gone.")


def test_work_broken_by_a_fault_then_failed_and_the_worker_hears_of_it(job):
    with pytest.raises(ZeroDivisionError), Claim.take(job).at_work():
        raise ZeroDivisionError

    assert (fresh(job).state, fresh(job).problem) == (job.FAILED, job.BROKEN)


def test_work_stopped_then_it_stays_stopped(job):
    claim = Claim.take(job)
    with claim.at_work():
        stop_job(job, by=make_member(job.its_household(), "crew"))
        assert not claim.keep()
        raise Stopped

    assert fresh(job).state == job.STOPPED
