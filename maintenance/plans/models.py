"""The plan of a rig: items with their rules, completions, deferrals and standings."""

from datetime import date
from decimal import Decimal

from django.db import models
from django.db.models import F, Q

from maintenance.components.models import Component
from maintenance.core.facts import MeterPoint, Pending, Point, Window, WindowDates
from maintenance.core.triggers import FOLLOW_UPS
from maintenance.households.models import Household, Member
from maintenance.households.row_keys import row_key_field
from maintenance.library.reading import load_library
from maintenance.plans.stored import (
    forecast_from_data,
    pending_from_data,
    window_from_data,
)
from maintenance.supplies.models import Supply
from maintenance.ui.words import day_words
from maintenance.vehicles.models import Manual, Meter, MeterKind, Rig, value_field


class Outcome(models.TextChoices):
    DONE = "done", "Done"
    SERVICEABLE = "serviceable", "Looked at, serviceable"
    HELD = "held", "Checked, held"
    MOVED = "moved", "Checked, a fastener had moved"
    FAULT_FOUND = "fault_found", "Fault found"
    NOT_DONE = "not_done", "Not done"


OWN_KEY = "own_"
WARRANTY_KEY = "warranty_"  # items that a record puts on the plan

COMPLETING = {Outcome.DONE, Outcome.SERVICEABLE, Outcome.HELD, Outcome.MOVED}


class BaselineKind(models.TextChoices):
    NONE = "none", "Nothing known"
    IN_SERVICE = "in_service", "Counted from the day the rig entered service"
    STATED = "stated", "Done before, as stated"


class RulesFrom(models.TextChoices):
    """Whose rules an item counts by."""

    LIBRARY = "library", "The library"
    MAKER = "maker", "The maker's book"
    OWN = "own", "Your own"


class StandingName(models.TextChoices):
    OVERDUE = "overdue", "Overdue"
    DUE = "due", "Due"
    SOON = "soon", "Coming"
    LATER = "later", "Later"
    WAITING = "waiting", "Waiting"
    UNKNOWN = "unknown", "No record yet"
    SETTLED = "settled", "Finished"


PART_IS_THERE = Q(component__isnull=True) | Q(component__rig=F("rig"))


class PlanItemQuerySet(models.QuerySet["PlanItem"]):
    def for_household(self, household: Household) -> "PlanItemQuerySet":
        return self.filter(rig__household=household)

    def active(self) -> "PlanItemQuerySet":
        """Items still on the plan of a rig that is still kept, and not of a part that
        was put aside."""
        rows = self.filter(dropped_on__isnull=True, rig__sold_on__isnull=True)
        return rows.filter(PART_IS_THERE)

    def on_rig(self, rig: Rig) -> "PlanItemQuerySet":
        """Those on its plan, and those that were left out or dropped there; of parts
        only those that are on it."""
        return self.filter(PART_IS_THERE, rig=rig)


def short_title(key: str, title: str) -> str:
    """What a job is called where space is tight: the library's short name, with the
    part that it goes with; its own words where it is called otherwise."""
    procedure = load_library().procedures.get(key)
    if procedure is None:
        return title
    named, called, part = title.partition(procedure.title)
    return f"{procedure.short}{part}" if called and not named else title


class PlanItem(models.Model):
    """A procedure taken on by a rig or a component. `triggers` has the form of a case
    file. `rig` is the one that the component is on, or was last.

    `library_triggers` are the procedure's rules when the owner last saw them, so that a
    change can be offered; None: taken on before that was kept, nothing is offered.
    """

    row_key = row_key_field()
    rig = models.ForeignKey(Rig, on_delete=models.CASCADE, related_name="plan_items")
    component = models.ForeignKey(
        Component, on_delete=models.CASCADE, null=True, related_name="plan_items"
    )
    key = models.SlugField(max_length=60)
    title = models.CharField("title", max_length=120)
    system = models.SlugField(max_length=30)
    triggers = models.JSONField(default=list)
    rules_from = models.CharField(
        max_length=7, choices=RulesFrom.choices, default=RulesFrom.LIBRARY
    )
    library_triggers = models.JSONField(null=True, blank=True)
    safety = models.BooleanField(default=False)
    unfit = models.BooleanField(
        "overdue, it makes the rig unfit to travel", default=False
    )
    anchored = models.BooleanField(default=False)
    once = models.BooleanField(default=False)
    baseline = models.CharField(
        max_length=10, choices=BaselineKind.choices, default=BaselineKind.NONE
    )
    baseline_on = models.DateField(null=True, blank=True)
    baseline_values = models.JSONField(default=dict, blank=True)
    # The owner has said what is known of the time before, be it nothing.
    baseline_asked_on = models.DateField(null=True, blank=True)
    taken_on = models.DateField("taken on")
    dropped_on = models.DateField(null=True, blank=True)
    why_dropped = models.CharField(max_length=200, blank=True)

    objects = PlanItemQuerySet.as_manager()

    class Meta:
        ordering = ["system", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["rig", "key"],
                condition=Q(component__isnull=True),
                name="plan_item_once_per_rig",
            ),
            models.UniqueConstraint(
                fields=["component", "key"], name="plan_item_once_per_component"
            ),
            models.CheckConstraint(
                condition=~Q(baseline="stated") | Q(baseline_on__isnull=False),
                name="stated_baseline_has_day",
            ),
        ]

    def __str__(self) -> str:
        return self.title

    @property
    def short(self) -> str:
        return short_title(self.key, self.title)

    @property
    def is_warranty(self) -> bool:
        """A reminder that a record put on the plan, and no work."""
        return self.key.startswith(WARRANTY_KEY)


class Completion(models.Model):
    """An item's work done; a record line points here. Withdrawn ones count no more."""

    item = models.ForeignKey(
        PlanItem, on_delete=models.CASCADE, related_name="completions"
    )
    on = models.DateField("on")
    until = models.DateField("until", null=True, blank=True)
    values = models.JSONField(default=dict, blank=True)  # meter kind -> "42310.0"
    outcome = models.CharField(max_length=11, choices=Outcome.choices)
    places = models.JSONField(null=True, blank=True)  # None: all places
    withdrawn = models.BooleanField(default=False, editable=False)
    entered_at = models.DateTimeField(auto_now_add=True)
    entered_by = models.ForeignKey(Member, on_delete=models.SET_NULL, null=True)

    class Meta:
        ordering = ["on", "pk"]
        indexes = [models.Index(fields=["item", "on"])]

    def __str__(self) -> str:
        return f"{self.item}: {self.outcome} on {day_words(self.on)}"


class Deferral(models.Model):
    """Put off until a day or a reading, with the reason. The standing stays."""

    item = models.ForeignKey(
        PlanItem, on_delete=models.CASCADE, related_name="deferrals"
    )
    until = models.DateField("until", null=True, blank=True)
    until_value = value_field("until the meter shows", null=True, blank=True)
    until_meter = models.CharField(max_length=9, choices=MeterKind.choices, blank=True)
    why = models.CharField("why", max_length=200)
    made_at = models.DateTimeField(auto_now_add=True)
    made_by = models.ForeignKey(Member, on_delete=models.SET_NULL, null=True)
    ended = models.BooleanField(default=False)
    # The day on which it ran out by itself; empty when somebody took it back.
    ended_on = models.DateField(null=True, blank=True)

    class Meta:
        ordering = ["-made_at"]
        constraints = [
            models.CheckConstraint(
                condition=Q(until__isnull=False, until_value__isnull=True)
                | Q(until__isnull=True, until_value__isnull=False),
                name="deferral_has_one_end",
            ),
            models.UniqueConstraint(
                fields=["item"], condition=Q(ended=False), name="one_deferral_per_item"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.item} deferred"

    @property
    def point(self) -> Point:
        """Until when, as the core takes it."""
        return self.until or MeterPoint(self.until_meter, self.until_value)


class Standing(models.Model):
    """Where an item stands, as reckoned on `as_of`; never written by hand.

    `result` is the item of `manage.py reckon`'s output without its sentences, read by
    `window`, `pending`, `forecast` and `unit` alone; `why` holds the facts behind it as
    [key, values]. The columns beside it are what lists sort and filter on.
    """

    item = models.OneToOneField(
        PlanItem, on_delete=models.CASCADE, related_name="standing"
    )
    as_of = models.DateField()
    standing = models.CharField(max_length=8, choices=StandingName.choices)
    unfit = models.BooleanField(default=False)  # by whatever
    unfit_by = models.CharField(max_length=8, blank=True)
    not_legal = models.BooleanField(default=False)
    expected = models.BooleanField(default=False)
    governing = models.CharField(max_length=16, blank=True)
    opens_on = models.DateField(null=True)  # by its date, else its likely date
    closes_on = models.DateField(null=True)
    rank = models.PositiveSmallIntegerField(default=99)  # order on Due
    result = models.JSONField(default=dict)
    why = models.JSONField(default=list)

    # The item's open deferral, if any; `queries.standings_of` alone puts it here.
    deferred_until: date | None = None
    deferred_until_value: Decimal | None = None
    deferred_unit: str | None = None  # that of its meter
    deferred_why: str | None = None
    deferred_by: str | None = None

    class Meta:
        indexes = [
            models.Index(fields=["rank", "closes_on"]),
            models.Index(fields=["standing", "opens_on"]),
        ]

    def __str__(self) -> str:
        return f"{self.item}: {self.standing}"

    @property
    def window(self) -> Window | None:
        return window_from_data(self.result.get("window"))

    @property
    def unit(self) -> str:
        """That of the meter its window is on."""
        return self.result.get("unit", "")

    @property
    def pending(self) -> tuple[Pending, ...]:
        return pending_from_data(self.result.get("pending", ()))

    @property
    def forecast(self) -> WindowDates | None:
        """When a window on a meter will likely be reached."""
        return forecast_from_data(self.result.get("forecast"))

    @property
    def is_check_ahead(self) -> bool:
        """A safety check that an event raised some miles ahead. A new rig gives no day
        for it, yet who drives off today has to know."""
        window = self.window
        on_a_meter = window is not None and isinstance(window.opens, MeterPoint)
        later = self.standing == StandingName.LATER and self.item.safety
        return later and self.governing in FOLLOW_UPS and on_a_meter


class MeterHabit(models.Model):
    """What was learned last of a meter's use, kept to be handed to the next reckoning.

    Derived, as standings are: without the row, or with a key that no longer fits, the
    same is learned anew (`core/forecast/kept.py`).
    """

    meter = models.OneToOneField(Meter, on_delete=models.CASCADE, related_name="habit")
    key = models.CharField(max_length=64)
    learned = models.TextField()

    def __str__(self) -> str:
        return f"habit of {self.meter}"


class MakerFigure(models.Model):
    """What the maker's book says of an item, and where. Its interval is the item's own
    rules while `rules_from` says so; the figures are for the work itself."""

    item = models.OneToOneField(
        PlanItem, on_delete=models.CASCADE, related_name="maker"
    )
    document = models.CharField("book or placard", max_length=120)
    page = models.CharField("page", max_length=20, blank=True)
    note = models.TextField("what else it says", max_length=1000, blank=True)
    entered_on = models.DateField()
    entered_by = models.ForeignKey(Member, on_delete=models.SET_NULL, null=True)

    def __str__(self) -> str:
        return f"{self.document}, {self.page}" if self.page else self.document


class MakerValue(models.Model):
    """One figure of the maker's book; with `up_to` it is a range."""

    maker = models.ForeignKey(
        MakerFigure, on_delete=models.CASCADE, related_name="values"
    )
    name = models.CharField("of what", max_length=60)
    value = models.DecimalField("figure", max_digits=12, decimal_places=4)
    up_to = models.DecimalField(
        "up to", max_digits=12, decimal_places=4, null=True, blank=True
    )
    unit = models.CharField("unit", max_length=12)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["maker", "name"], name="maker_value_once_per_name"
            ),
            models.CheckConstraint(
                condition=Q(up_to__isnull=True) | Q(up_to__gt=F("value")),
                name="maker_value_range_rises",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.name}: {self.value} {self.unit}"


class OwnProcedure(models.Model):
    """A procedure that a household wrote; used like one of the library.

    Its `triggers` are as in a library file: the meter of a distance is `distance`.
    """

    household = models.ForeignKey(
        Household, on_delete=models.CASCADE, related_name="own_procedures"
    )
    title = models.CharField("title", max_length=120)
    system = models.SlugField("belongs to", max_length=30)
    why = models.CharField("why it matters", max_length=400)
    who = models.CharField("who does it", max_length=15)
    minutes = models.PositiveSmallIntegerField("minutes")
    safety = models.BooleanField("left undone it can hurt people", default=False)
    unfit = models.CharField(
        "what, when found, makes the rig unfit to travel", max_length=200, blank=True
    )
    unfit_when_overdue = models.BooleanField(default=False)
    cautions = models.JSONField(default=list, blank=True)
    steps = models.JSONField(default=list)
    tools = models.JSONField(default=list, blank=True)
    supplies = models.JSONField(default=list, blank=True)
    triggers = models.JSONField(default=list, blank=True)
    anchored = models.BooleanField(default=False)
    once = models.BooleanField(default=False)
    raises = models.JSONField(default=list, blank=True)
    renews = models.JSONField(default=list, blank=True)
    measures = models.JSONField(default=list, blank=True)
    written_on = models.DateField()
    written_by = models.ForeignKey(Member, on_delete=models.SET_NULL, null=True)

    class Meta:
        ordering = ["system", "title", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["household", "title"], name="own_procedure_title_once"
            )
        ]

    def __str__(self) -> str:
        return self.title

    @property
    def key(self) -> str:
        """Its name on plan items; no procedure of the library is called so."""
        return f"{OWN_KEY}{self.pk}"


class ItemPage(models.Model):
    """The page of a manual on which the maker says how an item's work is done."""

    item = models.ForeignKey(PlanItem, on_delete=models.CASCADE, related_name="pages")
    manual = models.ForeignKey(Manual, on_delete=models.CASCADE, related_name="items")
    page = models.PositiveIntegerField("page", default=1)

    class Meta:
        ordering = ["manual__title", "page", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["item", "manual", "page"], name="item_page_once"
            )
        ]

    def __str__(self) -> str:
        return f"{self.manual}, p. {self.page}"


class ItemSupply(models.Model):
    """What an item's work uses up each time; `asked` is what the procedure calls it."""

    item = models.ForeignKey(
        PlanItem, on_delete=models.CASCADE, related_name="supplies"
    )
    supply = models.ForeignKey(Supply, on_delete=models.CASCADE, related_name="items")
    asked = models.CharField(max_length=200, blank=True)
    amount = models.DecimalField("each time", max_digits=8, decimal_places=2)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["item", "supply"], name="item_supply_once"),
            models.CheckConstraint(
                condition=Q(amount__gt=0), name="item_supply_takes_something"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.supply} for {self.item}"
