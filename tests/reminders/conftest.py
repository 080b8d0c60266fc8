"""Connections to the broker made anew for each test that sends calls to workers."""

from collections.abc import Iterator

import pytest
from kombu import pools

from rigsite.celery import app


def forget_connections() -> None:
    """Pools that another test has closed stay in kombu's registry, by their address."""
    pools.reset()
    app._pool = app.amqp._producer_pool = None


@pytest.fixture(autouse=True)
def _fresh_connections() -> None:
    forget_connections()


@pytest.fixture
def broker(broker: str) -> Iterator[str]:
    forget_connections()
    yield broker
    forget_connections()
