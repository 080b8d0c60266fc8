"""The small pages behind the links of a mail. No login: the link itself says who asks,
and about what."""

from collections.abc import Callable
from contextlib import nullcontext
from datetime import date
from functools import partial
from typing import Any

from django import forms
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.csrf import csrf_exempt

from maintenance.core.notices import LONGEST_HOLD
from maintenance.households.form_page import saved
from maintenance.plans.models import PlanItem, Standing
from maintenance.plans.queries import procedure_of
from maintenance.plans.rows import Row, row_of
from maintenance.service_records.work import checks_wheels
from maintenance.ui.navigation import url_or_none
from maintenance.vehicles.forms import NotTowedForm, ReadingForm
from maintenance.vehicles.not_towed import towed_since

from . import answering
from .answer_links import (
    AnswerRequest,
    DeadLink,
    ParkedRequest,
    open_link,
    read_link,
)
from .answering import Moment
from .forms import DoneForm, LaterForm, ParkedForm
from .queries import meter_of

Page = Callable[[HttpRequest, Any, Moment], HttpResponse]


# The link is what proves who asks, not a cookie: no other site can know it.
@csrf_exempt
@never_cache
def answer(request: HttpRequest, purpose: str, token: str) -> HttpResponse:
    """Opening a link changes nothing, whoever opens it: a person, or a program that
    looks into mail. Only what is sent from its page does."""
    if purpose not in PAGES:
        raise Http404
    try:
        asked = open_link(read_link(purpose, token))  # type: ignore[arg-type]
        with asked.member.household.at_home():
            moment = Moment(timezone.now(), asked.member.household.today())
            page = PAGES[purpose](request, asked, moment)
    except DeadLink as dead:
        page = _dead_page(request, dead)
    page["Referrer-Policy"] = "no-referrer"
    page["X-Robots-Tag"] = "noindex, nofollow, noarchive"
    return page


def _dead_page(request: HttpRequest, dead: DeadLink) -> HttpResponse:
    # Who has just confirmed comes here too, to read what was kept.
    status = 200 if dead.used and request.method != "POST" else dead.status
    context = {"dead": dead}
    with dead.used.member.household.at_home() if dead.used else nullcontext():
        return render(request, "reminders/answer/dead.html", context, status=status)


def _reading(
    request: HttpRequest, asked: AnswerRequest, moment: Moment
) -> HttpResponse:
    meter = meter_of(asked.item, asked.item.rig.meters.all())
    initial = {"on": moment.today, "meter": meter.pk if meter else None}
    form = ReadingForm(request.POST or None, rig=asked.item.rig, initial=initial)
    return _form(
        request,
        asked,
        moment,
        form,
        heading=f"New reading: {asked.item.rig}",
        submit="Save reading",
        save=partial(answering.give_reading, asked, form, moment),
    )


def _done(request: HttpRequest, asked: AnswerRequest, moment: Moment) -> HttpResponse:
    initial = {"on": moment.today}
    form = DoneForm(request.POST or None, item=asked.item, initial=initial)
    return _form(
        request,
        asked,
        moment,
        form,
        heading=f"{asked.item}, {asked.item.rig}",
        submit="Record it",
        save=partial(answering.record_done, asked, form, moment),
        procedure=procedure_of(asked.item),
        wheels=checks_wheels(asked.item),
    )


def _later(request: HttpRequest, asked: AnswerRequest, moment: Moment) -> HttpResponse:
    most = answering.days_to_move(asked.item, moment.today)
    return _form(
        request,
        asked,
        moment,
        LaterForm(request.POST or None, most=most),
        heading=f"Remind me later: {asked.item}",
        submit="Move the reminder",
        save=partial(answering.move_reminder, asked, moment),
        capped=most < LONGEST_HOLD,
    )


def _not_towed(
    request: HttpRequest, asked: AnswerRequest, moment: Moment
) -> HttpResponse:
    rig = asked.item.rig
    return _form(
        request,
        asked,
        moment,
        NotTowedForm(request.POST or None, initial={"since": towed_since(rig)}),
        heading=f"Not towed: {rig}",
        submit="Confirm not towed",
        save=partial(answering.not_towed, asked, moment),
    )


def _parked(request: HttpRequest, asked: ParkedRequest, moment: Moment) -> HttpResponse:
    form = ParkedForm(request.POST or None)
    save = partial(answering.say_parked, asked, moment)
    if form.is_valid() and saved(form, save, **form.cleaned_data):
        return _what_came_of(asked)
    context = {"form": form, "reader": asked.member, "asked": asked}
    context |= {"heading": f"Is {asked.rig} parked?"}
    return render(request, "reminders/answer/parked.html", context)


def _what_came_of(asked: AnswerRequest | ParkedRequest) -> HttpResponse:
    """The page of what follows from work, where there is one; else the same address
    again: it tells by now what it was used for."""
    purpose, token = asked.link.purpose, asked.link.token
    follows = url_or_none("answered", token) if purpose == "done" else None
    return redirect(follows or reverse("answer", args=[purpose, token]))


def _form(
    request: HttpRequest,
    asked: AnswerRequest,
    moment: Moment,
    form: forms.Form,
    *,
    save: Callable[..., str],
    **rest: Any,
) -> HttpResponse:
    if form.is_valid() and saved(form, save, **form.cleaned_data):
        return _what_came_of(asked)
    context = rest | {
        "form": form,
        "reader": asked.member,
        "item": asked.item,
        "row": _row(asked.item, moment.today),
    }
    return render(request, f"reminders/answer/{asked.link.purpose}.html", context)


def _row(item: PlanItem, today: date) -> Row | None:
    standing = Standing.objects.select_related("item__rig").filter(item=item).first()
    return row_of(standing, today) if standing else None


PAGES: dict[str, Page] = {
    "reading": _reading,
    "done": _done,
    "later": _later,
    "not_towed": _not_towed,
    "parked": _parked,
}
