"""Who may open what: every page for a stranger, a viewer, crew and a keeper."""

from uuid import uuid4

import pytest
from django.urls import get_resolver, reverse
from django.utils import timezone

from maintenance.components.models import Component
from maintenance.findings.models import Finding
from maintenance.households.models import Role
from maintenance.plans.models import OwnProcedure
from maintenance.reminders.models import Digest
from maintenance.service_records.models import Attachment, ServiceRecord
from maintenance.supplies.models import Supply, Tool
from maintenance.vehicles.models import Event, Manual, ScaleTicket, Stay, Trip
from maintenance.walkrounds.models import WalkRound
from tests import builders

LOOK, LOG, KEEP = Role.VIEWER, Role.CREW, Role.KEEPER

# URL name -> (the object it is about, the role that it needs)
PAGES = {
    "due": (None, LOOK),
    "rigs": (None, LOOK),
    "search": (None, LOOK),
    "costs": (None, LOOK),
    "sittings": (None, LOOK),
    "weights": ("rig", LOOK),
    "weight_label": ("rig", KEEP),
    "add_ticket": ("rig", LOG),
    "change_ticket": ("ticket", LOG),
    "log": (None, LOOK),
    "snaps": (None, LOG),
    "storage": (None, LOOK),
    "trips": (None, LOOK),
    "household": (None, LOOK),
    "myself": (None, LOOK),
    "rig": ("rig", LOOK),
    "rig_use": ("rig", LOOK),
    "item": ("item", LOOK),
    "record": ("record", LOOK),
    "give_reading": ("rig", LOG),
    "fit_hub_meter": ("rig", KEEP),
    "replace_meter": ("rig", LOG),
    "record_work": ("rig", LOG),
    "report_event": ("rig", LOG),
    "rig_events": ("rig", LOOK),
    "correct_event": ("event", LOG),
    "correct_fact": ("trip", LOG),
    "withdraw_fact": ("trip", LOG),
    "start_stay": ("rig", LOG),
    "plan_trip": ("rig", LOG),
    "change_stay": ("stay", LOG),
    "stay": ("stay", LOOK),
    "visit_stay": ("stay", LOG),
    "runways": ("rig", LOG),
    "end_stay": ("stay", LOG),
    "trip": ("trip", LOOK),
    "change_trip": ("trip", LOG),
    "tell_trip": ("trip", LOG),
    "defer": ("item", LOG),
    "void_record": ("record", LOG),
    "same_record": ("record", LOG),
    "amend_record": ("record", LOG),
    "rig_chain": ("rig", LOOK),
    "add_rig": (None, KEEP),
    "change_rig": ("rig", KEEP),
    "sell_rig": ("rig", KEEP),
    "severe_duty": ("rig", KEEP),
    "add_meter": ("rig", KEEP),
    "rig_equipment": ("rig", KEEP),
    "propose_plan": ("rig", KEEP),
    "rig_plan": ("rig", LOOK),
    "library": (None, LOOK),
    "baselines": ("rig", KEEP),
    "write_procedure": ("rig", KEEP),
    "change_procedure": ("own", KEEP),
    "change_rules": ("item", KEEP),
    "maker_figure": ("item", KEEP),
    "state_baseline": ("item", KEEP),
    "drop_item": ("item", KEEP),
    "accept_finding": ("finding", LOG),
    "walkrounds": (None, LOOK),
    "walkround": ("walkround", LOOK),
    "finish_walkround": ("walkround", LOG),
    "findings": (None, LOOK),
    "finding": ("finding", LOOK),
    "add_finding": ("rig", LOG),
    "judge_finding": ("finding", LOG),
    "plan_finding": ("finding", KEEP),
    "shop_list": ("rig", LOOK),
    "shop_sheet": ("rig", LOG),
    "parts": ("rig", LOOK),
    "part": ("part", LOOK),
    "add_part": (("rig", "tire"), LOG),
    "change_part": ("part", LOG),
    "move_part": (("part", "rig"), LOG),
    "put_part_aside": ("part", LOG),
    "tires": ("rig", LOOK),
    "rotate_tires": ("rig", LOG),
    "axle_ratings": ("rig", KEEP),
    "manuals": ("rig", LOOK),
    "manual": ("manual", LOOK),
    "add_manual": ("rig", LOG),
    "note_page": ("manual", LOG),
    "rig_spots": ("rig", LOOK),
    "tell_spot": (("rig", "water_pump"), LOG),
    "point_to_page": ("item", LOG),
    "paper_date": ("item", LOG),
    "use_supply": ("item", LOG),
    "supplies": (None, LOOK),
    "asked_for": (None, LOG),
    "add_tool": ((None, "torque_wrench"), LOG),
    "change_tool": ("tool", LOG),
    "add_supply": (None, LOG),
    "change_supply": ("supply", LOG),
    "buy_supply": ("supply", LOG),
    "change_household": (None, KEEP),
    "seasons": (None, KEEP),
    "climate": (None, KEEP),
    "status": (None, KEEP),
    "add_member": (None, KEEP),
}
# The kind stands before the id; that of severe duty is a keeper's, see its own tests.
FACTS = {"correct_fact", "withdraw_fact"}
# Changes by POST alone, each tested beside its service.
POSTS = {
    "undo_record",
    "settle_reading",
    "confirm_hub_meter",
    "park_rig",
    "no_hub_meter",
    "cancel_trip",
    "remove_ticket",
    "print_trip",
    "fix_finding",
    "reopen_finding",
    "set_for_shop",
    "start_walkround",
    "keep_look",
    "walk_photo",
    "settle_offer",
    "part_with",
    "proof",
    "snap",
    "sort_snaps",
    "take_apart",
    "use_chart",
    "costs_chart",
    "print_shop_sheet",
    "print_stay",
    "runway_chart",
    "keep_sheet",
    "remove_manual",
    "manual_file",
    "remove_note",
    "spot_photo",
    "remove_page",
    "stop_using",
    "take_back",
    "remove_tool",
    "remove_supply",
}
# Without a member: first run, login and what belongs to it; health has its own tests.
OPEN = {"first_run", "login", "logout", "no_household", "health"}
# Whose own tests hold the same rule.
ELSEWHERE = (
    "maintenance.calculators",
    "maintenance.exchange",
    "maintenance.reminders",
    "maintenance.packets",
    "maintenance.troubleshooting",
)
RANK = [Role.VIEWER, Role.CREW, Role.KEEPER]


@pytest.fixture
def household(db):
    return builders.make_household()


@pytest.fixture
def objects(household):
    rig = builders.make_rig(household)
    item = builders.make_item(rig)
    record = ServiceRecord.objects.create(
        rig=rig, on=builders.TODAY, doer="Me", currency="USD"
    )
    stay = Stay.objects.create(rig=rig, start=builders.TODAY)
    ticket = ScaleTicket.objects.create(
        rig=rig, on=builders.TODAY, unit="lb", steer=3000, drive=3000
    )
    event = Event.objects.create(rig=rig, kind="hail", on=builders.TODAY)
    trip = Trip.objects.create(rig=rig, start=builders.TODAY, end=builders.TODAY)
    finding = Finding.objects.create(rig=rig, what="Crack", found_on=builders.TODAY)
    walkround = WalkRound.objects.create(rig=rig, started_on=builders.TODAY)
    own = OwnProcedure.objects.create(
        household=household,
        title="Check the bike rack",
        system="body-doors",
        who="owner",
        minutes=10,
        steps=["Shake it."],
        triggers=[{"before_trip": {}}],
        written_on=builders.TODAY,
    )
    manual = Manual.objects.create(
        rig=rig,
        title="Chassis book",
        content_type="application/pdf",
        stored="x.pdf",
        size=1,
        sha256="0" * 64,
    )
    tool = Tool.objects.create(household=household, kind="other", name="Ladder")
    supply = Supply.objects.create(household=household, name="Oil filter", stock=1)
    part = Component.objects.create(household=household, rig=rig, kind="alarm")
    return {
        "part": part,
        "ticket": ticket,
        "event": event,
        "manual": manual,
        "tool": tool,
        "supply": supply,
        "rig": rig,
        "item": item,
        "record": record,
        "stay": stay,
        "trip": trip,
        "finding": finding,
        "walkround": walkround,
        "own": own,
    }


def url_of(name, objects):
    if name in FACTS:
        return reverse(name, args=["trip", objects["trip"].pk])
    about = PAGES[name][0]
    about, *more = about if isinstance(about, tuple) else (about,)
    found = objects.get(about)
    ids = [found.key if about == "manual" else found.pk] if found else []
    more = [objects[one].pk if one in objects else one for one in more]
    return reverse(name, args=[*ids, *more])


def is_about_something(name):
    about = PAGES[name][0]
    return (about[0] if isinstance(about, tuple) else about) is not None


@pytest.mark.parametrize("name", PAGES)
@pytest.mark.parametrize("role", RANK)
def test_page_opens_for_roles_that_reach(name, role, household, objects, client_as):
    member = builders.make_member(household, role)
    allowed = RANK.index(role) >= RANK.index(PAGES[name][1])

    answer = client_as(member).get(url_of(name, objects))

    assert answer.status_code == (200 if allowed else 403)


@pytest.mark.parametrize("name", list(filter(is_about_something, PAGES)))
def test_page_of_another_household_is_not_found(name, objects, client_as):
    stranger = builders.make_member(role=Role.KEEPER)

    answer = client_as(stranger).get(url_of(name, objects))

    assert answer.status_code == 404


@pytest.mark.parametrize("name", PAGES)
def test_page_sends_who_is_not_logged_in_to_the_login(name, objects, client):
    answer = client.get(url_of(name, objects))

    assert answer.status_code == 302
    assert answer["Location"].startswith(reverse("login"))


def test_member_who_left_is_told_so(household, client_as):
    member = builders.make_member(household, left_on=builders.TODAY)

    answer = client_as(member).get(reverse("due"), follow=True)

    assert answer.status_code == 403
    assert "You belong to no household" in answer.content.decode()


def test_proof_of_another_household_is_not_found(objects, client_as):
    kept = Attachment.objects.create(
        rig=objects["rig"],
        record=objects["record"],
        form_token=uuid4(),
        title="invoice.pdf",
        content_type="application/pdf",
        stored="x.pdf",
        size=1,
        sha256="0" * 64,
    )
    stranger = client_as(builders.make_member())

    assert stranger.get(reverse("proof", args=[kept.key])).status_code == 404


@pytest.mark.parametrize("role", RANK)
def test_mail_opens_for_its_addressee_alone(role, household, client_as):
    """A role opens nobody else's mail; a keeper sees how it went, without its words."""
    reader = builders.make_member(household, role)
    other = builders.make_member(household, Role.KEEPER)
    own, theirs = (
        Digest.objects.create(
            member=member,
            key=f"digest:{member.pk}",
            day=builders.TODAY,
            subject="What is due",
            text="/answer/ of this person",
            html="/answer/ of this person",
            made_at=timezone.now(),
        )
        for member in (reader, other)
    )
    client = client_as(reader)

    for name in ("one_mail", "formatted_mail"):
        assert "/answer/" in client.get(reverse(name, args=[own.pk])).text
        answer = client.get(reverse(name, args=[theirs.pk]))
        known = role == Role.KEEPER and name == "one_mail"
        assert answer.status_code == (200 if known else 404)
        assert "/answer/" not in answer.text
        assert "What is due" not in answer.text


def test_every_url_name_is_in_one_of_the_lists_above():
    ours = {
        pattern.name
        for include in get_resolver().url_patterns
        for pattern in getattr(include, "url_patterns", [include])
        if not pattern.callback.__module__.startswith(ELSEWHERE)
    }

    assert ours == set(PAGES) | POSTS | OPEN
