"""The trip sheet as a PDF among the packets."""

from datetime import date

import pypdf
import pytest
from django.urls import reverse

from maintenance.findings.models import Finding
from maintenance.packets.files import download_name, path_of
from maintenance.packets.models import Packet
from maintenance.packets.rendering import make_packet
from maintenance.vehicles.models import Trip
from tests import builders
from tests.builders import TODAY

pytestmark = pytest.mark.either_database


@pytest.fixture
def trip(db):
    coach = builders.make_rig(name="Coach")
    Finding.objects.create(rig=coach, what="Cracked hub", found_on=TODAY, unfit=True)
    return Trip.objects.create(
        rig=coach,
        start=date(2026, 5, 10),
        end=date(2026, 5, 27),
        distance=1800,
        title="Coast & <back>",
    )


def test_sheet_is_printed_as_it_stood_when_asked_for(client_as, clock, trip):
    clock("2026-05-04")
    client = client_as(builders.make_member(trip.rig.household, "crew"))

    answer = client.post(reverse("print_trip", args=[trip.pk]))
    packet = Packet.objects.get()
    assert answer.url == reverse("packet", args=[packet.key])
    make_packet(packet, today=TODAY)

    packet.refresh_from_db()
    text = " ".join(
        page.extract_text() for page in pypdf.PdfReader(path_of(packet)).pages
    )
    assert "Trip sheet: Coast & <back>" in text
    assert "DO NOT LEAVE" in text
    assert "Cracked hub" in text
    assert "Walk the last lap before driving off" in text
    assert "8 minutes in all." in text  # lugs 2, lights 2, last lap 4
    assert packet.page == ""
    assert download_name(packet) == "trip-sheet-coach-2026-05-04.pdf"


def test_page_of_the_packet_does_not_offer_to_make_a_history(client_as, clock, trip):
    clock("2026-05-04")
    client = client_as(builders.make_member(trip.rig.household, "crew"))
    client.post(reverse("print_trip", args=[trip.pk]))
    Packet.objects.update(state="ready", pages=2, size=9)

    text = client.get(reverse("packet", args=[Packet.objects.get().key])).text

    assert "Trip sheet, Coach: Coast &amp; &lt;back&gt;" in text
    assert "Make it anew" not in text


def test_viewer_asks_for_no_sheet(client_as, trip):
    client = client_as(builders.make_member(trip.rig.household, "viewer"))

    assert client.post(reverse("print_trip", args=[trip.pk])).status_code == 403


def test_stranger_finds_no_trip(client_as, trip):
    client = client_as(builders.make_member())

    assert client.post(reverse("print_trip", args=[trip.pk])).status_code == 404
    assert client.get(reverse("trip", args=[trip.pk])).status_code == 404
