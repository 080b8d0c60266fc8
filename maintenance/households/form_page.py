"""The page of one form: show it, run one service with it, say what is wrong at the
field, and go on when it went well. Sent twice, it does its work once."""

from collections.abc import Callable
from typing import Any

from django import forms
from django.contrib import messages
from django.db.models import Model
from django.http import HttpResponse
from django.shortcuts import redirect, render

from .access import HouseholdRequest
from .refusals import Refused
from .sent_forms import Sent, SentBefore, once
from .stale_forms import FIELD, lock, seen_in, show_overtaken

TWICE = "This was already saved. Nothing was entered twice."
DIFFERENT = (
    "You already sent this page, and it was saved. What's here now is "
    "different: save again to keep this too."
)


class _NotValid(Exception):
    """The form says what is wrong."""


def saved(
    form: forms.BaseForm, save: Callable[..., Any], *args: Any, **kwargs: Any
) -> Any:
    """What the service made (or True); None after putting its refusal at its field."""
    try:
        return save(*args, **kwargs) or True
    except Refused as refusal:
        put_at_field(form, refusal)
        return None


def put_at_field(form: forms.BaseForm, refusal: Refused) -> None:
    form.errors  # noqa: B018  (a form takes an error only once it was checked)
    field = refusal.field if refusal.field in form.fields else None
    form.add_error(field, refusal.text)


def act_once(
    request: HouseholdRequest, act: Callable[[], Any], *, done: str, go_on: str
) -> HttpResponse:
    """The work of a button that makes something, whose page has `{% form_token %}`."""
    try:
        with once(request) as sent:
            act()
            sent.led_to = go_on
        messages.success(request, done)
    except Refused as refusal:
        messages.error(request, refusal.text)
    except SentBefore:
        messages.info(request, TWICE)
    return redirect(go_on)


def form_page(
    request: HouseholdRequest,
    form: forms.BaseForm,
    *,
    heading: str,
    back: str,
    save: Callable[..., Any],
    done: Callable[[Any], str] | str = "",
    go_on: Callable[[Any], str] | str = "",
    template: str = "households/form_page.html",
    changes: Model | None = None,
    now: Callable[[], forms.BaseForm] | None = None,
    **context: Any,
) -> HttpResponse:
    """Run `save(**cleaned_data)` when the form is valid, else show the form.

    `back` is where Cancel leads; `go_on` is where a success leads and `done` what it
    says, or they make it from what `save` returned. A form that changes a row gives it
    as `changes`, and `now`: the form, not bound, of the row as the database has it.
    What somebody else changed since the page was shown then stands beside what was
    typed. All is one transaction.
    """
    seen = now() if now is not None and not form.is_bound else form

    def act(sent: Sent) -> str:
        nonlocal seen
        if changes is not None and now is not None:
            lock(changes)
            _refuse_overtaken(request, form, seen := now())
        if not form.is_valid():
            raise _NotValid
        made = save(**form.cleaned_data) or True
        sent.led_to = go_on(made) if callable(go_on) else go_on or back
        return done(made) if callable(done) else done

    if form.is_bound and (answer := _posted(request, form, act)):
        return answer
    context |= {"form": form, "heading": heading, "cancel_url": back}
    context["form_seen"] = seen_in(seen) if now is not None else ""
    return render(request, template, context)


def _posted(
    request: HouseholdRequest, form: forms.BaseForm, act: Callable[[Sent], str]
) -> HttpResponse | None:
    """Where a success leads; None where the form is shown again."""
    try:
        with once(request) as sent:
            said = act(sent)
    except SentBefore as before:
        if before.same:
            messages.info(request, TWICE)
            return redirect(before.led_to)
        put_at_field(form, Refused(DIFFERENT))
    except Refused as refusal:
        put_at_field(form, refusal)
    except _NotValid:
        pass
    else:
        messages.success(request, said or "Saved.")
        return redirect(sent.led_to)
    return None


def _refuse_overtaken(
    request: HouseholdRequest, form: forms.BaseForm, now: forms.BaseForm
) -> None:
    if show_overtaken([form], [now], request.POST.get(FIELD)):
        raise _NotValid
