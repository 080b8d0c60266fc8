"""`manage.py migrate`: Django's own, but that an empty database gets its tables at
once, as the models are now. A hundred steps, each a change of the one before, take ten
seconds and more of somebody who starts the program for the first time."""

from typing import Any

from django.apps import apps
from django.core.management.commands import migrate
from django.db import connections
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.migrations import RunPython
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.recorder import MigrationRecorder

# With these only some steps are asked for, or none are to be made.
PARTLY = ("app_label", "plan", "check_unapplied", "fake", "fake_initial", "prune")


class Command(migrate.Command):
    def handle(self, *args: Any, **options: Any) -> None:
        connection = connections[options["database"]]
        partly = any(options[name] for name in PARTLY)
        if not partly and not connection.introspection.table_names():
            make_tables(connection)
        super().handle(*args, **options)


def make_tables(connection: BaseDatabaseWrapper) -> None:
    """Every table of an empty database, all or none, and each migration as applied.

    What migrations do besides is done where its hints say `makes_tables`; the others
    move rows, and there are none.
    """
    loader = MigrationLoader(connection)
    with connection.schema_editor() as editor:
        for model in apps.get_models():
            own = model._meta.app_label in loader.migrated_apps
            if own and model._meta.can_migrate(connection):
                editor.create_model(model)
        for step in loader.disk_migrations.values():
            for act in step.operations:
                if isinstance(act, RunPython) and act.hints.get("makes_tables"):
                    act.code(apps, editor)  # type: ignore[arg-type]
        recorder = MigrationRecorder(connection)
        recorder.ensure_schema()
        for key in loader.disk_migrations:
            recorder.record_applied(*key)
