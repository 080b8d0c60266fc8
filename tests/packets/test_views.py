"""The pages of packets, for a stranger and for each role."""

import re
from datetime import timedelta

import pytest
from celery import current_app
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from maintenance.packets.files import path_of
from maintenance.packets.models import Packet, PacketState
from tests.builders import TODAY, make_household, make_member, make_reading, make_rig
from tests.packets.builders import make_record

pytestmark = pytest.mark.django_db

ROLES = ["viewer", "crew", "keeper"]


@pytest.fixture(autouse=True)
def _no_workers(monkeypatch) -> None:
    monkeypatch.setattr(current_app, "send_task", lambda *a, **k: None)


@pytest.fixture
def rig():
    return make_rig(name="Marlow")


def make_packet(rig, state=PacketState.READY, **fields) -> Packet:
    packet = Packet.objects.create(
        rig=rig, kind="history", as_of=TODAY, state=state, **fields
    )
    if state == PacketState.READY:
        path_of(packet).parent.mkdir(parents=True, exist_ok=True)
        path_of(packet).write_bytes(b"%PDF-of-marlow")
        Packet.objects.filter(pk=packet.pk).update(pages=14, size=14)
    return packet


def as_role(client_as, rig, role):
    return client_as(make_member(rig.household, role))


def pages_of(packet) -> list[str]:
    return [
        reverse("packet", args=[packet.key]),
        reverse("packet_file", args=[packet.key]),
        reverse("preview_history", args=[packet.rig_id]),
    ]


def posts_of(packet) -> list[str]:
    return [
        reverse("ask_for_history", args=[packet.rig_id]),
        reverse("stop_packet", args=[packet.key]),
        reverse("remove_packet", args=[packet.key]),
    ]


def read_whole(answer) -> bytes:
    """A file stays open until it is read to its end."""
    return b"".join(answer.streaming_content) if answer.streaming else answer.content


def test_who_is_not_logged_in_is_sent_to_log_in(client, rig):
    packet = make_packet(rig)
    for url in [reverse("packets"), *pages_of(packet)]:
        assert client.get(url).url.startswith(reverse("login"))
    for url in posts_of(packet):
        assert client.post(url).url.startswith(reverse("login"))


def test_stranger_finds_nothing(client_as, rig):
    packet = make_packet(rig)
    stranger = client_as(make_member(make_household(), "keeper"))
    for url in pages_of(packet):
        assert stranger.get(url).status_code == 404
    for url in posts_of(packet):
        assert stranger.post(url).status_code == 404
    assert b"Marlow" not in stranger.get(reverse("packets")).content


@pytest.mark.parametrize("role", ROLES)
def test_every_member_sees_the_list_a_packet_its_file_and_a_preview(
    client_as, rig, role
):
    packet = make_packet(rig)
    browser = as_role(client_as, rig, role)
    for url in [reverse("packets"), *pages_of(packet)]:
        answer = browser.get(url)
        read_whole(answer)
        assert answer.status_code == 200


def test_viewer_may_not_ask_stop_or_remove_and_gets_no_buttons(client_as, rig):
    packet = make_packet(rig)
    browser = as_role(client_as, rig, "viewer")
    for url in posts_of(packet):
        assert browser.post(url).status_code == 403
    for url in (reverse("packets"), pages_of(packet)[0]):
        assert b"ask/" not in browser.get(url).content


@pytest.mark.parametrize("role", ["crew", "keeper"])
def test_crew_and_keeper_ask_and_land_on_the_packet(client_as, rig, role):
    browser = as_role(client_as, rig, role)

    answer = browser.post(reverse("ask_for_history", args=[rig.pk]))

    packet = Packet.objects.get()
    assert answer.url == reverse("packet", args=[packet.key])
    assert packet.as_of is not None


@pytest.mark.parametrize("name", ["ask_for_history", "stop_packet", "remove_packet"])
def test_looking_at_a_change_changes_nothing(client_as, rig, name):
    packet = make_packet(rig)
    url = reverse(name, args=[rig.pk if name == "ask_for_history" else packet.key])

    assert as_role(client_as, rig, "keeper").get(url).status_code == 405
    assert Packet.objects.get() == packet


def test_file_comes_with_a_name_and_is_kept_by_nobody(client_as, rig):
    packet = make_packet(rig)

    answer = as_role(client_as, rig, "viewer").get(
        reverse("packet_file", args=[packet.key])
    )

    assert read_whole(answer) == b"%PDF-of-marlow"
    assert answer["Content-Type"] == "application/pdf"
    assert answer["Content-Disposition"] == (
        'attachment; filename="service-history-marlow-2026-05-04.pdf"'
    )
    assert "no-store" in answer["Cache-Control"]
    assert answer["X-Content-Type-Options"] == "nosniff"


def test_file_of_a_rig_with_a_foreign_name_keeps_that_name(client_as):
    rig = make_rig(name="Möwe / 2")
    packet = make_packet(rig)

    answer = as_role(client_as, rig, "viewer").get(
        reverse("packet_file", args=[packet.key])
    )

    read_whole(answer)
    assert "service-history-m%C3%B6we-2-2026-05-04.pdf" in answer["Content-Disposition"]


@pytest.mark.parametrize("state", ["queued", "rendering", "failed", "stopped"])
def test_packet_that_is_not_ready_has_no_file(client_as, rig, state):
    packet = make_packet(rig, state=state)
    browser = as_role(client_as, rig, "viewer")

    assert browser.get(reverse("packet_file", args=[packet.key])).status_code == 404


def test_file_that_is_gone_is_not_found(client_as, rig):
    packet = make_packet(rig)
    path_of(packet).unlink()
    browser = as_role(client_as, rig, "viewer")

    assert browser.get(reverse("packet_file", args=[packet.key])).status_code == 404


def test_page_shows_progress_and_works_without_script(client_as, rig):
    packet = make_packet(rig, state="rendering", step="Setting page 7", percent=60)
    url = reverse("packet", args=[packet.key])

    text = as_role(client_as, rig, "crew").get(url).content.decode()

    assert "Setting page 7" in text
    assert 'value="60" max="100"' in text
    assert f'href="{url}"' in text  # look again
    assert reverse("stop_packet", args=[packet.key]) in text


def test_page_of_a_failure_says_why_and_offers_another_try(client_as, rig):
    packet = make_packet(rig, state="failed", problem="Printing stopped with an error.")

    text = as_role(client_as, rig, "crew").get(pages_of(packet)[0]).content.decode()

    assert "Printing stopped with an error." in text
    assert reverse("ask_for_history", args=[rig.pk]) in text


def test_stopping_leads_back_to_the_packet(client_as, rig):
    packet = make_packet(rig, state="rendering")
    browser = as_role(client_as, rig, "crew")

    answer = browser.post(reverse("stop_packet", args=[packet.key]), follow=True)

    assert "Stopped" in answer.content.decode()


def test_stopping_too_late_says_so(client_as, rig):
    packet = make_packet(rig)
    browser = as_role(client_as, rig, "crew")

    answer = browser.post(reverse("stop_packet", args=[packet.key]), follow=True)

    assert "already done or stopped" in answer.content.decode()


def test_removing_takes_it_off_the_list(client_as, rig):
    packet = make_packet(rig)
    browser = as_role(client_as, rig, "crew")

    answer = browser.post(reverse("remove_packet", args=[packet.key]), follow=True)

    assert "Removed." in answer.content.decode()
    assert not Packet.objects.exists()


def test_preview_shows_the_history_and_lets_nothing_load(client_as, rig):
    make_record(rig, titles=["Wheel bearings packed"], notes="<script>go()</script>")

    answer = as_role(client_as, rig, "viewer").get(
        reverse("preview_history", args=[rig.pk])
    )

    assert "Wheel bearings packed" in answer.content.decode()
    assert "<script" not in answer.content.decode()
    policy = answer["Content-Security-Policy"]
    assert "default-src 'none'" in policy
    assert "script-src" not in policy


def test_preview_lets_the_charts_of_the_history_show(client_as, rig):
    """They lie in the page; from elsewhere nothing is let in."""
    for days, value in ((90, 41_000), (40, 43_000), (0, 46_000)):
        make_reading(rig, TODAY - timedelta(days=days), value)

    answer = as_role(client_as, rig, "viewer").get(
        reverse("preview_history", args=[rig.pk])
    )

    said = [part.split() for part in answer["Content-Security-Policy"].split(";")]
    policy = {name: allowed for name, *allowed in said}
    pictures = re.findall(r'<img[^>]* src="([^"]*)"', answer.text)
    assert any(each.startswith("data:image/svg+xml") for each in pictures)
    assert {each.partition(":")[0] for each in pictures} == {"data"}
    assert policy["img-src"] == ["data:"]


def test_household_without_a_rig_is_told_what_to_do(client_as):
    text = client_as(make_member()).get(reverse("packets")).content.decode()

    assert "No rig yet" in text


def queries_for(client_as, number: int) -> int:
    household = make_household()
    for _n in range(number):
        rig = make_rig(household)
        make_packet(rig, asked_by=make_member(household))
    browser = client_as(make_member(household))
    with CaptureQueriesContext(connection) as found:
        browser.get(reverse("packets"))
    return len(found)


def test_list_of_thirty_takes_as_many_queries_as_of_three(client_as):
    assert queries_for(client_as, 30) == queries_for(client_as, 3)
