"""Another database in the place of the one that is in use, for a while."""

import contextlib
from collections.abc import Iterator, Mapping
from typing import Any

from django.db import connections
from django.db.utils import load_backend


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
