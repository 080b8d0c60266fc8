"""Who says that what standings rest on has changed, and who listens."""

from pathlib import Path

import maintenance
from maintenance.households.changes import inputs_changed

HOUSE = Path(maintenance.__file__).parent


def files_with(words):
    return sorted(
        path.relative_to(HOUSE).as_posix()
        for path in HOUSE.rglob("*.py")
        if words in path.read_text()
    )


def test_change_is_told_by_services_below_plans_alone():
    """From plans up, whoever changes what counts calls `renew_rigs` itself."""
    assert files_with("inputs_changed.send(") == [
        "households/services.py",
        "vehicles/correcting.py",
        "vehicles/events.py",
        "vehicles/rhythm.py",
        "vehicles/services.py",
        "vehicles/trips.py",
    ]


def test_change_has_one_receiver():
    assert files_with("inputs_changed.connect(") == ["plans/apps.py"]
    assert len(inputs_changed.receivers) == 1
