"""Telling once, on the next page, what follows from work that was saved."""

from django.contrib import messages
from django.http import HttpRequest

from maintenance.vehicles.models import Rig

from .follow_words import words_of
from .following import WhatFollows


def tell_what_follows(request: HttpRequest, rig: Rig, follows: WhatFollows) -> None:
    warnings, rest = words_of(rig, follows)
    for words in warnings:
        messages.warning(request, words)
    for words in rest:
        messages.info(request, words)
