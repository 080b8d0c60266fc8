"""How long alarms live: by label, else by kind."""

from datetime import date

import pytest

from maintenance.core.calculators import alarms


@pytest.mark.parametrize(
    ("kind", "made", "label", "expected"),
    [
        pytest.param("smoke", "2016-04", None, "2026-04-30", id="D6 NFPA 72"),
        pytest.param("propane", "2021-09", 5, "2026-09-30", id="D7 maker's life"),
        pytest.param("propane", "2021-09", None, "2026-09-30", id="D7 by default"),
        pytest.param("co", "2019-09", 7, "2026-09-30", id="D8 label life"),
        pytest.param("co", "2019-09", None, "2024-09-30", id="no label: date code + 5"),
        pytest.param("smoke", "2016-04", 12, "2026-04-30", id="NFPA 72: never more"),
        pytest.param("co_smoke", "2016-04", 15, "2026-04-30", id="the shorter part"),
    ],
)
def test_renew_by(kind, made, label, expected):
    found = alarms.renew_by(kind, date.fromisoformat(f"{made}-01"), label=label)
    assert found == date.fromisoformat(expected)
