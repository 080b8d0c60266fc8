"""The small script of every page, in a real browser: what is typed survives a post that
failed, and focus goes to what is new."""

import threading
from collections.abc import Iterator
from typing import Any

import pytest
from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.template.loader import render_to_string
from django.urls import path
from django_htmx.http import HttpResponseClientRefresh
from playwright.sync_api import Page, expect

from maintenance.jobs.models import Progress


class Work(forms.Form):
    notes = forms.CharField(required=False)
    odometer = forms.IntegerField(widget=forms.TextInput())
    wheels = forms.MultipleChoiceField(
        required=False,
        choices=[("LF", "LF"), ("RF", "RF")],
        widget=forms.CheckboxSelectMultiple,
    )


class Login(Work):
    password = forms.CharField(widget=forms.PasswordInput(), required=False)


def work(request: HttpRequest, kind: type[Work] = Work) -> HttpResponse:
    form = kind(request.POST or None)
    if request.POST.get("notes") == "fail":
        return HttpResponse("The gateway is gone.", status=502)
    if form.is_valid():
        messages.success(request, "Saved.")
        return redirect(request.path)
    return render(request, "ui/form.html", {"form": form})


READY = threading.Event()


def progress(request: HttpRequest) -> HttpResponse:
    by_itself = "hx-request" in request.headers
    if by_itself and READY.is_set():
        return HttpResponseClientRefresh()
    words = "Half done." if by_itself else "Working."
    context = {"progress": Progress(words, 1, 2)}
    context |= {"poll_url": request.path, "page_url": request.path}
    if by_itself:
        return render(request, "jobs/_progress.html", context)
    inside = render_to_string("jobs/_progress.html", context)
    if READY.is_set():
        inside = "<p>Ready.</p>"
    page = render_to_string("ui/base.html", request=request)
    return HttpResponse(page.replace("</main>", f"{inside}</main>"))


URLS = (
    path("job/", work),
    path("login/", work, {"kind": Login}),
    path("progress/", progress),
)


@pytest.fixture
def page(browser: Any, live_server: Any, settings: Any) -> Iterator[Page]:
    settings.ROOT_URLCONF = URLS
    refused: list[str] = []
    context = browser.new_context(base_url=live_server.url)
    page = context.new_page()
    page.on(
        "console",
        lambda said: refused.append(said.text) if "Policy" in said.text else None,
    )
    yield page
    context.close()
    assert refused == []


def fill_and_fail(page: Page, at: str = "/job/") -> None:
    page.goto(at)
    page.fill("[name=notes]", "fail")
    page.fill("[name=odometer]", "42395")
    page.check("[value=RF]")
    page.click("text=Save")
    expect(page.locator("body")).to_have_text("The gateway is gone.")


def test_what_was_typed_can_be_put_back_after_a_failed_post(page: Page) -> None:
    fill_and_fail(page)
    page.goto("/job/")
    expect(page.locator("[name=odometer]")).to_have_value("")
    page.click("text=Put it back")
    expect(page.locator("[name=odometer]")).to_have_value("42395")
    expect(page.locator("[value=RF]")).to_be_checked()
    expect(page.locator("[value=LF]")).not_to_be_checked()


def test_what_was_typed_survives_a_page_that_was_closed(page: Page) -> None:
    page.goto("/job/")
    page.fill("[name=odometer]", "42395")
    again = page.context.new_page()
    page.close()

    again.goto("/job/")
    again.click("text=Put it back")
    expect(again.locator("[name=odometer]")).to_have_value("42395")


def test_what_was_typed_a_week_ago_is_gone(page: Page) -> None:
    page.goto("/job/")
    page.fill("[name=odometer]", "42395")
    page.evaluate(
        "() => { for (const key of Object.keys(localStorage)) localStorage.setItem(key,"
        " JSON.stringify({...JSON.parse(localStorage.getItem(key)), at: 0})) }"
    )
    page.reload()

    expect(page.locator(".kept")).to_have_count(0)
    assert page.evaluate("localStorage.length") == 0


def test_what_was_typed_can_be_thrown_away(page: Page) -> None:
    fill_and_fail(page)
    page.goto("/job/")
    page.click("text=Throw it away")
    page.goto("/job/")
    expect(page.locator(".kept")).to_have_count(0)


def test_nothing_is_offered_once_it_was_saved(page: Page) -> None:
    page.goto("/job/")
    page.fill("[name=odometer]", "42395")
    page.click("text=Save")
    expect(page.locator("[data-saved]")).to_have_text("Saved.")
    page.goto("/job/")
    expect(page.locator(".kept")).to_have_count(0)


def test_a_form_that_came_back_with_errors_offers_nothing(page: Page) -> None:
    page.goto("/job/")
    page.fill("[name=odometer]", "many")
    page.click("text=Save")
    expect(page.locator(".form-errors")).to_be_focused()
    expect(page.locator("[name=odometer]")).to_have_value("many")
    expect(page.locator(".kept")).to_have_count(0)


def test_an_error_leads_to_its_field(page: Page) -> None:
    page.goto("/job/")
    page.fill("[name=odometer]", "many")
    page.click("text=Save")
    page.click(".form-errors a")
    expect(page.locator("[name=odometer]")).to_be_focused()


def test_a_form_with_a_password_is_never_copied(page: Page) -> None:
    page.goto("/login/")
    page.fill("[name=notes]", "secret")
    page.fill("[name=password]", "hunter")
    stored = page.evaluate("JSON.stringify(Object.values(localStorage))")
    assert "secret" not in stored
    assert "hunter" not in stored


def test_progress_goes_on_by_itself(page: Page) -> None:
    READY.clear()
    page.goto("/progress/")
    expect(page.locator(".progress-box")).to_contain_text("Working.")
    expect(page.locator(".progress-box")).to_contain_text("Half done.")
    READY.set()
    expect(page.locator("main")).to_contain_text("Ready.")


def test_skip_link_comes_first_and_passes_the_header(page: Page) -> None:
    page.goto("/job/")
    page.keyboard.press("Tab")
    expect(page.locator(".skip-link")).to_be_focused()
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    expect(page.locator("[name=notes]")).to_be_focused()
