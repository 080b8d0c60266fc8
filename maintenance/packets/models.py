"""Printed documents: what was asked for, how far it is, where the PDF lies."""

import uuid

from django.db import models
from django.utils.translation import gettext_lazy as _

from maintenance.households.models import Household, Member
from maintenance.vehicles.models import Rig


class PacketKind(models.TextChoices):
    HISTORY = "history", _("Service history")
    TRIP = "trip", _("Trip sheet")
    SHOP = "shop", _("Shop sheet")
    STORAGE = "storage", _("Storage sheet")


class PacketState(models.TextChoices):
    QUEUED = "queued", _("Waiting")
    RENDERING = "rendering", _("Being made")
    READY = "ready", _("Ready")
    FAILED = "failed", _("Failed")
    STOPPED = "stopped", _("Stopped")


IN_WORK = (PacketState.QUEUED, PacketState.RENDERING)


class PacketQuerySet(models.QuerySet["Packet"]):
    def for_household(self, household: Household) -> "PacketQuerySet":
        return self.filter(rig__household=household)


class Packet(models.Model):
    rig = models.ForeignKey(Rig, on_delete=models.CASCADE, related_name="packets")
    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    kind = models.CharField(max_length=10, choices=PacketKind.choices)
    # A sheet is asked for as it stands on its page: its name, and what is to be printed
    # (until it is). A history is made from the records when its turn comes.
    title = models.CharField(max_length=120, blank=True)
    page = models.TextField(blank=True)
    as_of = models.DateField()
    state = models.CharField(
        max_length=9, choices=PacketState.choices, default=PacketState.QUEUED
    )
    step = models.CharField(max_length=60, blank=True)
    percent = models.PositiveSmallIntegerField(default=0)
    pages = models.PositiveIntegerField(null=True, blank=True)
    size = models.PositiveIntegerField(null=True, blank=True)
    problem = models.CharField(max_length=300, blank=True)
    # Until when a worker holds it. Renewed while it works, so it is also the name of
    # the claim: whoever finds another value has lost it.
    claimed_until = models.DateTimeField(null=True, blank=True)
    # How often a worker has begun. One that kills its workers is given up.
    tries = models.PositiveSmallIntegerField(default=0)
    asked_at = models.DateTimeField(auto_now_add=True)
    asked_by = models.ForeignKey(Member, on_delete=models.SET_NULL, null=True)
    ready_at = models.DateTimeField(null=True, blank=True)

    objects = PacketQuerySet.as_manager()

    class Meta:
        ordering = ["-asked_at"]

    def __str__(self) -> str:
        words = f"{PacketKind(self.kind).label}, {self.rig}"
        return f"{words}: {self.title}" if self.title else words

    @property
    def is_in_work(self) -> bool:
        return self.state in IN_WORK

    @property
    def is_history(self) -> bool:
        return self.kind == PacketKind.HISTORY

    @property
    def is_ready(self) -> bool:
        return self.state == PacketState.READY
