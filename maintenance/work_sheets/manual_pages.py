"""Pointing an item to the page of a manual."""

from django.db import transaction

from maintenance.households.access import require
from maintenance.households.activity import note_activity
from maintenance.households.models import Member, Role
from maintenance.households.refusals import Refused
from maintenance.plans.dropped import refuse_dropped
from maintenance.plans.models import ItemPage, PlanItem
from maintenance.vehicles.manuals import check_page, note_page
from maintenance.vehicles.models import Manual


@transaction.atomic
def point_to_page(
    item: PlanItem, *, by: Member, manual: Manual, page: int = 1, text: str = ""
) -> ItemPage:
    """`text`, what stands there, becomes a note on the page of the manual."""
    require(by, Role.CREW)
    refuse_dropped([item])
    if manual.rig_id != item.rig_id:
        raise Refused("This manual belongs to another rig.", field="manual")
    check_page(manual, page)
    if text and not manual.notes.filter(page=page, text=text).exists():
        note_page(manual, by=by, page=page, text=text)
    made, _new = ItemPage.objects.get_or_create(item=item, manual=manual, page=page)
    note_activity(by, "linked a page", f"{item}: {made}")
    return made


@transaction.atomic
def remove_page(page: ItemPage, *, by: Member) -> None:
    """The page and the notes on it stay with the manual."""
    require(by, Role.CREW)
    note_activity(by, "removed a page link", f"{page.item}: {page}")
    page.delete()
