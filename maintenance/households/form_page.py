"""The page of one form: show it, run one service with it, say what is wrong at the
field, and go on when it went well."""

from collections.abc import Callable
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from .refusals import Refused


def saved(
    form: forms.BaseForm, save: Callable[..., Any], *args: Any, **kwargs: Any
) -> Any:
    """What the service made (or True); None after putting its refusal at its field."""
    try:
        return save(*args, **kwargs) or True
    except Refused as refusal:
        field = refusal.field if refusal.field in form.fields else None
        form.add_error(field, refusal.text)
        return None


def form_page(
    request: HttpRequest,
    form: forms.BaseForm,
    *,
    heading: str,
    back: str,
    save: Callable[..., Any],
    done: Callable[[Any], str] | str = "",
    go_on: Callable[[Any], str] | str = "",
    template: str = "households/form_page.html",
    **context: Any,
) -> HttpResponse:
    """Run `save(**cleaned_data)` when the form is valid, else show the form.

    `back` is where Cancel leads; `go_on` is where a success leads and `done` what it
    says, or they make it from what `save` returned.
    """
    if form.is_valid() and (made := saved(form, save, **form.cleaned_data)):
        said = done(made) if callable(done) else done
        messages.success(request, said or "Saved.")
        return redirect(go_on(made) if callable(go_on) else go_on or back)
    context |= {"form": form, "heading": heading, "cancel_url": back}
    return render(request, template, context)
