"""A record's form filled with what it says, to say something else."""

from collections.abc import Iterator
from datetime import date
from decimal import Decimal
from typing import Any

from django import forms

from maintenance.plans.measures import DATE, Measured, from_data
from maintenance.plans.models import PlanItem
from maintenance.service_records.amending import Amended
from maintenance.service_records.models import Attachment, RecordLine, ServiceRecord
from maintenance.service_records.work import Line
from maintenance.ui.forms import DayInput, PageFormHelper, RowsField
from maintenance.ui.number_fields import MeasureField, NumberField
from maintenance.vehicles.gate import Figure
from maintenance.vehicles.gate_forms import confirmed_in, questionable_in, values_of
from maintenance.vehicles.road import tow_meter_on

from ..forms import AMOUNTS, BaseLines, RecordForm, lines_formset

MORE_LINES = 2
COLUMNS = ("done_by", "doer", "place", "notes", *AMOUNTS)


class AmendForm(RecordForm):
    """All of a record but its lines and figures, and why it is changed."""

    why = forms.CharField(
        label="Why it is amended",
        max_length=200,
        help_text="What it said stays readable, with your name and this reason.",
    )
    remove = RowsField(
        label="Take these files off the record",
        queryset=Attachment.objects.none(),
        required=False,
    )

    def __init__(self, *args: Any, record: ServiceRecord, **kwargs: Any):
        names = ("form_token", "on", "until", *COLUMNS)
        start = {name: getattr(record, name) for name in names}
        start |= {f"meter_{kind}": value for kind, value in record.values.items()}
        meters = list(record.rig.meters.all())
        tow = tow_meter_on(record.rig, record.on)
        super().__init__(
            *args, rig=record.rig, meters=meters, tow=tow, initial=start, **kwargs
        )
        self.fields["remove"].queryset = record.attachments.all()
        self.record = record
        for name in AMOUNTS:
            self.fields[name].help_text = ""  # here nothing is summed: it says what is

    def changed_figures(self, today: date) -> dict[str, Figure]:
        """Those that say something else than the record did, or of another day."""
        record, typed = self.record, self.values()
        moved = self.cleaned_data["on"] != record.on or record.until is not None
        meters = {
            name: meter
            for name, meter in self.meters.items()
            if moved or not _same(record.values.get(name), typed.get(name))
        }
        given = record.readings.filter(withdrawn=False).values_list("pk", flat=True)
        return self.as_meant(today, meters, given)


def _same(said: str | None, typed: Decimal | None) -> bool:
    return (None if said is None else Decimal(said)) == typed


class FiguresForm(forms.Form):
    """What was measured and which torque was reached, one field for each."""

    def __init__(self, *args: Any, record: ServiceRecord, **kwargs: Any):
        super().__init__(*args, **kwargs)
        self.measured: dict[int, list[Measured]] = {}
        for line in record.lines.all():
            self.measured[line.pk] = from_data(line.measures)
            for n, one in enumerate(self.measured[line.pk]):
                self.fields[f"line_{line.pk}_{n}"] = _field_of(line, one)
        self.torque = getattr(record, "torque", None)
        self.places = list(self.torque.places.all()) if self.torque else []
        if self.torque is not None:
            self._add_torque()
        self.helper = PageFormHelper()

    def _add_torque(self) -> None:
        unit = self.torque.unit
        self.fields["figure"] = MeasureField(
            label="Specified torque", unit=unit, initial=self.torque.figure
        )
        for row in self.places:
            label = f"{row.place} reached"
            self.fields[f"reached_{row.pk}"] = MeasureField(
                label=label, unit=unit, initial=row.reached, required=False
            )

    def measures_of(self, row: RecordLine) -> list[Measured]:
        return [
            Measured(
                one.name, self.cleaned_data[f"line_{row.pk}_{n}"], one.unit, one.place
            )
            for n, one in enumerate(self.measured.get(row.pk, ()))
        ]

    def reached(self) -> dict[int, Decimal | None]:
        return {row.pk: self.cleaned_data[f"reached_{row.pk}"] for row in self.places}


def _field_of(line: RecordLine, one: Measured) -> forms.Field:
    label = " ".join(filter(None, [f"{line.title}: {one.name}", one.place]))
    if one.unit == DATE:
        return forms.DateField(label=label, initial=one.value, widget=DayInput)
    return NumberField(label=f"{label} ({one.unit})", initial=one.value)


def amend_lines(record: ServiceRecord, data: Any) -> BaseLines:
    rows = list(record.lines.all())
    start = [
        {
            "item": row.item,
            "title": "" if row.item else row.title,
            "outcome": row.outcome,
            "note": row.note,
        }
        for row in rows
    ]
    items = PlanItem.objects.filter(rig=record.rig).order_by("title")
    return lines_formset(MORE_LINES)(
        data, prefix="lines", initial=start, form_kwargs={"items": items}
    )


def amended_from(
    record: ServiceRecord,
    form: AmendForm,
    lines: BaseLines,
    figures: FiguresForm,
    today: date,
) -> Amended:
    """What the three forms say; the first lines are those that the record has. Refused
    where a changed figure does not fit."""
    data, meant = form.cleaned_data, form.changed_figures(today)
    return Amended(
        on=data["on"],
        until=data["until"],
        lines=list(_lines(record, lines, figures)),
        values=form.values() | values_of(meant),
        confirmed=bool(confirmed_in(meant)),
        questionable=questionable_in(meant),
        fields={name: data[name] for name in COLUMNS},
        figure=figures.cleaned_data.get("figure"),
        reached=figures.reached(),
        removed=list(data["remove"]),
    )


def _lines(
    record: ServiceRecord, lines: BaseLines, figures: FiguresForm
) -> Iterator[tuple[RecordLine | None, Line]]:
    rows = [*record.lines.all(), *[None] * MORE_LINES]
    for row, form in zip(rows, lines.forms, strict=False):
        line = form.line()
        if line is None:
            continue
        if row is None:
            yield None, line
            continue
        title = row.title if row.item and row.item == line.item else line.title
        steps = [(words, ticked) for words, ticked in row.steps]
        measures = figures.measures_of(row)
        yield row, Line(title, line.item, line.outcome, line.note, measures, steps)
