"""A history that is brought in from a file: the file, how it is to be read, how far it
is, and which row became which record."""

from django.db import models
from django.db.models import Q

from maintenance.core.units import show_number
from maintenance.households.models import DistanceUnit, Household, Member
from maintenance.jobs.models import LongJob, Progress
from maintenance.service_records.models import ServiceRecord
from maintenance.vehicles.models import Rig


class State(models.TextChoices):
    ASKING = "asking", "Not started"
    QUEUED = "queued", "Waiting for its turn"
    RUNNING = "running", "Importing"
    STOPPED = "stopped", "Stopped"
    DONE = "done", "Done"
    FAILED = "failed", "Failed"
    VOIDED = "voided", "Void"


MAY_START = (State.ASKING, State.STOPPED, State.FAILED)
HAS_ROWS = (State.STOPPED, State.DONE, State.FAILED)


class ImportJob(LongJob):
    """One file, or pasted text, that is to become records of a rig.

    The table itself lies in a file below the data, named by `key`.
    """

    TASK = "maintenance.exchange.tasks.bring_in"
    BROKEN = GIVEN_UP = (
        "The import stopped with an error. Rows already added stay; continue to add "
        "the rest. The reason is "
        "in the log."
    )
    NOTHING_TO_STOP = "This import is already done or stopped."
    ENDED_AT = "ended_at"

    rig = models.ForeignKey(Rig, on_delete=models.PROTECT, related_name="brought")
    file_name = models.CharField(max_length=120)
    sha256 = models.CharField(max_length=64)
    columns = models.JSONField(default=dict)  # column -> field of core.tables
    # How its figures are to be read; empty: not asked yet, or nothing depends on it.
    day_order = models.CharField(max_length=3, blank=True)
    decimal_comma = models.BooleanField(null=True)
    distance_unit = models.CharField(
        max_length=2, choices=DistanceUnit.choices, blank=True
    )
    jobs = models.JSONField(default=dict)  # words -> id of a plan item
    with_doubtful = models.BooleanField(default=False)
    # What rows that tell of work on wheels mean: "all" were off, or "none".
    wheels_off = models.CharField(max_length=4, blank=True, default="")
    state = models.CharField(max_length=7, choices=State.choices, default=State.ASKING)
    total = models.PositiveIntegerField(default=0)  # rows that are to come in
    added = models.PositiveIntegerField(default=0)  # rows that came in
    begun_at = models.DateTimeField(auto_now_add=True)
    begun_by = models.ForeignKey(Member, on_delete=models.SET_NULL, null=True)
    ended_at = models.DateTimeField(null=True, blank=True)
    why_voided = models.CharField(max_length=200, blank=True)

    class Meta:
        db_table = "exchange_bringing"
        ordering = ["-begun_at"]

    def __str__(self) -> str:
        return self.file_name

    @property
    def progress(self) -> Progress:
        words = f"{self.added} of {self.total} rows added"
        return Progress(words, self.added, self.total)

    @property
    def may_start(self) -> bool:
        return self.state in MAY_START

    @property
    def has_rows(self) -> bool:
        return self.state in HAS_ROWS and self.added > 0


class ImportedRow(models.Model):
    """Where a record comes from. `digest` tells what the row says, so that a row comes
    in once, from whichever file; withdrawn with its whole file it may come again."""

    bringing = models.ForeignKey(
        ImportJob, on_delete=models.PROTECT, related_name="rows"
    )
    rig = models.ForeignKey(Rig, on_delete=models.PROTECT, related_name="+")
    record = models.ForeignKey(
        ServiceRecord, on_delete=models.PROTECT, related_name="brought_rows"
    )
    number = models.PositiveIntegerField()
    digest = models.CharField(max_length=64)
    withdrawn = models.BooleanField(default=False)

    class Meta:
        db_table = "exchange_broughtrow"
        ordering = ["number"]
        constraints = [
            models.UniqueConstraint(
                fields=["rig", "digest"],
                condition=Q(withdrawn=False),
                name="brought_row_once_per_rig",
            )
        ]

    def __str__(self) -> str:
        return f"{self.bringing}, row {self.number}"


class ExportState(models.TextChoices):
    QUEUED = "queued", "Waiting"
    RUNNING = "running", "Being made"
    READY = "ready", "Ready"
    FAILED = "failed", "Failed"
    STOPPED = "stopped", "Stopped"


class ExportJob(LongJob):
    """Everything of a household as one ZIP, which lies here for a day."""

    HOUSEHOLD = "household"
    TASK = "maintenance.exchange.tasks.make_export"
    BROKEN = GIVEN_UP = (
        "The export stopped with an error. Nothing of yours has changed. The reason "
        "is in the log. Is the "
        "disk full?"
    )
    NOTHING_TO_STOP = "This one is already done or stopped."
    CALLED_AT_ONCE = 1

    household = models.ForeignKey(
        Household, on_delete=models.CASCADE, related_name="exports"
    )
    state = models.CharField(
        max_length=7, choices=ExportState.choices, default=ExportState.QUEUED
    )
    done = models.PositiveIntegerField(default=0)  # tables and files in the ZIP
    total = models.PositiveIntegerField(default=0)
    size = models.PositiveBigIntegerField(null=True)
    asked_at = models.DateTimeField(auto_now_add=True)
    asked_by = models.ForeignKey(Member, on_delete=models.SET_NULL, null=True)

    class Meta:
        ordering = ["-asked_at"]

    def __str__(self) -> str:
        return "Export everything"

    @property
    def progress(self) -> Progress:
        if not self.total:
            return Progress("Waiting for its turn", 0, 1)
        done, total = show_number(self.done), show_number(self.total)
        words = f"{done} of {total} tables and files added"
        return Progress(words, self.done, self.total)

    @property
    def is_ready(self) -> bool:
        return self.state == ExportState.READY


class RememberedAnswer(models.Model):
    """What a household chose before: the field of a column, the procedure of a job.
    Empty: it is to be left out, or stays in free words."""

    class About(models.TextChoices):
        COLUMN = "column", "Column"
        JOB = "job", "Job"

    household = models.ForeignKey(
        Household, on_delete=models.CASCADE, related_name="remembered"
    )
    about = models.CharField(max_length=6, choices=About.choices)
    words = models.CharField(max_length=120)
    means = models.CharField(max_length=60, blank=True)

    class Meta:
        db_table = "exchange_remembered"
        verbose_name_plural = "remembered choices"
        constraints = [
            models.UniqueConstraint(
                fields=["household", "about", "words"], name="remembered_once"
            )
        ]

    def __str__(self) -> str:
        return f"{self.words}: {self.means}"
