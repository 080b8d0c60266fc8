"""Holding a long job: one worker at a time, for a minute that is renewed as it goes.

The database holds the truth. A worker that dies leaves a claim that runs out; the sweep
then calls for the job again, a few times at most.
"""

import contextlib
import logging
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, Generic, Self

from django.db.models import F
from django.utils import timezone

from maintenance.households.access import NotAllowed
from maintenance.households.refusals import Refused

from .models import J

log = logging.getLogger(__name__)

LEASE = timedelta(seconds=60)
MOST_TRIES = 3


class Stopped(Exception):
    """Nobody wants the job any more, or another worker has it."""


@dataclass
class Claim(Generic[J]):
    """A job that is ours for as long as we keep the claim."""

    job: J
    # The values of `claimed_until` that are ours: what was noted last, and what stands
    # in the row again when the transaction around that is rolled back.
    names: tuple[datetime, ...]

    @classmethod
    def take(cls, job: J, **values: Any) -> Self | None:
        """Compare and set: of several workers one gets it. `values` are noted too."""
        until = timezone.now() + LEASE
        free = type(job).objects.waiting().filter(pk=job.pk, tries__lt=MOST_TRIES)
        taken = free.update(
            state=job.RUNNING,
            claimed_until=until,
            tries=F("tries") + 1,
            problem="",
            **values,
        )
        return cls(job, (until,)) if taken else None

    def keep(self, **values: Any) -> bool:
        """Hold on for longer and note `values`; False when it is ours no more."""
        until = timezone.now() + LEASE
        kept = self._set(claimed_until=until, **values)
        if kept:
            self.names = (self.names[-1], until)
        return kept

    def end(self, state: str, problem: str = "", **values: Any) -> bool:
        """Let go of it; False when it was ours no more, and nothing is noted."""
        return self._set(**self.job.ending(state, problem), **values)

    @contextlib.contextmanager
    def at_work(self) -> Iterator[None]:
        """Around the work: what breaks it off is noted in a user's words. A refusal
        tells what is wrong; a fault of ours goes on to the worker, for the log."""
        try:
            yield
        except Stopped:
            log.info("%s %s: stopped", self.job._meta.label, self.job.pk)
        except (Refused, NotAllowed) as refusal:
            self.end(self.job.FAILED, str(refusal))
        except Exception:
            self.end(self.job.FAILED, self.job.BROKEN)
            raise

    def _set(self, **values: Any) -> bool:
        held = type(self.job).objects.filter(
            pk=self.job.pk, state=self.job.RUNNING, claimed_until__in=self.names
        )
        return held.update(**values) == 1
