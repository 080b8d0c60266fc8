"""Files of these tests lie apart from those in use."""

from pathlib import Path
from typing import Any

import pytest


@pytest.fixture(autouse=True)
def _own_data_folder(settings: Any, tmp_path: Path) -> None:
    settings.DATA = tmp_path
