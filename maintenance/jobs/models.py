"""Work too long for a request: a row that one worker at a time holds."""

import uuid
from dataclasses import dataclass
from datetime import timedelta
from typing import Any, ClassVar, Self, TypeVar

from django.db import models
from django.db.models import Q
from django.utils import timezone

from maintenance.households.models import Household

J = TypeVar("J", bound="LongJob")


@dataclass(frozen=True, slots=True)
class Progress:
    """`done` and `total` are of the same unit: percent, rows."""

    words: str
    done: int
    total: int


class LongJobQuerySet(models.QuerySet[J]):
    def for_household(self, household: Household) -> Self:
        return self.filter(**{self.model.HOUSEHOLD: household})

    def with_household(self) -> Self:
        return self.select_related(self.model.HOUSEHOLD)

    def in_work(self) -> Self:
        return self.filter(state__in=self.model.in_work_states())

    def waiting(self) -> Self:
        """Those that no worker holds: just queued, or left by one that died."""
        now = timezone.now()
        free = Q(claimed_until__isnull=True) | Q(claimed_until__lt=now)
        # Nobody claims for a day: the clock was ahead, and was set back.
        free |= Q(claimed_until__gt=now + timedelta(days=1))
        return self.in_work().filter(free).order_by("pk")


class LongJob(models.Model):
    """What every kind of long job has. A kind adds its rig or household, who asked for
    it and its `state`, whose stored words are these; one that has another word for
    running, from before, names it."""

    QUEUED: ClassVar[str] = "queued"
    RUNNING: ClassVar[str] = "running"
    STOPPED: ClassVar[str] = "stopped"
    FAILED: ClassVar[str] = "failed"

    HOUSEHOLD: ClassVar[str] = "rig__household"  # how a row leads to its household
    TASK: ClassVar[str]  # by name: tasks call services, not the other way round
    BROKEN: ClassVar[str]  # what a user reads when it broke off by a fault of ours
    GIVEN_UP: ClassVar[str]  # and when it broke off each time it was tried
    NOTHING_TO_STOP: ClassVar[str]
    ENDED_AT: ClassVar[str] = ""  # the field of the moment it ended, where there is one
    CALLED_AT_ONCE: ClassVar[int | None] = (
        None  # how many of those that wait; None: all
    )

    state = models.CharField(max_length=9)
    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    problem = models.CharField(max_length=300, blank=True)
    # Until when a worker holds it. Renewed while it works, so it is also the name of
    # the claim: whoever finds another value has lost it.
    claimed_until = models.DateTimeField(null=True, blank=True)
    # How often a worker has begun. One that kills its workers is given up.
    tries = models.PositiveSmallIntegerField(default=0)

    objects = LongJobQuerySet.as_manager()

    class Meta:
        abstract = True

    def its_household(self) -> Household:
        found: Any = self
        for name in self.HOUSEHOLD.split("__"):
            found = getattr(found, name)
        return found

    @classmethod
    def in_work_states(cls) -> tuple[str, str]:
        return cls.QUEUED, cls.RUNNING

    @property
    def is_in_work(self) -> bool:
        return self.state in self.in_work_states()

    @property
    def progress(self) -> Progress:
        """How far it is, for its page."""
        raise NotImplementedError

    @classmethod
    def ending(cls, state: str, problem: str = "") -> dict[str, Any]:
        """The values of a row that no worker holds any more."""
        ended = {cls.ENDED_AT: timezone.now()} if cls.ENDED_AT else {}
        return {"state": state, "problem": problem[:300], "claimed_until": None} | ended
