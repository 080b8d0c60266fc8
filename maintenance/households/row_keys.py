"""Keys of rows' own: they stay the same when a household moves to another database,
where rows get other numbers. The chain of records names rows by them."""

import uuid
from typing import Any

from django.db import migrations, models
from django.db.migrations.operations.base import Operation

# A random key for each row, in one statement.
RANDOM = {"sqlite": "lower(hex(randomblob(16)))", "postgresql": "gen_random_uuid()"}


def row_key_field() -> models.UUIDField:
    return models.UUIDField(default=uuid.uuid4, unique=True, editable=False)


def add_row_keys(app: str, *names: str) -> list[Operation]:
    """For a migration: the column `row_key` on models of an app, and a key in each row
    that is there."""

    def fill(apps: Any, editor: Any) -> None:
        for name in names:
            _fill(editor, apps.get_model(app, name)._meta.db_table)

    # With a default, SQLite would put the same key into every row.
    empty = models.UUIDField(null=True, editable=False)
    return [
        *(migrations.AddField(name, "row_key", empty) for name in names),
        migrations.RunPython(fill, migrations.RunPython.noop, elidable=False),
        *(migrations.AlterField(name, "row_key", row_key_field()) for name in names),
    ]


def _fill(editor: Any, table: str) -> None:
    random = RANDOM[editor.connection.vendor]
    quoted = editor.quote_name(table)
    editor.execute(f"UPDATE {quoted} SET row_key = {random}")  # noqa: S608  # nosec B608
