"""Work done, with figures, cost and proof. Amended or voided, never overwritten."""

import uuid
from decimal import ROUND_HALF_UP, Decimal

from django.db import models
from django.db.models import Q
from django.utils.timezone import localdate

from maintenance.findings.models import Finding
from maintenance.households.models import Household, Member
from maintenance.households.row_keys import row_key_field
from maintenance.plans.models import Completion, Outcome, PlanItem
from maintenance.supplies.models import Supply
from maintenance.supplies.stock import amount_words
from maintenance.ui.words import day_words
from maintenance.vehicles.models import Event, MeterKind, Reading, Rig, value_field
from maintenance.work_sheets.lugs import FigureOrigin, TorqueUnit

from .chain.models import ChainLink, LinkKind  # noqa: F401 (models here too)

CENT = Decimal("0.01")
SUMMED_UP = 2  # jobs that a list names


class DoneBy(models.TextChoices):
    MEMBER = "member", "One of us"
    SHOP = "shop", "A shop"
    MOBILE = "mobile", "A mobile technician"


def money_field(label: str) -> models.DecimalField:
    return models.DecimalField(
        label, max_digits=10, decimal_places=2, null=True, blank=True
    )


class ServiceRecordQuerySet(models.QuerySet["ServiceRecord"]):
    def for_household(self, household: Household) -> "ServiceRecordQuerySet":
        return self.filter(rig__household=household)

    def standing_records(self) -> "ServiceRecordQuerySet":
        """Records that count: neither voided nor merged into another."""
        return self.filter(voided_at__isnull=True, merged_into__isnull=True)


class ServiceRecord(models.Model):
    row_key = row_key_field()
    rig = models.ForeignKey(Rig, on_delete=models.PROTECT, related_name="records")
    # Made with the form, so that the same form posted twice is one record.
    form_token = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    on = models.DateField("done on")
    until = models.DateField("or until", null=True, blank=True)
    place = models.CharField("where", max_length=80, blank=True)
    done_by = models.CharField(
        "done by", max_length=6, choices=DoneBy.choices, default=DoneBy.MEMBER
    )
    doer = models.CharField("name of the person or shop", max_length=80)
    values = models.JSONField(default=dict, blank=True)  # meter kind -> "42310.0"
    # Those figures are right, whatever the other readings say.
    values_confirmed = models.BooleanField(default=False)
    wheels_off = models.JSONField(default=list, blank=True)  # ["LF", …]; none named: []
    currency = models.CharField(max_length=3)
    labor = money_field("labor")
    parts = money_field("parts")
    tax = money_field("tax")
    total = money_field("total")
    # Until a day, or until a meter shows a value, or whichever comes first.
    warranty_until = models.DateField("warranty until", null=True, blank=True)
    warranty_meter = models.CharField(
        max_length=9, choices=MeterKind.choices, blank=True
    )
    warranty_value = value_field("or until it shows", null=True, blank=True)
    warranty_covers = models.CharField("it covers", max_length=120, blank=True)
    # What reminds of its end; it is on the plan only for this record.
    warranty_item = models.OneToOneField(
        PlanItem,
        on_delete=models.SET_NULL,
        null=True,
        editable=False,
        related_name="warranty_of",
    )
    signed_off_by = models.CharField("signed off by", max_length=80, blank=True)
    credential = models.CharField("license or certificate", max_length=80, blank=True)
    notes = models.TextField("notes", blank=True)
    entered_at = models.DateTimeField(auto_now_add=True)
    entered_by = models.ForeignKey(Member, on_delete=models.SET_NULL, null=True)
    # What it gave and raised, so that voiding the record withdraws it too.
    readings = models.ManyToManyField(Reading, related_name="records")
    events = models.ManyToManyField(Event, related_name="records")
    voided_at = models.DateTimeField(null=True, blank=True, editable=False)
    voided_by = models.ForeignKey(
        Member, on_delete=models.SET_NULL, null=True, blank=True, related_name="voided"
    )
    why_voided = models.CharField(max_length=200, blank=True)
    # The same work, logged twice: this one is shown as part of the other.
    merged_into = models.ForeignKey(
        "self",
        on_delete=models.PROTECT,
        null=True,
        editable=False,
        related_name="merged",
    )

    objects = ServiceRecordQuerySet.as_manager()

    class Meta:
        ordering = ["-on", "-pk"]
        indexes = [models.Index(fields=["rig", "on"])]
        constraints = [
            models.CheckConstraint(
                condition=Q(until__isnull=True) | Q(until__gte=models.F("on")),
                name="record_until_after_on",
            ),
            models.CheckConstraint(
                condition=Q(warranty_meter="", warranty_value__isnull=True)
                | ~Q(warranty_meter="") & Q(warranty_value__isnull=False),
                name="warranty_value_has_its_meter",
            ),
        ]

    def __str__(self) -> str:
        return f"work on {self.rig} on {day_words(self.on)}"

    @property
    def summary(self) -> str:
        """The first jobs by name, the others by number; lines are prefetched."""
        titles = [line.title for line in self.lines.all()]
        more = len(titles) - SUMMED_UP
        if more <= 1:
            return "; ".join(titles)
        first = "; ".join(titles[:SUMMED_UP])
        return f"{first} and {more} more"

    @property
    def is_late_entry(self) -> bool:
        """Entered more than 30 days after the work was done, as the household counts
        its days."""
        last_day = self.until or self.on
        entered_on = localdate(self.entered_at, self.rig.household.zone)
        return (entered_on - last_day).days > 30


class RecordLine(models.Model):
    """One job of a record: an item of the plan, or a free line."""

    row_key = row_key_field()
    record = models.ForeignKey(
        ServiceRecord, on_delete=models.CASCADE, related_name="lines"
    )
    position = models.PositiveSmallIntegerField(default=0)
    item = models.ForeignKey(
        PlanItem, on_delete=models.PROTECT, null=True, related_name="record_lines"
    )
    title = models.CharField("what", max_length=120)
    outcome = models.CharField(
        "outcome", max_length=11, choices=Outcome.choices, default=Outcome.DONE
    )
    places = models.JSONField(null=True, blank=True)  # wheels worked on; None: all
    note = models.CharField("note", max_length=300, blank=True)
    # As plans.doing.measures writes them: [{name, value, unit, place}].
    measures = models.JSONField(default=list, blank=True)
    steps = models.JSONField(default=list, blank=True)  # [[words, ticked], …]
    # What it completed: its own item, and those that the procedure also renews.
    completions = models.ManyToManyField(Completion, related_name="record_lines")

    class Meta:
        ordering = ["position", "pk"]

    def __str__(self) -> str:
        return self.title


class FoundOrFixed(models.TextChoices):
    FOUND = "found", "Found"
    FIXED = "fixed", "Fixed"


class LineFinding(models.Model):
    """A job that found something not right, or put it right. It says so for good: what
    the finding is worth now stands with the finding."""

    line = models.ForeignKey(
        RecordLine, on_delete=models.CASCADE, related_name="finding_links"
    )
    finding = models.ForeignKey(
        Finding, on_delete=models.CASCADE, related_name="line_links"
    )
    how = models.CharField(max_length=5, choices=FoundOrFixed.choices)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["line", "finding", "how"], name="line_finding_once"
            )
        ]

    def __str__(self) -> str:
        return f"{self.line} {self.how} {self.finding}"


class TorqueCheck(models.Model):
    """A figure, where it comes from, and what each wheel reached."""

    row_key = row_key_field()
    record = models.OneToOneField(
        ServiceRecord, on_delete=models.CASCADE, related_name="torque"
    )
    figure = models.DecimalField("specified torque", max_digits=6, decimal_places=1)
    unit = models.CharField(
        max_length=6, choices=TorqueUnit.choices, default=TorqueUnit.FOOT_POUNDS
    )
    origin = models.CharField("figure from", max_length=7, choices=FigureOrigin.choices)
    oiled = models.BooleanField("oiled threads", default=False)
    # The maker's figure, where the one that was used comes from somewhere else.
    makers_figure = models.DecimalField(
        "the maker's book says",
        max_digits=6,
        decimal_places=1,
        null=True,
        blank=True,
    )
    makers_source = models.CharField("book and page", max_length=145, blank=True)
    # As judged on the day it was recorded: tools change, the record does not.
    wrench = models.CharField("wrench", max_length=80, blank=True)
    wrench_range = models.CharField("its range", max_length=40, blank=True)
    wrench_fits = models.BooleanField("covers the figure", null=True)
    wrench_calibrated = models.BooleanField("calibration in time", null=True)
    wrench_words = models.CharField(max_length=400, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(figure__gt=0), name="torque_figure_positive"
            )
        ]

    def __str__(self) -> str:
        return f"{self.figure} {self.unit}"


class TorquePlace(models.Model):
    """A wheel by its code, or a fastener by its name, with a figure of its own where
    that differs from the check's."""

    row_key = row_key_field()
    check_of = models.ForeignKey(
        TorqueCheck, on_delete=models.CASCADE, related_name="places"
    )
    place = models.CharField(max_length=60)
    figure = models.DecimalField(
        "specified torque", max_digits=6, decimal_places=1, null=True, blank=True
    )
    reached = models.DecimalField(
        "reached", max_digits=6, decimal_places=1, null=True, blank=True
    )
    held = models.BooleanField("the nuts held", default=False)
    moved = models.BooleanField("a nut moved", default=False)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["check_of", "place"], name="torque_place_once"
            )
        ]

    def __str__(self) -> str:
        return self.place


class SupplyUsed(models.Model):
    """What work took out of stock, in words that stay when the list changes."""

    row_key = row_key_field()
    record = models.ForeignKey(
        ServiceRecord, on_delete=models.CASCADE, related_name="supplies"
    )
    supply = models.ForeignKey(Supply, on_delete=models.SET_NULL, null=True)
    name = models.CharField(max_length=121)
    amount = models.DecimalField(max_digits=8, decimal_places=2)
    unit = models.CharField(max_length=5)

    class Meta:
        ordering = ["pk"]
        verbose_name_plural = "supplies used"
        constraints = [
            models.CheckConstraint(condition=Q(amount__gt=0), name="used_something")
        ]

    def __str__(self) -> str:
        return f"{amount_words(self.amount, self.unit)}: {self.name}"


class PartUsed(models.Model):
    """A part that went in. `price` is that of one, in the record's currency."""

    row_key = row_key_field()
    record = models.ForeignKey(
        ServiceRecord, on_delete=models.CASCADE, related_name="parts_used"
    )
    position = models.PositiveSmallIntegerField(default=0)
    name = models.CharField("part", max_length=120)
    number = models.CharField("maker's number", max_length=60, blank=True)
    quantity = models.DecimalField(
        "quantity", max_digits=8, decimal_places=2, default=1
    )
    price = money_field("price of one")

    class Meta:
        ordering = ["position", "pk"]
        verbose_name_plural = "parts used"
        constraints = [
            models.CheckConstraint(condition=Q(quantity__gt=0), name="part_of_some"),
            models.CheckConstraint(
                condition=Q(price__isnull=True) | Q(price__gte=0),
                name="part_price_not_negative",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.name} {self.number}" if self.number else self.name

    @property
    def cost(self) -> Decimal | None:
        """Of all pieces, to the cent."""
        if self.price is None:
            return None
        return (self.price * self.quantity).quantize(CENT, ROUND_HALF_UP)


class Merge(models.Model):
    """Two records of the same work made one. `withdrew` holds what then counted twice
    and was withdrawn, by kind and row, so that undoing brings back just that."""

    record = models.ForeignKey(
        ServiceRecord, on_delete=models.PROTECT, related_name="merges"
    )
    into = models.ForeignKey(
        ServiceRecord, on_delete=models.PROTECT, related_name="merges_into"
    )
    withdrew = models.JSONField(default=dict)
    made_at = models.DateTimeField(auto_now_add=True)
    made_by = models.ForeignKey(
        Member, on_delete=models.SET_NULL, null=True, related_name="merges"
    )
    undone_at = models.DateTimeField(null=True, editable=False)
    undone_by = models.ForeignKey(
        Member, on_delete=models.SET_NULL, null=True, related_name="merges_undone"
    )

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["record"],
                condition=Q(undone_at__isnull=True),
                name="merged_once_at_a_time",
            )
        ]

    def __str__(self) -> str:
        return f"{self.record} merged into {self.into}"


class JournalEntry(models.Model):
    """One row that a record made, changed or removed, with what it held before and
    after: None before where it was made, None after where it was removed.

    It goes when what the record gave is taken back.
    """

    record = models.ForeignKey(
        ServiceRecord, on_delete=models.CASCADE, related_name="journal"
    )
    model = models.CharField(max_length=60)  # vehicles.reading
    row = models.PositiveBigIntegerField()
    was = models.JSONField(null=True)
    now = models.JSONField(null=True)

    class Meta:
        ordering = ["pk"]
        verbose_name_plural = "journal entries"

    def __str__(self) -> str:
        return f"{self.model} {self.row} of {self.record}"


class Attachment(models.Model):
    """Proof: a photo or a PDF. `stored` is a name nobody can guess, below the data.

    It is held for a form (`form_token`) until the record is made, so that a form with
    an error does not lose its files.
    """

    rig = models.ForeignKey(Rig, on_delete=models.PROTECT, related_name="attachments")
    record = models.ForeignKey(
        ServiceRecord, on_delete=models.PROTECT, null=True, related_name="attachments"
    )
    form_token = models.UUIDField(db_index=True, editable=False)
    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    title = models.CharField("what it shows", max_length=120)
    content_type = models.CharField(max_length=40)
    stored = models.CharField(max_length=80)
    size = models.PositiveIntegerField()
    sha256 = models.CharField(max_length=64)
    added_at = models.DateTimeField(auto_now_add=True)
    added_by = models.ForeignKey(Member, on_delete=models.SET_NULL, null=True)

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return self.title

    @property
    def is_image(self) -> bool:
        return self.content_type.startswith("image/")


class UnfiledPhoto(models.Model):
    """A photo or PDF that waits to be filed: snapped now, sorted later.

    Filed, it becomes an `Attachment` with the same key and stored file.
    """

    household = models.ForeignKey(
        Household, on_delete=models.CASCADE, related_name="snaps"
    )
    rig = models.ForeignKey(
        Rig, on_delete=models.SET_NULL, null=True, related_name="snaps"
    )
    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    title = models.CharField("what it shows", max_length=120)
    content_type = models.CharField(max_length=40)
    stored = models.CharField(max_length=80)
    size = models.PositiveIntegerField()
    sha256 = models.CharField(max_length=64)
    added_at = models.DateTimeField(auto_now_add=True)
    added_by = models.ForeignKey(
        Member, on_delete=models.SET_NULL, null=True, related_name="snaps"
    )

    class Meta:
        db_table = "service_records_snap"
        ordering = ["-added_at", "-pk"]
        constraints = [
            # The same photo sent twice over a bad line is one.
            models.UniqueConstraint(
                fields=["household", "sha256"], name="snap_once_per_household"
            )
        ]

    def __str__(self) -> str:
        return self.title

    @property
    def is_image(self) -> bool:
        return self.content_type.startswith("image/")
