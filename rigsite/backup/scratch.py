"""A database made of the lines of a portable backup, apart from the one in use: loaded
as the version that wrote them had its tables, then migrated to those of today."""

import contextlib
import json
from collections.abc import Collection, Iterator, Mapping
from datetime import datetime
from pathlib import Path
from typing import Any

from django.apps.registry import Apps
from django.conf import settings
from django.core.management import call_command
from django.core.serializers import jsonl
from django.core.serializers.base import DeserializationError
from django.db import connection, connections, transaction
from django.db.migrations.executor import MigrationExecutor
from django.db.migrations.graph import MigrationGraph
from django.db.models import DateTimeField, Model
from django.db.utils import load_backend

from maintenance.households.workers import nobody_called
from rigsite.env import sqlite

Migrated = tuple[str, str]  # label of an app, name of a migration


@contextlib.contextmanager
def database_in_use(config: Mapping[str, Any]) -> Iterator[None]:
    """In this thread, whatever asks for the database gets the one of `config` (as
    `rigsite.env` gives it): migrations too, which name none."""
    filled = connections.configure_settings({"default": dict(config)})["default"]
    ours = connections["default"]
    other = load_backend(filled["ENGINE"]).DatabaseWrapper(filled, "default")
    connections["default"] = other
    try:
        yield
    finally:
        other.close()
        connections["default"] = ours


def scratch(file: Path) -> dict[str, Any]:
    """The configuration of a database that nobody uses yet: it waits for the disk once,
    before it is put in place."""
    config = sqlite(file)
    options = config["OPTIONS"]
    command = options["init_command"].replace("synchronous=FULL", "synchronous=OFF")
    return config | {"OPTIONS": options | {"init_command": command}}


@contextlib.contextmanager
def data_in_use(data: Path, *, durable: bool = False) -> Iterator[None]:
    """In this process, whatever asks for the data folder and its SQLite database gets
    these: the program as it would be on them. No worker is called: it sees others.
    Changes outlive a loss of power only where they are to be `durable`."""
    before = settings.DATA, settings.MEDIA_ROOT
    config = sqlite(data / "rigsite.db") if durable else scratch(data / "rigsite.db")
    settings.DATA, settings.MEDIA_ROOT = data, data / "files"
    try:
        with nobody_called(), database_in_use(config):
            yield
    finally:
        settings.DATA, settings.MEDIA_ROOT = before


@contextlib.contextmanager
def database_of_lines(
    lines: Path, to: Path, *, state: Collection[Migrated], whole_moments: bool
) -> Iterator[None]:
    """The lines as an SQLite database in the new file `to`, which is in use for a
    while. `state`: the migrations that were applied where they were written.

    DeserializationError or a DatabaseError when they do not fit it.
    """
    with database_in_use(scratch(to)):
        executor = MigrationExecutor(connection)
        ends = _ends(executor.loader.graph, set(state))
        if set(state) == set(executor.loader.disk_migrations):
            call_command("migrate", interactive=False, verbosity=0)  # at once
        else:
            executor.migrate(ends)
        apps = executor.loader.project_state(ends).apps
        with transaction.atomic():
            for model in apps.get_models(include_auto_created=True):
                # What migrations put there; whom it refers to may go first.
                model._base_manager.all()._raw_delete("default")
            with lines.open(encoding="utf-8") as rows:
                for row in _OldLines(rows, apps):
                    row.save()
            if not whole_moments:
                mend_moments(apps)
            connection.check_constraints()
        call_command("migrate", interactive=False, verbosity=0)
        yield


def _ends(graph: MigrationGraph, state: set[Migrated]) -> list[Migrated]:
    """The last migration of each app in a state; given an earlier one as well, Django
    would go back to it."""
    return sorted(
        key
        for key in state
        if not any(
            child.key[0] == key[0] and child.key in state
            for child in graph.node_map[key].children
        )
    )


class _OldLines(jsonl.Deserializer):
    """Rows of models as they were; Django's own knows those of today alone."""

    def __init__(self, rows: Any, apps: Apps) -> None:
        super().__init__(rows)
        self.apps = apps

    def _get_model_from_node(self, model_identifier: str) -> type[Model]:
        try:
            return self.apps.get_model(model_identifier)
        except LookupError:
            raise DeserializationError(f"no model {model_identifier}") from None


# --- moments that were cut ------------------------------------------------------------


def mend_moments(apps: Any) -> None:
    """The first version wrote moments to the millisecond. The last link of a record
    holds them whole; what differs by more than that was changed, and stays so."""
    record, attachment, link = (
        apps.get_model("service_records", name)
        for name in ("ServiceRecord", "Attachment", "ChainLink")
    )
    links = link.objects.order_by("position").values_list("record", "text")
    for text in dict(links.iterator()).values():
        # A text that was tampered with mends nothing; verifying names it.
        with contextlib.suppress(ValueError, KeyError, TypeError):
            linked = json.loads(text)["record"]
            _mend(record, linked)
            for row in linked["attachments"]:
                _mend(attachment, row)


def _mend(model: Any, linked: Mapping[str, Any]) -> None:
    for field in model._meta.concrete_fields:
        text = linked.get(field.name)
        if isinstance(field, DateTimeField) and text:
            whole = datetime.fromisoformat(text)
            cut = whole.replace(microsecond=whole.microsecond // 1000 * 1000)
            rows = model.objects.filter(pk=linked["id"], **{field.name: cut})
            rows.update(**{field.name: whole})
