"""What has been told so far, and to whom."""

from collections import defaultdict
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta

from maintenance.components.models import Component
from maintenance.findings.models import Finding
from maintenance.households.models import Household, Member
from maintenance.plans.models import PlanItem
from maintenance.service_records.models import ServiceRecord
from maintenance.vehicles.models import Rig

from .story import RigStory, Story


@dataclass
class Told:
    story: Story
    as_of: date
    household: Household
    members: Mapping[str, Member]  # by role
    rigs: dict[str, Rig] = field(default_factory=dict)
    items: dict[tuple[str, str], PlanItem] = field(default_factory=dict)
    of_parts: defaultdict[tuple[str, str], list[PlanItem]] = field(
        default_factory=lambda: defaultdict(list)
    )
    findings: dict[str, Finding] = field(default_factory=dict)
    records: dict[str, ServiceRecord] = field(default_factory=dict)
    parts: dict[str, Component] = field(default_factory=dict)
    # Entered on another day than that of the work.
    late: dict[ServiceRecord, date] = field(default_factory=dict)
    deferred: dict[PlanItem, date] = field(default_factory=dict)

    def on(self, day: int) -> date:
        return self.as_of + timedelta(days=day)

    def rig(self, rig: RigStory) -> Rig:
        return self.rigs[rig.key]

    def item(self, rig: RigStory, key: str) -> PlanItem:
        return self.items[rig.key, key]

    def items_of(self, rig: RigStory, key: str) -> list[PlanItem]:
        """One for each of the parts that are on the rig by now, else the rig's own."""
        return self.of_parts[rig.key, key] or [self.item(rig, key)]


@dataclass(frozen=True)
class Step:
    """What is told on a day; `order` puts the steps of one day in a row."""

    day: int
    order: int
    tell: Callable[[date], object]
