"""Asking once more, before a trip starts, whether what travels is fit to."""

from collections.abc import Mapping
from datetime import date
from typing import Any

from django import forms

from maintenance.findings.fitness import Reason, fitness_of
from maintenance.households.models import Member
from maintenance.ui.forms import Fieldset
from maintenance.vehicles.models import Rig
from maintenance.vehicles.trip_forms import TripForm

WHY = "leave_anyway"


class LeavingForm(TripForm):
    """A trip that starts today with a rig that is unfit is refused until a keeper says
    why it leaves all the same. One that has started is only told."""

    def __init__(
        self, *args: Any, rig: Rig, by: Member, today: date, **kwargs: Any
    ) -> None:
        super().__init__(*args, rig=rig, **kwargs)
        self.rig, self.by, self.today = rig, by, today
        self.fields[WHY] = forms.CharField(
            label="Why leave anyway?", max_length=200, required=False
        )

    def clean(self) -> dict[str, Any]:
        data = super().clean()
        stops = self._stops(data) if self._starts_now(data) else []
        if not stops:
            return data
        self.layout.insert(0, Fieldset("Not fit to travel", WHY))
        words = "; ".join(f"{one.rig}: {one.what}" for one in stops)
        if not self.by.is_keeper:
            self.add_error(
                WHY,
                f"Don't leave until this is fixed and recorded: {words}. Only a keeper "
                "can override this.",
            )
        elif not data.get(WHY, "").strip():
            self.add_error(
                WHY, f"Don't leave until this is fixed and recorded: {words}."
            )
        return data

    def _starts_now(self, data: Mapping[str, Any]) -> bool:
        start, end, before = data.get("start"), data.get("end"), self.instance.pk
        if start is None or end is None:
            return False
        begun = before is not None and self.initial["start"] <= self.today
        return start <= self.today <= end and not begun

    def _stops(self, data: Mapping[str, Any]) -> list[Reason]:
        rigs = [self.rig, data.get("tow_vehicle"), data.get("towed_car")]
        travel = [one for one in rigs if one is not None]
        found = fitness_of(self.rig.household, self.today, travel)
        return [why for one in found.values() for why in one.unfit]
