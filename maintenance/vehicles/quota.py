"""How much a household keeps on the disk, and how much it may."""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db.models import Model

from maintenance.households.models import Household
from maintenance.households.refusals import Refused

GB = 1_000_000_000


@dataclass(frozen=True, slots=True)
class KeptFiles:
    """The files of a model's rows: how a row leads to its household, and the file's
    name below the folder of files, made of these fields."""

    model: type[Model]
    household: str
    fields: tuple[str, ...]
    path: Callable[..., str]

    def of(self, household: Household) -> Iterator[Path]:
        rows: Any = self.model._default_manager.filter(**{self.household: household})
        for values in rows.values_list(*self.fields).iterator():
            if all(values):
                yield Path(settings.MEDIA_ROOT) / self.path(*values)


KEPT: list[KeptFiles] = []  # each app adds its own as it gets ready


def refuse_full(household: Household, more: int) -> None:
    """Refused when `more` bytes do not fit any more."""
    most = settings.HOUSEHOLD_FILES_GB * GB
    if most and kept_bytes(household) + more > most:
        raise Refused(
            f"Your household has used all its {settings.HOUSEHOLD_FILES_GB} "
            "GB for files. Delete prints, photos or manuals, or ask whoever "
            "runs Rigsite for more."
        )


def kept_bytes(household: Household) -> int:
    return sum(_sizes(path for kept in KEPT for path in kept.of(household)))


def _sizes(paths: Iterable[Path]) -> Iterator[int]:
    for path in paths:
        try:
            yield path.stat().st_size
        except FileNotFoundError:  # not made yet, or lost
            continue
