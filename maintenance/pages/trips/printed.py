"""The trip sheet on paper."""

from django.template.loader import render_to_string

from maintenance.packets.history.build import LETTER

from .sheet import TripSheet


def printed_sheet(sheet: TripSheet) -> str:
    """Whole HTML with its style inside; it loads nothing."""
    household = sheet.trip.rig.household
    context = {
        "sheet": sheet,
        "trip": sheet.trip,
        "household": household,
        "paper": "letter" if household.currency in LETTER else "a4",
    }
    return render_to_string("pages/print/trip.html", context)
