"""Where a page belongs: the places, the tabs, what the Record sheet offers."""

import re
from types import SimpleNamespace

import pytest
from django.template.loader import render_to_string
from django.urls import reverse

from maintenance.ui import navigation
from tests.households.test_every_address import NAMES

# No page of the household: before login, links of mails, what is behind its name, what
# is asked for by a page or sent by a button.
NOWHERE = """
    search mail calendar one_mail formatted_mail set_up_mail clock status household
    change_household seasons climate invite one_time_link change_role part_with
    myself change_password logins take_out export hand_on
"""


def current(at: str) -> dict[str, str]:
    return {link.label: link.current for link in navigation.places(at) if link.current}


def test_six_places_stand_in_the_header():
    labels = [link.label for link in navigation.places("due")]
    assert labels == ["Due", "Rigs", "Calendar", "History", "Toolbox", "Trouble"]


def test_a_phone_has_room_for_four():
    found = [link.label for link in navigation.places("due") if link.on_phone]
    assert found == ["Due", "Rigs", "Calendar", "Trouble"]


@pytest.mark.parametrize(
    ("at", "place"),
    [
        ("due", {"Due": "page"}),
        ("item", {"Due": "true"}),
        ("rig_plan", {"Rigs": "true"}),
        ("trips", {"Calendar": "true"}),
        ("storage", {"Calendar": "page"}),
        ("costs", {"History": "true"}),
        ("calculator", {"Toolbox": "true"}),
        ("guide", {"Trouble": "true"}),
        ("household", {}),
        ("", {}),
    ],
)
def test_the_place_of_a_page_is_marked(at, place):
    assert current(at) == place


def test_every_page_that_the_table_names_is_there():
    known = {name for names in NAMES.values() for name in names.split()}
    assert set(navigation.PLACE_OF) <= known


def test_every_page_has_a_place_or_is_known_to_have_none():
    """A page that draws the frame; what only answers a button is not asked."""
    pages = {page for place in navigation.PLACES for _, page, _ in place.tabs}
    pages |= {page for _, page, _ in navigation.RIG_TABS} | {"due", "rigs", "trouble"}
    assert pages <= set(navigation.PLACE_OF)
    assert not set(NOWHERE.split()) & set(navigation.PLACE_OF)


def test_tabs_of_a_place_stand_on_its_own_pages_only():
    assert [link.label for link in navigation.tabs("costs")] == [
        "Records",
        "Costs",
        "Print",
        "Import records",
        "Tamper check",
    ]
    assert [link.label for link in navigation.tabs("costs") if link.current] == [
        "Costs"
    ]
    assert navigation.tabs("record") == []


def test_tabs_of_a_rig_lead_to_that_rig():
    links = navigation.rig_tabs("parts", 7)
    assert [link.label for link in links] == [
        "Now",
        "Plan",
        "Parts",
        "History",
        "Papers",
    ]
    assert all("/7/" in link.url for link in links)
    assert navigation.rig_tabs("part", 7) == []


def test_pages_beside_each_other_under_a_tab_lead_to_that_rig():
    links = navigation.rig_subs("tires", 7)
    shown = {link.label: link.current for link in links}
    assert shown == {"All parts": "", "Tires and axles": "page", "Weights": ""}
    current = {link.label: link.current for link in navigation.rig_tabs("tires", 7)}
    assert current["Parts"] == "true"
    costs = {link.label: link.url for link in navigation.rig_subs("rig_use", 7)}
    assert costs["Costs"].endswith("?rig=7")
    assert navigation.rig_subs("rig", 7) == []


def test_ways_to_record_ask_for_the_rig_where_none_is_at_hand():
    urls = [url for _way, url in navigation.ways_to_record(None)]
    assert reverse("record_for", args=["reading"]) in urls
    urls = [url for _way, url in navigation.ways_to_record(7)]
    assert reverse("give_reading", args=[7]) in urls


def page(*, logged_in: bool = True, may_log: bool = True, **cookies: str) -> str:
    user = SimpleNamespace(is_authenticated=logged_in, get_username=lambda: "wren")
    member = SimpleNamespace(
        household=SimpleNamespace(name="Two Gate Lane"),
        may_log=may_log,
        is_keeper=False,
        name="Wren",
    )
    request = SimpleNamespace(
        path="/rigs/",
        user=user,
        member=member if logged_in else None,
        COOKIES=cookies,
        resolver_match=SimpleNamespace(url_name="rigs"),
        get_full_path=lambda: "/rigs/?a=1&b=2",
    )
    return render_to_string("ui/base.html", {"request": request})


def test_frame_of_a_member_has_the_places_and_the_way_out():
    html = page()
    assert 'href="/log/"' in html
    assert 'action="/logout/"' in html
    assert html.count("aria-current") == 2  # on top, and at the foot of a phone
    assert 'popovertarget="record-sheet"' in html


def test_frame_of_a_viewer_has_no_record():
    html = page(may_log=False)
    assert "record-sheet" not in html
    assert html.count("<nav") == 2


def test_frame_of_a_stranger_has_neither():
    html = page(logged_in=False)
    assert "<nav" not in html
    assert "<form" not in html


def test_what_opens_is_there():
    html = page()
    targets = set(re.findall(r'popovertarget="([^"]+)"', html))
    assert targets == set(re.findall(r'id="([^"]+)" popover>', html))


@pytest.mark.parametrize("chosen", ["day", "night"])
def test_the_chosen_colors_come_with_the_page(chosen):
    html = page(theme=chosen)
    assert f'<html lang="en" data-theme="{chosen}">' in html
    assert f'value="{chosen}" aria-pressed="true"' in html


@pytest.mark.parametrize("cookies", [{}, {"theme": '"><script>'}])
def test_without_a_choice_the_system_says(cookies):
    html = page(**cookies)
    assert '<html lang="en">' in html
    assert 'value="" aria-pressed="true"' in html


def test_the_switch_leads_back_to_the_page():
    assert "?next=/rigs/%3Fa%3D1%26b%3D2" in page()
