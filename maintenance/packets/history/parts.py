"""Parts of limited life in print, as 14 CFR 91.417(a)(2) asks of aircraft."""

from collections.abc import Iterable

from maintenance.plans.life_list import Left, LifeRow

from .model import PartRow


def part_rows(rows: Iterable[LifeRow]) -> tuple[PartRow, ...]:
    return tuple(
        PartRow(
            name=row.title,
            serial=row.component.serial,
            made=f"{row.made}; {row.age} old" if row.age else row.made or "not known",
            service=row.since,
            used=row.used,
            left=tuple(map(_left, row.limits)),
        )
        for row in rows
    )


def _left(limit: Left) -> str:
    return f"{limit.what}: {limit.left}" if limit.left else limit.what
