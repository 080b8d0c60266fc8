"""The page on which photos land unfiled, and from which they are filed."""

from uuid import UUID

from django import forms
from django.contrib import messages
from django.http import HttpResponse, HttpResponseBase, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from maintenance.core.words import counted
from maintenance.households.access import (
    HouseholdRequest,
    get_or_404,
    member_required,
    row_id,
)
from maintenance.households.models import Role
from maintenance.households.refusals import Refused
from maintenance.households.sent_forms import SentBefore, once
from maintenance.ui.forms import FilesField
from maintenance.vehicles.access import get_rig
from maintenance.vehicles.queries import rigs_of
from maintenance.vehicles.uploads import file_answer

from .access import get_record
from .amending import add_proof
from .models import ServiceRecord, UnfiledPhoto
from .proof import proof_folder
from .unfiled_photos import is_key, keep_snaps, throw_away, thumbnail, unfiled

LATEST = 30  # records that a photo may be filed with


@member_required(Role.CREW)
def snaps(request: HouseholdRequest) -> HttpResponse:
    """Take photos in without asking anything, and list those that wait."""
    if request.method == "POST":
        try:
            with once(request):
                _take_in(request)
        except SentBefore:
            messages.info(request, "These were saved the first time you sent them.")
        except Refused as refusal:
            messages.error(request, refusal.text)
        return redirect("snaps")
    household = request.member.household
    records = ServiceRecord.objects.for_household(household).standing_records()
    context = {
        "rows": unfiled(household),
        "rigs": rigs_of(household),
        "records": records.select_related("rig").prefetch_related("lines")[:LATEST],
    }
    return render(request, "service_records/snaps.html", context)


def _take_in(request: HouseholdRequest) -> None:
    try:
        uploads = FilesField(required=False).clean(request.FILES.getlist("photos"))
        kept, refused = keep_snaps(
            request.member.household, by=request.member, uploads=uploads
        )
    except forms.ValidationError as error:
        kept, refused = [], error.messages
    except Refused as refusal:
        kept, refused = [], [refusal.text]
    if kept:
        words = counted(len(kept), "photo or file saved", "photos or files saved")
        messages.success(request, f"{words}. File them with a record later.")
    elif not refused:
        refused = ["Choose a photo first."]
    for text in refused:
        messages.error(request, text)


@require_POST
@member_required(Role.CREW)
def sort_snaps(request: HouseholdRequest) -> HttpResponse:
    """What to do with the ticked ones: a new record of a rig, or away with them."""
    chosen = _chosen(request)
    if not chosen:
        messages.error(request, "Check the photos first.")
        return redirect("snaps")
    if request.POST.get("do") == "throw":
        count = throw_away(chosen, by=request.member)
        words = counted(count, "photo or file deleted.", "photos or files deleted.")
        messages.success(request, words)
        return redirect("snaps")
    if request.POST.get("do") == "add":
        return _add(request, chosen)
    rig = get_rig(request, row_id(request.POST.get("rig", "")) or 0)
    query = QueryDict(mutable=True)
    query.setlist("snap", [str(snap.key) for snap in chosen])
    return redirect(f"{reverse('record_work', args=[rig.pk])}?{query.urlencode()}")


def _add(request: HouseholdRequest, chosen: list[UnfiledPhoto]) -> HttpResponse:
    """With a record that is there already."""
    record = get_record(request, row_id(request.POST.get("record", "")) or 0)
    try:
        add_proof(
            record,
            by=request.member,
            snaps=chosen,
            why=request.POST.get("why", "").strip() or "Proof filed later",
        )
    except Refused as refusal:
        messages.error(request, refusal.text)
        return redirect("snaps")
    messages.success(request, "Filed with the record.")
    return redirect("record", record.pk)


def _chosen(request: HouseholdRequest) -> list[UnfiledPhoto]:
    keys = [text for text in request.POST.getlist("snap") if is_key(text)]
    return list(unfiled(request.member.household).filter(key__in=keys))


@member_required(Role.CREW)
def snap(request: HouseholdRequest, key: UUID) -> HttpResponseBase:
    """The file of one that waits; `small` asks for a thumbnail."""
    found = get_or_404(unfiled(request.member.household), key=key)
    if "small" in request.GET and found.is_image:
        answer = HttpResponse(thumbnail(found), content_type="image/jpeg")
        answer["X-Content-Type-Options"] = "nosniff"
        answer["Cache-Control"] = "no-store"
        return answer
    return file_answer(
        proof_folder() / found.stored,
        content_type=found.content_type,
        name=found.title,
        sha256=found.sha256,
        inline=found.is_image,
    )
