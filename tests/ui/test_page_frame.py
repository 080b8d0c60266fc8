"""The frame of every page, and the pages that say that something went wrong."""

import re
from types import SimpleNamespace
from typing import Any

import pytest
from django.contrib.messages import ERROR, SUCCESS, WARNING
from django.contrib.messages.storage.base import Message
from django.http import HttpRequest, HttpResponse
from django.template.loader import render_to_string
from django.test import RequestFactory
from django.urls import path

STATUSES = (400, 403, 404, 429, 500)


def test_skip_link_leads_to_the_content():
    html = render_to_string("ui/base.html")
    targets = re.findall(r'class="skip-link" href="#(\w+)"', html)
    assert re.findall(r'<main id="(\w+)"[^>]*tabindex="-1"', html) == targets


def test_title_and_header_name_the_household():
    member = SimpleNamespace(household=SimpleNamespace(name="Fen & Co"))
    html = render_to_string("ui/base.html", {"request": SimpleNamespace(member=member)})
    assert html.count("Fen &amp; Co") == 2


def test_frame_without_a_household_still_has_a_name():
    html = render_to_string("ui/base.html", {"request": RequestFactory().get("/")})
    assert "<title>Rigsite · Rigsite</title>" in html
    assert '<a class="house" href="/">Rigsite</a>' in html


def message_areas(*messages: Message) -> tuple[str, str]:
    html = render_to_string("ui/_messages.html", {"messages": messages})
    status, alert = html.split('role="alert"')
    assert 'role="status"' in status
    return status, alert


def test_errors_are_alerts_and_the_rest_is_status():
    status, alert = message_areas(
        Message(SUCCESS, "It is on record."), Message(ERROR, "No answer.")
    )
    assert "It is on record." in status
    assert "No answer." in alert
    assert "No answer." not in status


def test_only_success_tells_the_page_to_forget_what_it_kept():
    assert "data-saved" in message_areas(Message(SUCCESS, "Saved."))[0]
    assert "data-saved" not in message_areas(Message(WARNING, "Look at it."))[0]


def test_message_areas_are_there_before_any_message():
    html = render_to_string("ui/base.html")
    assert 'role="status"></div>' in "".join(html.split("\n")).replace("  ", "")
    assert 'role="alert"></div>' in "".join(html.split("\n")).replace("  ", "")


@pytest.mark.parametrize("status", STATUSES)
def test_error_page_shows_its_words_and_a_way_on(status):
    html = render_to_string(f"{status}.html", {"words": "A <b> went wrong."})
    assert "A &lt;b&gt; went wrong." in html
    assert re.search(r"<h1>\s*\w[^<]+</h1>", html)
    assert 'href="/"' in html


def visit(at: str, **found: Any) -> HttpRequest:
    """A request with what the middleware has put on it."""
    request = RequestFactory().get(at)
    vars(request).update(found)
    return request


class Broken:
    def __getattr__(self, name: str) -> None:
        raise AssertionError(f"asked for {name}")

    def __iter__(self) -> None:
        raise AssertionError("asked for its rows")


def test_page_of_a_failure_asks_for_nothing_that_the_database_holds():
    request = visit("/", user=Broken(), session=Broken(), _messages=Broken())
    assert "No." in render_to_string("500.html", {"words": "No."}, request)


def test_page_of_nothing_found_keeps_the_way_to_the_other_pages(settings):
    settings.ROOT_URLCONF = (path("rigs/", HttpResponse, name="rigs"),)
    member = SimpleNamespace(is_authenticated=True, get_username=str)
    request = visit("/rigs/9/", user=member)
    html = render_to_string("404.html", {"words": "No.", "request": request})
    assert 'href="/rigs/"' in html
