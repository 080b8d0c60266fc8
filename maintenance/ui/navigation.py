"""Where a page belongs: its place in the header, its tab, what the Record sheet offers.

A page takes its place by its URL name alone, so that this app need not know which app
serves it. A name that no URL answers to gives no link.
"""

from dataclasses import dataclass
from typing import Any

from django.urls import NoReverseMatch, reverse


@dataclass(frozen=True, slots=True)
class Place:
    """`pages` are the URL names below it, beside those of its tabs."""

    label: str
    icon: str
    page: str
    on_phone: bool
    tabs: tuple[tuple[str, str, str], ...] = ()  # label, page, names that belong to it
    pages: str = ""


PLACES = (
    Place(
        "Due",
        "due",
        "due",
        on_phone=True,
        pages="sittings snaps sort_snaps record_for item keep_sheet defer paper_date "
        "state_baseline change_rules maker_figure record_work asked_for",
    ),
    Place(
        "Rigs",
        "rigs",
        "rigs",
        on_phone=True,
        pages="add_rig finding findings judge_finding plan_finding set_for_shop "
        "fix_finding accept_finding",
    ),
    Place(
        "Calendar",
        "calendar",
        "storage",
        on_phone=True,
        tabs=(
            (
                "Storage",
                "storage",
                "stay visit_stay end_stay change_stay start_stay left_storage runways "
                "park_rig",
            ),
            ("Trips", "trips", "trip plan_trip change_trip tell_trip cancel_trip"),
        ),
    ),
    Place(
        "History",
        "history",
        "log",
        on_phone=False,
        tabs=(
            (
                "Records",
                "log",
                "record same_record take_apart amend_record undo_record void_record "
                "correct_fact withdraw_fact correct_event walkrounds",
            ),
            ("Costs", "costs", ""),
            ("Print", "packets", "preview_history packet"),
            (
                "Import records",
                "bring_in",
                "bringing bringing_columns bringing_answers void_bringing",
            ),
            ("Tamper check", "seals", "rig_chain"),
        ),
    ),
    Place(
        "Toolbox",
        "toolbox",
        "library",
        on_phone=False,
        tabs=(
            ("How-tos", "library", "change_procedure"),
            ("Calculators", "bench", "calculator"),
            (
                "Tools and supplies",
                "supplies",
                "add_supply change_supply buy_supply remove_supply add_tool "
                "change_tool remove_tool",
            ),
        ),
    ),
    Place(
        "Trouble",
        "trouble",
        "trouble",
        on_phone=True,
        pages="guide tell_cause trouble_sheet",
    ),
)

# The tabs of one rig; their pages know it as `rig`.
RIG_TABS = (
    (
        "Now",
        "rig",
        "give_reading report_event log_run replace_meter add_meter shop_list "
        "add_finding fit_hub_meter confirm_hub_meter severe_duty change_rig sell_rig "
        "say_not_towed shop_sheet",
    ),
    (
        "Plan",
        "rig_plan",
        "baselines write_procedure rig_equipment propose_plan drop_item settle_offer",
    ),
    (
        "Parts",
        "parts",
        "part add_part change_part move_part put_part_aside correct_fitting "
        "withdraw_fitting tires rotate_tires axle_ratings weights weight_label "
        "add_ticket change_ticket remove_ticket",
    ),
    ("History", "rig_events", "rig_use"),
    (
        "Papers",
        "manuals",
        "manual add_manual note_page remove_manual rig_spots tell_spot",
    ),
)


# Under a tab, what stands beside its own page: label, page, and whether the rig is
# asked for in the address (`?rig=`), as on a page of all rigs.
RIG_SUBS: dict[str, tuple[tuple[str, str, bool], ...]] = {
    "Parts": (
        ("All parts", "parts", False),
        ("Tires and axles", "tires", False),
        ("Weights", "weights", False),
    ),
    "History": (
        ("Mileage and events", "rig_events", False),
        ("Use", "rig_use", False),
        ("Records", "log", True),
        ("Costs", "costs", True),
        ("Not right", "findings", True),
    ),
    "Papers": (
        ("Manuals", "manuals", False),
        ("Where things are", "rig_spots", False),
    ),
}


def _homes() -> tuple[dict[str, Place], dict[str, str], dict[str, str]]:
    """URL name -> its place, its tab there, its tab on a rig."""
    places: dict[str, Place] = {}
    tabs: dict[str, str] = {}
    rig_tabs: dict[str, str] = {}
    for place in PLACES:
        for name in (place.page, *place.pages.split()):
            places[name] = place
        for label, page, below in place.tabs:
            for name in (page, *below.split()):
                places[name], tabs[name] = place, label
    rigs = places["rigs"]
    for label, page, below in RIG_TABS:
        for name in (page, *below.split()):
            places[name], rig_tabs[name] = rigs, label
    return places, tabs, rig_tabs


PLACE_OF, TAB_OF, RIG_TAB_OF = _homes()
_BESIDE = {
    page for subs in RIG_SUBS.values() for _label, page, asked in subs if not asked
}


@dataclass(frozen=True, slots=True)
class Link:
    """`current` is the value of aria-current: `page`, `true` (below it) or nothing."""

    label: str
    url: str
    current: str = ""
    icon: str = ""
    on_phone: bool = True


def url_or_none(name: str, *args: Any) -> str | None:
    try:
        return reverse(name, args=args)
    except NoReverseMatch:
        return None


def places(at: str) -> list[Link]:
    """The header's links as seen from the page of this URL name."""
    here = PLACE_OF.get(at)
    return [
        Link(
            place.label,
            url,
            _current(place.page, at) if place is here else "",
            place.icon,
            place.on_phone,
        )
        for place in PLACES
        if (url := url_or_none(place.page))
    ]


def tabs(at: str) -> list[Link]:
    """The tabs of a place, on the pages that they lead to."""
    here = PLACE_OF.get(at)
    if here is None or at not in {page for _label, page, _below in here.tabs}:
        return []
    return [
        Link(label, url, "page" if page == at else "")
        for label, page, _below in here.tabs
        if (url := url_or_none(page))
    ]


def rig_tabs(at: str, rig_pk: int) -> list[Link]:
    """The tabs of one rig, on the pages that they lead to and those beside them."""
    if at not in {page for _label, page, _below in RIG_TABS} | _BESIDE:
        return []
    here = RIG_TAB_OF[at]
    return [
        Link(label, url, _current(page, at) if label == here else "")
        for label, page, _below in RIG_TABS
        if (url := url_or_none(page, rig_pk))
    ]


def rig_subs(at: str, rig_pk: int) -> list[Link]:
    """The pages beside this one under its tab."""
    if not rig_tabs(at, rig_pk):
        return []
    found = []
    for label, page, asked in RIG_SUBS.get(RIG_TAB_OF[at], ()):
        url = url_or_none(page) if asked else url_or_none(page, rig_pk)
        if url:
            url = f"{url}?rig={rig_pk}" if asked else url
            found.append(Link(label, url, "page" if page == at else ""))
    return found


def _current(page: str, at: str) -> str:
    return "page" if page == at else "true"


# The Record sheet: label, help, icon, and the page; where it is of one rig, the page of
# that rig and what `record_for` calls it.
@dataclass(frozen=True, slots=True)
class Way:
    label: str
    about: str
    icon: str
    page: str
    act: str = ""


WAYS = (
    Way("Log a visit or a job", "by you or a shop", "wrench", "record_work", "work"),
    Way("New reading", "mileage or hours", "gauge", "give_reading", "reading"),
    Way("Snap a photo", "file it later", "camera", "snaps"),
    Way(
        "Something happened",
        "wheel off, hail, hard curb, new battery",
        "event",
        "report_event",
        "event",
    ),
    Way(
        "Something's wrong",
        "it goes on the rig's list",
        "fault",
        "add_finding",
        "wrong",
    ),
    Way("Walk-around", "zone by zone, photos", "walk", "walkrounds"),
)


def ways_to_record(rig_pk: int | None) -> list[tuple[Way, str]]:
    """Each way with its address: that of the rig at hand, or which rig is asked."""
    found = []
    for way in WAYS:
        if not way.act:
            url = url_or_none(way.page)
        elif rig_pk is None:
            url = url_or_none("record_for", way.act)
        else:
            url = url_or_none(way.page, rig_pk)
        if url:
            found.append((way, url))
    return found
