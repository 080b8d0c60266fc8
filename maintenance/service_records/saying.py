"""Telling once, on the next page, what follows from work that was saved."""

from django.contrib import messages
from django.http import HttpRequest
from django.urls import reverse

from maintenance.vehicles.models import Rig

from .follow_words import lines_of
from .following import WhatFollows
from .services import Recorded


def tell_what_follows(request: HttpRequest, rig: Rig, follows: WhatFollows) -> None:
    """Each sentence brings its mark, as a tag of the message."""
    for line in lines_of(rig, follows):
        tell = messages.warning if line.warns else messages.info
        tell(request, line.words, extra_tags=f"follows {line.mark}")


def saved_url(back: str, made: Recorded | bool) -> str:
    """The page of what follows; `back` where the form recorded nothing."""
    if not isinstance(made, Recorded):
        return back
    return reverse("saved", args=[made.record.pk])
