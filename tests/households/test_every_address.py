"""Every address, who asks, and how: generated from the URL table: a page without a rule
fails, and so does one that answers otherwise than its rule.

Addresses and the fields of their forms are taken from the pages as a keeper sees them,
so that what is posted is what a browser would post.
"""

from dataclasses import dataclass
from itertools import cycle
from random import Random
from typing import Any
from unittest import mock
from uuid import uuid4

import pytest
from django.db import connection, transaction
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from maintenance.exchange.exports.making import ask_for_export
from maintenance.exchange.models import ExportJob, ImportJob
from maintenance.households import one_time_links
from maintenance.households.models import Member, Role
from maintenance.packets.models import Packet
from maintenance.plans.models import OwnProcedure, PlanItem
from maintenance.reminders.models import Digest
from maintenance.service_records.models import UnfiledPhoto
from maintenance.vehicles.models import Reading, Rig, Trip
from tests import builders
from tests.fuzz.home import FILE, make_home
from tests.fuzz.walk import Address, Walker, table

VIEWER, CREW, KEEPER, FOUNDER = RANKS = ("viewer", "crew", "keeper", "founder")
OPEN = "open"  # to anybody: first run, login, links whose own token lets in

# Who may open an address and post to it, by its name.
NAMES = {
    OPEN: """
        first_run login logout no_household health use_link stop_mail answer answered
        calendar_feed
    """,
    VIEWER: """
        due rigs search costs sittings log storage trips household
        myself set_theme seals
        change_password logins end_login end_logins library findings walkrounds
        supplies rig rig_use use_chart rig_events rig_chain rig_plan rig_spots item
        record saved weights stay trip walkround walk_photo finding shop_list
        parts part tires manuals manual manual_file spot_photo rig_photo proof
        trouble guide trouble_sheet bench calculator
        mail calendar new_calendar_address no_calendar one_mail formatted_mail
        use_address_again packets preview_history packet packet_file
    """,
    CREW: """
        record_for record_work record_jobs report_event correct_event
        correct_fact withdraw_fact
        correct_fitting withdraw_fitting same_record take_apart amend_record
        undo_record void_record give_reading settle_reading
        replace_meter log_run say_not_towed left_storage park_rig start_stay change_stay
        visit_stay end_stay runways plan_trip change_trip tell_trip cancel_trip
        add_ticket change_ticket
        remove_ticket shop_sheet print_shop_sheet print_trip print_stay
        add_part change_part move_part put_part_aside rotate_tires
        add_manual note_page remove_note point_to_page remove_page tell_spot
        add_supply change_supply buy_supply remove_supply add_tool change_tool
        remove_tool use_supply stop_using asked_for paper_date defer keep_sheet
        snaps sort_snaps snap add_finding judge_finding set_for_shop fix_finding
        reopen_finding accept_finding start_walkround finish_walkround keep_look
        tell_cause keep_figure drop_figure ask_for_history stop_packet remove_packet
        bring_in bringing bringing_columns bringing_answers stop_bringing
        forget_bringing
    """,
    KEEPER: """
        change_household seasons climate invite one_time_link withdraw_link change_role
        offer_new_password part_with add_rig change_rig sell_rig take_back add_meter
        fit_hub_meter no_hub_meter confirm_hub_meter severe_duty axle_ratings
        weight_label rig_equipment propose_plan baselines state_baseline write_procedure
        change_procedure change_rules maker_figure settle_offer drop_item plan_finding
        remove_manual void_bringing take_out export stop_export export_file
    """,
    FOUNDER: """
        status clock download_backup hand_on test_mail set_up_mail forget_mail_server
    """,
}
RULES = {name: rank for rank, names in NAMES.items() for name in names.split()}
# The same for everybody who is logged in: nothing of a household is named in them.
SHARED = {
    "library", "guide", "trouble_sheet", "tell_cause", "calculator", "keep_figure",
    "add_tool", "record_for",
}  # fmt: skip
# Of one's own person: there is none of somebody else's under these addresses.
OWN = {"end_login"}
# What this household has none of, or not for everybody, so that members are told so.
LACKING = {
    "manual_file", "spot_photo", "rig_photo", "proof", "snap", "walk_photo",
    "use_chart",
    "packet_file", "export_file", "remove_note", "remove_page",
    "stop_using",
    "drop_figure", "use_address_again", "one_mail", "formatted_mail",
    "take_apart", "trouble_sheet",
}  # fmt: skip
METHODS = ("GET", "POST", "PUT", "DELETE")
SENT_BY_ALL = ("anonymous",)  # the others send the first two
# A keeper also posts what makes no sense, and after others changed what there is.
ODD, OVERTAKEN = "POST with odd values", "POST after others were here"
ODD_VALUES = ("\N{SUPERSCRIPT TWO}", "\N{ARABIC-INDIC DIGIT THREE}", "9" * 40)
WRITING = ("INSERT", "UPDATE", "DELETE")
# Who is logged in, and tries that failed, are noted whoever asks.
NOTED = ("households_loginsession", "axes_")


@dataclass
class Asked:
    """One address with the body that a browser would send there."""

    name: str
    url: str
    body: dict[str, str]


def test_every_address_has_a_rule():
    names = {address.name for address in table().values()}

    assert names == set(RULES)


@pytest.mark.django_db
@pytest.mark.either_database
def test_every_address_for_everybody_by_every_method(clock):
    clock("2026-05-04 09:00", "America/Denver")
    keeper, crew, viewer = make_home("Alder")
    stranger = make_home("Birch")[0]
    _belongings(keeper)
    founder = builders.make_member(keeper.household, Role.KEEPER, founder=True)
    asked = _addresses(founder, stranger)
    actors = {
        "anonymous": Client(),
        "stranger": _browser(stranger),
        VIEWER: _browser(viewer),
        CREW: _browser(crew),
        KEEPER: _browser(keeper),
        FOUNDER: _browser(founder),
    }

    wrong = [
        f"{who} {method} {one.url} ({one.name}): {words}"
        for one in asked
        for who, browser in actors.items()
        # A keeper may do what crew may: asked of one of them.
        if who != KEEPER or RULES[one.name] in {KEEPER, FOUNDER}
        for method in _methods(who)
        if (words := _wrong(one, who, method, browser))
    ]

    assert not wrong, "\n".join(wrong)


def _methods(who: str) -> tuple[str, ...]:
    if who in SENT_BY_ALL:
        return METHODS
    return (*METHODS[:2], ODD, OVERTAKEN) if who == KEEPER else METHODS[:2]


def _browser(member: Member) -> Client:
    client = Client(raise_request_exception=False)
    client.force_login(member.user, "django.contrib.auth.backends.ModelBackend")
    client.get(reverse("no_household"))  # the login is noted: no later page writes it
    return client


def _belongings(keeper: Member) -> None:
    """What the household of the other walk lacks."""
    household, now = keeper.household, timezone.now()
    one_time_links.invite(keeper, name="Bo", role=Role.CREW, now=now)
    ask_for_export(household, by=keeper)
    UnfiledPhoto.objects.create(
        household=household, title="x", content_type="image/jpeg", **FILE
    )


def _addresses(founder: Member, stranger: Member) -> list[Asked]:
    walker = Walker([founder], stranger.household, Random(1))  # noqa: S311
    walker.look_round()
    assert not walker.walked.faults
    return [
        Asked(each.name, _url(each, founder, walker.addresses), _body(each))
        for each in walker.addresses.values()
    ]


def _body(address: Address) -> dict[str, str]:
    fields = address.fields.values()
    return {one.name: one.value for one in fields if one.kind != "file"}


def _url(address: Address, founder: Member, others: dict[str, Address]) -> str:
    """As seen on a page; what no page leads to is made up of what is there."""
    if not address.kinds:
        return f"/{address.route}"
    if address.seen:
        return address.seen[0]
    above, _slash, last = address.route.rstrip("/").rpartition("/")
    if (found := others.get(f"{above}/")) and found.seen and address.name in BELOW:
        return f"{found.seen[0].partition('?')[0]}{last}/"
    return reverse(address.name, args=_arguments(address, founder))


def _arguments(address: Address, founder: Member) -> list[Any]:
    """Rows of the household where it has one of the kind, else what is nobody's."""
    home = founder.household
    rig = home.rigs.order_by("pk").first()
    item, job = rig.plan_items.first(), ImportJob.objects.for_household(home).first()
    finding, trip = rig.findings.first(), Trip.objects.filter(rig=rig).first()
    rows = {
        "saved": rig.records.first().pk,
        "take_apart": rig.records.first().pk,
        "tell_trip": trip.pk,
        "settle_reading": Reading.objects.filter(meter__rig=rig).first().pk,
        "change_procedure": OwnProcedure.objects.get(household=home).pk,
        "paper_date": item.pk,
        "settle_offer": item.pk,
        "reopen_finding": finding.pk,
        "formatted_mail": Digest.objects.get(member__household=home).pk,
        "packet_file": Packet.objects.for_household(home).first().key,
        "remove_packet": Packet.objects.for_household(home).first().key,
        "export_file": ExportJob.objects.for_household(home).first().key,
    }
    if address.route.startswith("rigs/"):
        rows[address.name] = rig.pk
    if address.name.endswith("_bringing") or address.name.startswith("bringing_"):
        rows[address.name] = job.key
    first = rows.get(address.name, {"UUIDConverter": uuid4(), "IntConverter": 1})
    return [
        first.get(kind, WORDS.get(name, "x"))
        if isinstance(first, dict)
        else first
        if n == 0
        else WORDS.get(name, "x")
        for n, (name, kind) in enumerate(address.kinds.items())
    ]


WORDS = {"purpose": "done", "name": "water_pump"}
BELOW = {"tell_cause", "trouble_sheet", "keep_figure"}  # a guide, a calculator


def _wrong(one: Asked, who: str, method: str, browser: Client) -> str:
    """What is wrong with the answer; nothing when it is by the rule. All that a
    request did is undone."""
    rule = RULES[one.name]
    wrote: list[str] = []

    def note(execute: Any, sql: str, *rest: Any) -> Any:
        if sql.startswith(WRITING) and not any(each in sql[:60] for each in NOTED):
            wrote.append(sql[:200])
        return execute(sql, *rest)

    with (
        mock.patch("socket.create_connection", side_effect=OSError),
        connection.execute_wrapper(note),
        transaction.atomic(),
    ):
        if method == OVERTAKEN:
            _others_act()
            wrote.clear()
        status = _answer(one, method, browser).status_code
        transaction.set_rollback(True)
    if status >= 500 and one.name != "health":
        return str(status)
    if rule == OPEN:
        return ""
    expected = _expected(one, who, method)
    if expected is None:
        odd = method in {ODD, OVERTAKEN}  # words are enough, whichever
        return "" if odd else _wrong_for_members(one, status)
    if status not in expected:
        return f"{status}, not {expected}"
    return f"wrote {wrote}" if wrote else ""


def _answer(one: Asked, method: str, browser: Client) -> HttpResponse:
    cookies = browser.cookies.copy()
    try:
        if method == "GET":
            answer = browser.get(one.url)
        elif method in {"PUT", "DELETE"}:
            answer = browser.generic(method, one.url)
        else:
            answer = browser.post(one.url, _sent(one, method))
        if answer.streaming:
            b"".join(answer)
        return answer
    finally:
        browser.cookies = cookies


def _others_act() -> None:
    """Jobs are dropped and rigs sold between a page and what is sent from it."""
    PlanItem.objects.update(dropped_on=builders.TODAY, why_dropped="sold")
    Rig.objects.update(sold_on=builders.TODAY)


def _sent(one: Asked, method: str) -> dict[str, str]:
    if method != ODD:
        return one.body
    values = cycle(ODD_VALUES)
    return {name: next(values) for name in (*one.body, "rig", "record", "form_token")}


def _expected(one: Asked, who: str, method: str) -> set[int] | None:
    """The statuses by which somebody is refused; None for who may. A page that takes
    one method alone says so to everybody (RFC 9110, 15.5.6)."""
    if who == "anonymous":
        return {302, 405}
    if who == "stranger":
        named = "<" in str(_route_of(one.name)) and one.name not in SHARED | OWN
        if named:
            return {404, 405} if _rank(KEEPER) >= _rank(RULES[one.name]) else {403, 405}
        who = KEEPER
    if _rank(who) < _rank(RULES[one.name]):
        return {403, 405}
    return None


def _rank(rank: str) -> int:
    return RANKS.index(rank)


def _route_of(name: str) -> str:
    return next(route for route, each in table().items() if each.name == name)


def _wrong_for_members(one: Asked, status: int) -> str:
    if status == 403 or (status == 404 and one.name not in LACKING):
        return f"{status}, though the rule lets in"
    return ""
