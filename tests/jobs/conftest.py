"""Each test runs with a job of every kind."""

from collections.abc import Callable
from typing import Any

import pytest

from maintenance.exchange.models import ExportJob, ImportJob
from maintenance.jobs import services
from maintenance.jobs.models import LongJob
from maintenance.packets.models import Packet
from tests.builders import TODAY, make_rig

Make = Callable[..., LongJob]


@pytest.fixture(params=[Packet, ImportJob, ExportJob])
def kind(request: Any) -> type[LongJob]:
    return request.param


@pytest.fixture
def make(db: None, kind: type[LongJob]) -> Make:
    """Makes a job of this kind, queued unless told otherwise."""

    def make_job(**fields: Any) -> LongJob:
        own: dict[str, Any] = {"file_name": "log.csv", "total": 40}
        if kind is Packet:
            own = {"kind": "history", "as_of": TODAY}
        rig = fields.pop("rig", None) or make_rig()
        if kind is ExportJob:
            own, fields = {"total": 40}, {"household": rig.household} | fields
        else:
            fields = {"rig": rig} | fields
        return kind.objects.create(**{"state": kind.QUEUED} | own | fields)

    return make_job


@pytest.fixture
def called(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """The jobs that the workers were called for."""
    found: list[int] = []
    monkeypatch.setattr(services, "call_worker", lambda _task, pk: found.append(pk))
    return found
