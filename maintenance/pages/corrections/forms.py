"""A record's form filled with what it says, to say something else."""

from collections.abc import Iterator, Sequence
from datetime import date
from decimal import Decimal
from typing import Any

from django import forms

from maintenance.households.refusals import Refused
from maintenance.plans.measures import DATE, Measured, from_data
from maintenance.plans.models import PlanItem
from maintenance.service_records.amending import Amended
from maintenance.service_records.models import Attachment, RecordLine, ServiceRecord
from maintenance.service_records.torque import Wheels
from maintenance.service_records.wheels_form import AsksWheels
from maintenance.service_records.wheels_told import WheelWork, wheel_work_in
from maintenance.service_records.work import Line
from maintenance.ui.forms import DayInput, Layout, RowsField
from maintenance.ui.number_fields import MeasureField, NumberField
from maintenance.vehicles.gate import Figure
from maintenance.vehicles.gate_forms import confirmed_in, questionable_in, values_of
from maintenance.vehicles.queries import meters_asked
from maintenance.vehicles.road import tow_meter_on

from ..forms import AMOUNTS, BaseLines, RecordForm, lines_formset

MORE_LINES = 2
STILL_OFF = WheelWork("Wheels off", surely=False)
NOT_OFF_NOW = (
    "This work no longer takes wheels off. Check “No wheel was off”, or save again if "
    "these wheels were off anyway."
)
COLUMNS = ("done_by", "doer", "place", "notes", *AMOUNTS)


class AmendForm(AsksWheels, RecordForm):
    """All of a record but its lines and figures, and why it is changed. Once valid, it
    is asked whether its figures fit and which wheels were off."""

    meant: dict[str, Figure]
    wheels: Wheels | None = None  # None: as the record says
    asks_still_off = False

    why = forms.CharField(
        label="Why are you correcting it?",
        max_length=200,
        help_text="The old version stays, with your name and this reason.",
    )
    remove = RowsField(
        label="Remove these files from the record",
        queryset=Attachment.objects.none(),
        required=False,
    )

    def __init__(self, *args: Any, record: ServiceRecord, **kwargs: Any):
        names = ("form_token", "on", "until", *COLUMNS)
        start = {name: getattr(record, name) for name in names}
        start |= {f"meter_{kind}": value for kind, value in record.values.items()}
        meters = meters_asked(record.rig, record.values)
        tow = tow_meter_on(record.rig, record.on)
        super().__init__(
            *args, rig=record.rig, meters=meters, tow=tow, initial=start, **kwargs
        )
        self.fields["remove"].queryset = record.attachments.all()
        self.record = record
        self.layout = Layout(*self.fields)
        self.said = wheel_work_in(record.rig, _said(record), record.notes)
        self.add_wheels(record.rig)
        if record.wheels_off:
            self.initial["wheels_off"] = record.wheels_off
            self.show_wheels()
        for name in AMOUNTS:
            self.fields[name].help_text = ""  # here nothing is summed: it says what is

    def figures_fit(self, today: date) -> bool:
        """False after asking about each changed figure that does not fit the others."""
        try:
            self.meant = self._changed_figures(today)
        except Refused as refusal:
            self.add_error(refusal.field, refusal.text)
            return False
        return True

    def wheels_answered(self, lines: Sequence[Line]) -> bool:
        """False after asking which wheels were off."""
        work = wheel_work_in(self.record.rig, lines, self.cleaned_data["notes"])
        try:
            if work != self.said:
                self.wheels = self._wheels_now(work)
            elif self.record.wheels_off:
                self.wheels = self.wheels_for(work or STILL_OFF)
        except Refused as refusal:
            self.add_error(refusal.field, refusal.text)
            return False
        return True

    def _wheels_now(self, work: WheelWork | None) -> Wheels | None:
        """What took wheels off is another work now, or none that does: then it is asked
        once whether they were off all the same."""
        if work is not None:
            return self.wheels_for(work)
        off = self.record.wheels_off
        if off and set(self.cleaned_data["wheels_off"]) == set(off):
            self.asks_still_off = True
            if not self.data.get("still_off"):
                raise Refused(NOT_OFF_NOW, field="wheels_off")
        return self.wheels_for(STILL_OFF) if off else None

    def _changed_figures(self, today: date) -> dict[str, Figure]:
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


def _said(record: ServiceRecord) -> list[Line]:
    rows = record.lines.all()
    return [Line(row.title, row.item, row.outcome, row.note) for row in rows]


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
) -> Amended:
    """What the three forms say; the first lines are those that the record has."""
    data, meant = form.cleaned_data, form.meant
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
        wheels=form.wheels,
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
