"""Forms of the seasons and of the temperatures by month."""

from collections.abc import Iterator
from decimal import Decimal

from django import forms
from django.core.exceptions import ValidationError
from django.utils.dates import MONTHS

from maintenance.core.units import UnitError, convert, parse_measure
from maintenance.ui.forms import Fieldset, Layout
from maintenance.ui.number_fields import typed_number

from .climate import PRESETS, climate_of
from .models import Household, SeasonsBy, check_month_day

COLDEST, HOTTEST = Decimal(-60), Decimal(150)  # °F, as the bench takes it


class TemperatureField(forms.CharField):
    """A temperature in `unit`; `-5 °C` is understood where it is °F, too."""

    def __init__(self, *, unit: str = "°F", **kwargs):
        kwargs.setdefault("max_length", 12)
        super().__init__(**kwargs)
        self.unit = unit
        self.widget.attrs.update({"inputmode": "text", "autocomplete": "off"})

    def prepare_value(self, value):
        return typed_number(value) if isinstance(value, Decimal) else value

    def clean(self, value) -> Decimal | None:
        text = super().clean(value)
        if not text:
            return None
        try:
            given = parse_measure(text, self.unit)
            warm = convert(given.value, given.unit, "°F")
            found = convert(given.value, given.unit, self.unit)
        except UnitError as error:
            raise ValidationError(str(error)) from None
        if not COLDEST <= warm <= HOTTEST:
            raise ValidationError(
                "%(given)s can't be right. Enter %(low)s to %(high)s.",
                params={
                    "given": f"{given.value} {given.unit}",
                    "low": self._shown(COLDEST),
                    "high": self._shown(HOTTEST),
                },
            )
        return found.quantize(Decimal("0.1"))

    def _shown(self, warm: Decimal) -> str:
        return f"{convert(warm, '°F', self.unit):.0f} {self.unit}"


class SeasonsForm(forms.Form):
    seasons_by = forms.ChoiceField(
        label="Seasons by",
        choices=[pair for pair in SeasonsBy.choices if pair[0] != SeasonsBy.OWN],
        widget=forms.RadioSelect,
    )
    begins = forms.CharField(
        label="Usually begins",
        max_length=5,
        validators=[check_month_day],
        help_text="First frost or first heavy rain, as month and day.",
    )
    ends = forms.CharField(
        label="Usually ends",
        max_length=5,
        validators=[check_month_day],
        help_text="Last frost, or the end of the wet season.",
    )

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        for name in ("begins", "ends"):
            self.fields[name].widget.attrs["placeholder"] = "10-15"


def seasons_start(household: Household, preset: str) -> dict[str, str]:
    """What the form begins with: a preset that was chosen, else what is kept."""
    if preset in PRESETS:
        _words, seasons_by, begins, ends = PRESETS[preset]
        return {"seasons_by": seasons_by, "begins": begins, "ends": ends}
    kept = household.seasons_by
    return {
        "seasons_by": SeasonsBy.FROST if kept == SeasonsBy.OWN else kept,
        "begins": household.cold_from,
        "ends": household.cold_to,
    }


class ClimateForm(forms.Form):
    """Twelve months with two figures each; none is needed."""

    def __init__(self, *args, household: Household, **kwargs):
        super().__init__(*args, **kwargs)
        unit = household.temperature_unit
        same = household.climate_unit == unit
        known = climate_of(household) if same else [(None, None)] * 12
        rows = []
        for number, (lowest, usual) in enumerate(known, start=1):
            for name, label, value in (
                (f"lowest_{number}", "Lowest (%(unit)s)", lowest),
                (f"usual_{number}", "Usual (%(unit)s)", usual),
            ):
                self.fields[name] = TemperatureField(
                    label=label % {"unit": unit},
                    unit=unit,
                    required=False,
                    initial=value,
                )
            pair = (f"lowest_{number}", f"usual_{number}")
            rows.append(Fieldset(MONTHS[number].capitalize(), *pair))
        self.layout = Layout(*rows)

    def months(self) -> Iterator[tuple[Decimal | None, Decimal | None]]:
        for number in range(1, 13):
            data = self.cleaned_data
            yield data[f"lowest_{number}"], data[f"usual_{number}"]
