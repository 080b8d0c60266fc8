"""The links of the header."""

from types import SimpleNamespace

import pytest
from django.http import HttpResponse
from django.template.loader import render_to_string
from django.urls import path

from maintenance.ui import navigation


def page(request):
    return HttpResponse()


NAMES = {"due": "", "rigs": "rigs/", "log": "log/", "logout": "logout/"}
URLS = tuple(path(route, page, name=name) for name, route in NAMES.items())


@pytest.fixture(autouse=True)
def _urls(settings):
    settings.ROOT_URLCONF = URLS


def current(at: str) -> dict[str, str]:
    return {link.label: link.current for link in navigation.links(at)}


def test_only_pages_that_exist_have_a_link():
    assert [link.label for link in navigation.links("/")] == ["Due", "Rigs", "Log"]


def test_the_start_page_is_current_only_on_itself():
    assert current("/") == {"Due": "page", "Rigs": "", "Log": ""}


def test_a_list_is_current_as_the_page():
    assert current("/rigs/") == {"Due": "", "Rigs": "page", "Log": ""}


def test_a_page_below_a_list_keeps_the_list_current():
    assert current("/rigs/7/reading/") == {"Due": "", "Rigs": "true", "Log": ""}


def test_a_page_elsewhere_has_no_current_link():
    assert set(current("/elsewhere/").values()) == {""}


def header(*, logged_in: bool) -> str:
    user = SimpleNamespace(is_authenticated=logged_in, get_username=lambda: "wren")
    request = SimpleNamespace(path="/rigs/", user=user)
    return render_to_string("ui/_header.html", {"request": request})


def test_header_of_a_member_has_links_and_the_way_out():
    html = header(logged_in=True)
    assert 'href="/log/"' in html
    assert 'action="/logout/"' in html


def test_header_of_a_stranger_has_neither():
    html = header(logged_in=False)
    assert "<nav" not in html
    assert "<form" not in html
