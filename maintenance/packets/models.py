"""Printed documents: what was asked for, how far it is, where the PDF lies."""

from django.db import models

from maintenance.households.models import Member
from maintenance.jobs.models import LongJob, Progress
from maintenance.vehicles.models import Rig


class PacketKind(models.TextChoices):
    HISTORY = "history", "Service history"
    TRIP = "trip", "Trip sheet"
    SHOP = "shop", "Shop sheet"
    STORAGE = "storage", "Storage sheet"


class PacketState(models.TextChoices):
    QUEUED = "queued", "Waiting"
    RENDERING = "rendering", "Being made"
    READY = "ready", "Ready"
    FAILED = "failed", "Failed"
    STOPPED = "stopped", "Stopped"


class Packet(LongJob):
    RUNNING = PacketState.RENDERING
    TASK = "maintenance.packets.tasks.render_packet"
    BROKEN = (
        "Printing stopped with an error. Your records are untouched. The reason is "
        "in the log; "
        "“manage.py check” shows if something printing needs is missing."
    )
    GIVEN_UP = (
        "Printing failed several times, so we stopped trying. Your records are "
        "untouched. The reason may be in the log."
    )
    NOTHING_TO_STOP = "This one is already done or stopped."
    # One is printed at a time on a machine; whoever made it calls for the next.
    CALLED_AT_ONCE = 1

    rig = models.ForeignKey(Rig, on_delete=models.CASCADE, related_name="packets")
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
    asked_at = models.DateTimeField(auto_now_add=True)
    asked_by = models.ForeignKey(Member, on_delete=models.SET_NULL, null=True)
    ready_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-asked_at"]

    def __str__(self) -> str:
        words = f"{PacketKind(self.kind).label}, {self.rig}"
        return f"{words}: {self.title}" if self.title else words

    @property
    def progress(self) -> Progress:
        return Progress(self.step or "Waiting for its turn", self.percent, 100)

    @property
    def is_history(self) -> bool:
        return self.kind == PacketKind.HISTORY

    @property
    def is_ready(self) -> bool:
        return self.state == PacketState.READY
