"""Rows of a model as a table that a person and a spreadsheet can read.

Written by RFC 4180: CRLF, quotation marks where needed, those inside doubled; UTF-8
with a mark, without which spreadsheet programs misread letters.
"""

import csv
import json
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import IO, Any

from django.db import models

from maintenance.households.models import Household

from .scope import SECRET_FIELDS, label_of, way_home

# What a spreadsheet may run as a formula, at the start of a cell; and, since it may cut
# a cell at another separator than ours, behind each of those. The wide signs are taken
# for formulas by spreadsheets of East Asian languages.
_RUN = re.compile(r"(\A|[;\t|\r\n])([ \u00a0]*[=+\-@＝＋－＠])")  # noqa: RUF001
PORTION = 500  # rows read at once

# Units of figures that stand in one unit only; the others have theirs beside them.
UNITS = {
    "minutes": "min",
    "size": "bytes",
    "horizon_days": "days",
    "shop_wait_days": "days",
    "chassis_capacity": "Ah",
    "house_capacity": "Ah",
    "chassis_drain": "A",
    "house_drain": "A",
    "heater": "gal",
    "propane": "lb",
    "humidity": "%",
    "damp": "%",
    "values": "by meter, in its unit",
    "baseline_values": "by meter, in its unit",
}
VIA_METER = "meter"  # a figure of a meter counts in that meter's unit


@dataclass(frozen=True)
class Column:
    heading: str
    cell: Callable[[Any], Any]


def harmless(value: Any) -> Any:
    """A cell that a spreadsheet shows and never runs, wherever it cuts the line.
    Numbers stay as they are."""
    if not isinstance(value, str):
        return value
    text = _RUN.sub(r"\1'\2", value)
    return f"'{text}" if text.startswith(("\t", "\r", "\n")) else text


def writer_on(out: IO[str]) -> Any:
    return csv.writer(out, lineterminator="\r\n")


def write_table(
    model: type[models.Model], household: Household, names: "Names", out: IO[str]
) -> int:
    """All rows of a household; how many."""
    columns = columns_of(model, names)
    writer = writer_on(out)
    writer.writerow([harmless(column.heading) for column in columns])
    count = 0
    for row in rows_of(model, household):
        writer.writerow([harmless(column.cell(row)) for column in columns])
        count += 1
    return count


def rows_of(model: type[models.Model], household: Household) -> Iterator[models.Model]:
    lookup = way_home(model)
    rows = model._default_manager.filter(**{str(lookup): household.pk}).order_by("pk")
    if _has_meter(model):
        rows = rows.select_related(VIA_METER)
    many = [field.name for field in model._meta.many_to_many]
    return rows.prefetch_related(*many).iterator(chunk_size=PORTION)


class Names:
    """What related rows are called, asked of each model once."""

    def __init__(self, household: Household) -> None:
        self.household = household
        self.known: dict[type[models.Model], dict[Any, str]] = {}

    def of(self, model: type[models.Model], pk: Any) -> str:
        if pk is None:
            return ""
        if model not in self.known:
            self.known[model] = self._all(model)
        return self.known[model].get(pk, "")

    def _all(self, model: type[models.Model]) -> dict[Any, str]:
        if way_home(model) is None:  # the login of a member
            return {
                row.pk: str(row)
                for row in model._default_manager.filter(
                    member__household=self.household
                )
            }
        related = [f.name for f in model._meta.concrete_fields if f.related_model]
        lookup = {str(way_home(model)): self.household.pk}
        rows = model._default_manager.filter(**lookup).select_related(*related)
        return {row.pk: str(row) for row in rows.iterator(chunk_size=PORTION)}


def columns_of(model: type[models.Model], names: Names) -> list[Column]:
    found: list[Column] = []
    for field in model._meta.concrete_fields:
        if field.name not in SECRET_FIELDS:
            found += _columns(model, field, names)
    if _has_meter(model):
        found.append(Column("Unit", lambda row: row.meter.unit))
    for many in model._meta.many_to_many:
        found.append(_many(many))
    return found


def _columns(
    model: type[models.Model], field: models.Field, names: Names
) -> Iterator[Column]:
    heading = str(field.verbose_name)
    heading = heading[:1].upper() + heading[1:]
    target = field.related_model
    if target is not None and not isinstance(target, str):
        attribute = field.attname
        yield Column(f"{heading} (number)", lambda row: getattr(row, attribute))
        yield Column(heading, lambda row: names.of(target, getattr(row, attribute)))
        return
    unit = unit_of(model, field)
    yield Column(
        f"{heading} ({unit})" if unit else heading, lambda row: _plain(row, field)
    )


def _many(field: models.ManyToManyField) -> Column:
    heading = f"{str(field.verbose_name).capitalize()} (numbers)"
    name = field.name
    return Column(
        heading,
        lambda row: " ".join(str(one.pk) for one in getattr(row, name).all()),
    )


def _plain(row: Any, field: models.Field) -> Any:
    value = getattr(row, field.attname)
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, dict | list):
        return json.dumps(value, ensure_ascii=False) if value else ""
    if field.choices:
        return str(getattr(row, f"get_{field.name}_display")())
    if isinstance(value, int | Decimal):
        return value
    return value.isoformat() if hasattr(value, "isoformat") else str(value)


def unit_of(model: type[models.Model], field: models.Field) -> str:
    """The unit for a heading: its own, or where in the row it stands; else nothing."""
    own = {one.name for one in model._meta.concrete_fields}
    named = UNITS_OF_FIELDS.get(f"{label_of(model)}.{field.name}")
    if named or field.name in UNITS:
        return named or UNITS[field.name]
    if not isinstance(field, models.DecimalField):
        return ""
    if "currency" in own and field.decimal_places == 2:
        return "in the currency of the row"
    if "unit" in own or _has_meter(model):
        return "in the unit of the row"
    return ""


# Figures whose unit stands in another row; a test holds this list complete.
UNITS_OF_FIELDS = {
    "plans.deferral.until_value": "in the unit of the item's meter",
    "service_records.partused.price": "in the currency of the record",
    "service_records.partused.quantity": "pieces",
    "service_records.servicerecord.warranty_value": "in the unit of that meter",
    "service_records.torqueplace.figure": "in the unit of the check",
    "service_records.torqueplace.reached": "in the unit of the check",
    "vehicles.stay.lowest": "in the unit of the row",
    "vehicles.stay.usual": "in the unit of the row",
    "vehicles.runwaysetting.seal": "in the unit of the row",
    "vehicles.trip.hitched_at": "in the unit of that odometer",
    "vehicles.trip.unhitched_at": "in the unit of that odometer",
    "vehicles.trip.water": "in the water unit of the row",
    "vehicles.trip.cargo": "in the cargo unit of the row",
    "plans.itemsupply.amount": "in the unit of the supply",
}


def _has_meter(model: type[models.Model]) -> bool:
    return any(field.name == VIA_METER for field in model._meta.concrete_fields)
