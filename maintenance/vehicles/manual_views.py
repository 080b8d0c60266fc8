"""The manuals shelf of a rig, and its files behind their permission check."""

from functools import partial
from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from maintenance.households.access import HouseholdRequest, member_required
from maintenance.households.form_page import form_page
from maintenance.households.models import Role

from . import manuals as shelf
from .access import get_manual, get_note, get_rig, get_rig_photo, get_spot_photo
from .manual_forms import ManualForm, PageNoteForm
from .rig_photos import path_of as rig_photo_path
from .uploads import DAY, file_answer


@member_required()
def manuals(request: HouseholdRequest, pk: int) -> HttpResponse:
    rig = get_rig(request, pk)
    context = {"rig": rig, "rows": shelf.manuals_of(rig)}
    return render(request, "vehicles/manuals.html", context)


@member_required(Role.CREW)
def add_manual(request: HouseholdRequest, pk: int) -> HttpResponse:
    rig = get_rig(request, pk)
    return form_page(
        request,
        ManualForm(request.POST or None, request.FILES or None),
        heading=f"Add a manual for {rig}",
        back=reverse("manuals", args=[pk]),
        save=partial(shelf.add_manual, rig, by=request.member),
        done="Saved. Now note the pages you look up often.",
        go_on=lambda made: reverse("manual", args=[made.key]),
    )


@member_required()
def manual(request: HouseholdRequest, key: UUID) -> HttpResponse:
    found = get_manual(request, key)
    return render(request, "vehicles/manual.html", {"manual": found, "rig": found.rig})


@member_required()
def manual_file(request: HouseholdRequest, key: UUID) -> HttpResponseBase:
    """The file itself, shown in the browser, so that a link can lead to its page."""
    found = get_manual(request, key)
    suffix = "" if found.is_image else ".pdf"
    return file_answer(
        shelf.path_of(found),
        content_type=found.content_type,
        name=f"{found.title}{suffix}",
        sha256=found.sha256,
        inline=True,
        keep_for=30 * DAY,  # large, and never another one under this address
    )


@require_POST
@member_required(Role.KEEPER)
def remove_manual(request: HouseholdRequest, key: UUID) -> HttpResponse:
    found = get_manual(request, key)
    shelf.remove_manual(found, by=request.member)
    messages.success(request, f"“{found}” was deleted.")
    return redirect("manuals", found.rig_id)


@member_required(Role.CREW)
def note_page(request: HouseholdRequest, key: UUID) -> HttpResponse:
    found = get_manual(request, key)
    return form_page(
        request,
        PageNoteForm(request.POST or None),
        heading=f"Note a page of {found}",
        back=reverse("manual", args=[key]),
        save=partial(shelf.note_page, found, by=request.member),
        done="Saved.",
    )


@require_POST
@member_required(Role.CREW)
def remove_note(request: HouseholdRequest, pk: int) -> HttpResponse:
    note = get_note(request, pk)
    shelf.remove_note(note, by=request.member)
    messages.success(request, "Note removed. The page is still there.")
    return redirect("manual", note.manual.key)


@member_required()
def spot_photo(request: HouseholdRequest, key: UUID) -> HttpResponseBase:
    spot = get_spot_photo(request, key)
    return file_answer(
        shelf.photo_path_of(spot),
        content_type="image/jpeg",
        name=f"{spot.name}.jpg",
        sha256=spot.sha256,
        inline=True,
    )


@member_required()
def rig_photo(request: HouseholdRequest, key: UUID) -> HttpResponseBase:
    photo = get_rig_photo(request, key)
    return file_answer(
        rig_photo_path(photo),
        content_type="image/jpeg",
        name=f"{photo.rig}.jpg",
        sha256=photo.sha256,
        inline=True,
        keep_for=DAY,  # it stands at the top of many pages
    )
