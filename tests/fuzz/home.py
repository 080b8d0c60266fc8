"""A household that has a little of everything, so that every kind of page is there."""

from datetime import date, timedelta
from decimal import Decimal
from uuid import uuid4

from django.utils import timezone

from maintenance.components.models import Component, Fitting
from maintenance.exchange.imports.files import source_of_text
from maintenance.exchange.services import begin
from maintenance.findings.services import open_finding
from maintenance.households.models import Household, Member, Role
from maintenance.packets.services import ask_for_history
from maintenance.plans.models import OwnProcedure
from maintenance.plans.services import take_on
from maintenance.reminders.models import Digest
from maintenance.service_records.models import Attachment
from maintenance.service_records.work import Line
from maintenance.supplies.models import Supply, Tool
from maintenance.vehicles.models import Event, Manual, Rig, ScaleTicket, Stay, Trip
from maintenance.walkrounds.models import WalkRound
from tests import builders
from tests.builders import TODAY

ITEMS = ("engine_oil", "tire_rotate", "lug_recheck", "brake_fluid")
ROWS = (
    "Date,Odometer,Work,Total\n2024-05-01,30000,Oil changed,80\n2025-05-02,x,Tires,\n"
)
FILE = {"stored": "x.pdf", "size": 1, "sha256": "0" * 64}


def make_home(name: str) -> list[Member]:
    """Its keeper, crew and viewer."""
    household = builders.make_household(name=name)
    roles = (Role.KEEPER, Role.CREW, Role.VIEWER)
    members = [builders.make_member(household, role) for role in roles]
    furnish(members[0], name)
    return members


def furnish(keeper: Member, name: str) -> None:
    """Two rigs with a little of everything."""
    household = keeper.household
    rig = builders.make_rig(household, name=f"{name} motorhome")
    trailer = builders.make_rig(
        household,
        name=f"{name} trailer",
        kind="travel_trailer",
        wheels="trailer_two",
        meter={"kind": "towed", "unit": "mi"},
    )
    for days, value in ((200, 40_000), (100, 41_500), (3, 42_395)):
        builders.make_reading(rig, TODAY - timedelta(days=days), value)
    take_on(rig, by=keeper, today=TODAY, keys=ITEMS)
    _history(rig, trailer, keeper)
    _belongings(household, rig)
    _on_paper(rig, keeper)


def _history(rig: Rig, trailer: Rig, keeper: Member) -> None:
    item = rig.plan_items.get(key="engine_oil")
    for days in (40, 0):
        lines = [Line(title=item.title, item=item)]
        on = TODAY - timedelta(days=days)
        builders.log_work(rig, by=keeper, today=on, lines=lines)
    Stay.objects.create(rig=rig, start=date(2025, 11, 5), ended_on=date(2026, 3, 1))
    Stay.objects.create(rig=trailer, start=TODAY)
    Trip.objects.create(
        rig=rig, start=TODAY + timedelta(days=20), end=TODAY + timedelta(days=30)
    )
    Event.objects.create(
        rig=rig,
        kind="wheel_off",
        on=TODAY - timedelta(days=2),
        values={"odometer": "42310"},
    )
    open_finding(rig, by=keeper, on=TODAY, what="Crack", zone="roof")
    WalkRound.objects.create(rig=rig, started_on=TODAY)
    ScaleTicket.objects.create(rig=rig, on=TODAY, unit="lb", steer=3000, drive=3000)


def _belongings(household: Household, rig: Rig) -> None:
    Tool.objects.create(household=household, kind="other", name="Ladder")
    Tool.objects.create(
        household=household,
        kind="torque_wrench",
        name="Long one",
        drive="1/2",
        unit="ft-lb",
        full_scale=Decimal(150),
    )
    Supply.objects.create(household=household, name="Oil filter", stock=1)
    for place in rig.places[:2]:
        tire = Component.objects.create(
            household=household, rig=rig, kind="tire", place=place, made="2020-03-01"
        )
        Fitting.objects.create(
            component=tire, rig=rig, place=place, start=date(2020, 5, 1)
        )
    Component.objects.create(household=household, rig=rig, kind="alarm", made="2019-05")
    OwnProcedure.objects.create(
        household=household,
        title="Check the bike rack",
        system="body-doors",
        who="owner",
        minutes=10,
        steps=["Shake it."],
        triggers=[{"before_trip": {}}],
        written_on=TODAY,
    )


def _on_paper(rig: Rig, keeper: Member) -> None:
    record = rig.records.first()
    Manual.objects.create(
        rig=rig, title="Chassis book", content_type="application/pdf", **FILE
    )
    Attachment.objects.create(
        rig=rig,
        record=record,
        form_token=uuid4(),
        title="invoice.pdf",
        content_type="application/pdf",
        **FILE,
    )
    begin(rig, by=keeper, source=source_of_text("Pasted rows", ROWS))
    ask_for_history(rig, by=keeper, today=TODAY)
    Digest.objects.create(
        member=keeper,
        key=f"digest:{keeper.pk}",
        day=TODAY,
        subject="What is due",
        text="What is due",
        html="<p>What is due</p>",
        made_at=timezone.now(),
    )
