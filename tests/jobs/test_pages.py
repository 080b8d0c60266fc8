"""The page by which a job is followed and stopped, the same for every kind."""

import pytest
from django.urls import reverse

from maintenance.exchange.models import ExportJob, ImportJob
from maintenance.packets.models import Packet
from tests.builders import make_member


@pytest.fixture
def job(make, kind):
    """A quarter of it is done."""
    if kind is Packet:
        return make(state=kind.RUNNING, step="Setting page 7", percent=25)
    in_it = "added" if kind is ImportJob else "done"
    return make(state=kind.RUNNING, total=40, **{in_it: 10})


@pytest.fixture
def crew(job, client_as):
    """Everything is taken out by keepers alone."""
    role = "keeper" if isinstance(job, ExportJob) else "crew"
    return client_as(make_member(job.its_household(), role))


def url_of(job, act: str = "") -> str:
    name = {Packet: "packet", ImportJob: "bringing", ExportJob: "export"}[type(job)]
    return reverse(f"{act}{name}", args=[job.key])


def asked_by_htmx(client, job, seen=""):
    headers = {"HX-Request": "true"}
    return client.get(url_of(job), {"seen": seen}, headers=headers)


def test_page_then_progress_that_asks_again_and_works_without_script(crew, job):
    text = crew.get(url_of(job)).content.decode()

    seen = f"{job.state}-{job.progress.done}"
    assert job.progress.words in text
    done, total = job.progress.done, job.progress.total
    assert f'value="{done}" max="{total}"' in text
    assert f'hx-get="{url_of(job)}?seen={seen}"' in text
    assert f'<a class="button" href="{url_of(job)}">Check again</a>' in text
    assert f'action="{url_of(job, "stop_")}"' in text


def test_asked_by_htmx_then_the_fragment_alone(crew, job):
    text = asked_by_htmx(crew, job).content.decode()

    assert "progress-box" in text
    assert "<html" not in text


def test_asked_by_htmx_when_nothing_changed_then_nothing(crew, job):
    seen = f"{job.state}-{job.progress.done}"

    answer = asked_by_htmx(crew, job, seen)

    assert (answer.status_code, answer.content) == (204, b"")


@pytest.mark.parametrize("state", ["STOPPED", "FAILED"])
def test_asked_by_htmx_when_over_then_the_page_is_loaded(crew, job, kind, state):
    kind.objects.update(state=getattr(kind, state))

    assert asked_by_htmx(crew, job)["HX-Refresh"] == "true"


def test_stop_then_the_page_says_so_and_a_second_stop_that_it_is_too_late(
    crew, job, kind
):
    first = crew.post(url_of(job, "stop_"))
    second = crew.post(url_of(job, "stop_"), follow=True)

    assert first.url == url_of(job)
    assert kind.objects.get().state == kind.STOPPED
    assert kind.NOTHING_TO_STOP in second.content.decode()


# Files are for crew alone.
@pytest.mark.parametrize("kind", [Packet], indirect=True)
def test_page_for_a_viewer_of_packets_then_without_stop(make, client_as):
    packet = make()
    viewer = client_as(make_member(packet.rig.household, "viewer"))

    text = viewer.get(url_of(packet)).content.decode()

    assert "Waiting for its turn" in text
    assert url_of(packet, "stop_") not in text
