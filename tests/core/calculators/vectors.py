"""The published vectors in `tests/reference/`, as parameters of tests."""

import csv
from pathlib import Path

import pytest

FOLDER = Path(__file__).parents[2] / "reference"


def rows(name: str, what: str, source: str) -> list:
    """Every row of a file; a test's id is the row's `what` and its `source`."""
    with (FOLDER / f"{name}.csv").open(newline="") as file:
        found = list(csv.DictReader(file))
    assert found, name
    return [pytest.param(row, id=f"{row[what]} [{row[source]}]") for row in found]
