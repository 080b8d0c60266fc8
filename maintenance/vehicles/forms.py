"""Forms about rigs: the rig itself, readings, stays, trips."""

from collections.abc import Iterable
from datetime import date, timedelta
from decimal import Decimal

from django import forms

from maintenance.core.units import convert
from maintenance.households.climate import expected_between
from maintenance.households.climate_forms import TemperatureField
from maintenance.households.models import DistanceUnit, Household
from maintenance.ui.forms import DayInput, Fieldset, Fold, Layout
from maintenance.ui.number_fields import MeasureField, NumberField
from maintenance.ui.words import currency_symbol, day_words

from .gate import Figure
from .gate_forms import GatedForm, MeterField
from .models import (
    TRAILERS,
    Meter,
    MeterKind,
    MeterUnit,
    Rig,
    RigKind,
    RigPhoto,
    Stay,
    VolumeUnit,
    WheelLayout,
)
from .not_towed import towed_since
from .queries import meters_asked, meters_shown
from .runs import DAY, logged_words


def usual_volume_unit(household: Household) -> VolumeUnit:
    """Who counts miles buys gallons."""
    miles = household.distance_unit == DistanceUnit.MILES
    return VolumeUnit.GALLONS if miles else VolumeUnit.LITERS


TRAILER_LAYOUTS = {
    WheelLayout.TRAILER_ONE,
    WheelLayout.TRAILER_TWO,
    WheelLayout.TRAILER_THREE,
}
CARRIED_LAYOUTS = {WheelLayout.NONE}
DRIVEN_LAYOUTS = set(WheelLayout) - TRAILER_LAYOUTS - CARRIED_LAYOUTS


def layouts_of(kind: str) -> set[WheelLayout]:
    """The wheels that a kind of rig can stand on."""
    if kind == RigKind.TRUCK_CAMPER:
        return CARRIED_LAYOUTS
    return TRAILER_LAYOUTS if kind in TRAILERS else DRIVEN_LAYOUTS


class RigForm(forms.ModelForm):
    upload = forms.FileField(
        label="Photo",
        required=False,
        help_text=(
            "JPEG, PNG, WebP or HEIC, up to 20 MB. Location and camera data "
            "are removed."
        ),
        widget=forms.FileInput(attrs={"accept": "image/*,.heic,.heif"}),
    )
    drop_photo = forms.BooleanField(label="Remove photo", required=False)

    class Meta:
        model = Rig
        fields = [
            "name",
            "kind",
            "wheels",
            "dual_nuts",
            "in_service_on",
            "make",
            "model",
            "year",
            "vin",
            "plate",
        ]
        widgets = {"in_service_on": DayInput}
        help_texts = {
            "name": "What you call it, like “Bramble”.",
            "dual_nuts": (
                "Dual wheels only: look at a rear wheel stud. Blank if unsure."
            ),
            "in_service_on": ("First day of use, by any owner. A guess is fine."),
        }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.layout = Layout(
            Fieldset("Rig", "name", "kind", "wheels", "dual_nuts", "in_service_on"),
            Fieldset("If you have it handy", "make", "model", "year", "vin", "plate"),
            Fieldset("Photo", "upload", "drop_photo"),
        )
        if not RigPhoto.objects.filter(rig=self.instance.pk).exists():
            del self.fields["drop_photo"]
            self.layout[-1] = Fieldset("Photo", "upload")

    def clean_year(self) -> int | None:
        year: int | None = self.cleaned_data["year"]
        if year is not None and not 1900 <= year <= 2100:
            raise forms.ValidationError("Enter the year in full, like 2016.")
        return year

    def clean_vin(self) -> str:
        return self.cleaned_data["vin"].upper().strip()

    def clean(self):
        data = super().clean()
        kind, wheels = data.get("kind"), data.get("wheels")
        if kind and wheels and wheels not in layouts_of(kind):
            self.add_error(
                "wheels", "These wheels don't go with this kind of rig. Choose others."
            )
        return data


class NewRigForm(RigForm):
    """With its meters, so that distance and hours can count from the first day."""

    distance_unit = forms.ChoiceField(label="Distance in", choices=DistanceUnit.choices)
    odometer = MeasureField(
        label="Odometer today",
        unit="mi",
        required=False,
        help_text="Not for trailers: their trips count instead.",
    )
    engine_hours = MeasureField(
        label="Engine hour meter today",
        unit="h",
        required=False,
        help_text="Leave blank if it has none.",
    )
    generator_hours = MeasureField(
        label="Generator hour meter today",
        unit="h",
        required=False,
        help_text="Leave blank if it has none.",
    )

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.layout.append(
            Fieldset(
                "Meters",
                "distance_unit",
                "odometer",
                "engine_hours",
                "generator_hours",
            )
        )
        self.fields["odometer"].unit = self.data.get(
            "distance_unit", self.initial.get("distance_unit", "mi")
        )

    def clean(self):
        data = super().clean()
        kind = data.get("kind")
        if not kind:
            return data
        missing = data.get("odometer") is None and "odometer" not in self.errors
        if kind not in TRAILERS and missing:
            self.add_error(
                "odometer", "Enter what the odometer shows today, like 42310."
            )
        if kind in TRAILERS and data.get("odometer") is not None:
            self.add_error(
                "odometer",
                "A trailer has no odometer. Leave this blank; its trips count instead.",
            )
        return data

    def rig(self) -> dict:
        return {name: self.cleaned_data[name] for name in RigForm.Meta.fields}

    def meters(self) -> list[dict]:
        """Each meter with the value that it shows today."""
        data, unit = self.cleaned_data, self.cleaned_data["distance_unit"]
        if data["kind"] in TRAILERS:
            found = [(MeterKind.TOWED, unit, None)]
        else:
            found = [(MeterKind.ODOMETER, unit, data["odometer"])]
        for kind in (MeterKind.ENGINE, MeterKind.GENERATOR):
            value = data.get(f"{kind}_hours")
            if value is not None:
                found.append((kind, "h", value))
        return [{"kind": k, "unit": u, "today_value": v} for k, u, v in found]


def _unit_of_meter(form: forms.Form, rig: Rig) -> str:
    """That of the meter chosen; until one is, of the first."""
    chosen = str(form.data.get("meter") or form.initial.get("meter") or "")
    meters = {str(meter.pk): meter.unit for meter in rig.meters.all()}
    return meters.get(chosen) or next(iter(meters.values()), "mi")


class AsksWhenItLeft(forms.Form):
    """Asks when the rig left storage, once something shows that it has."""

    asks_left = False

    def add_left(self, *, may_be_still: bool = False) -> None:
        """After the layout was made."""
        self.fields["left_on"] = forms.DateField(
            label="Left storage on", widget=DayInput, required=False
        )
        if may_be_still:
            self.fields["still"] = forms.BooleanField(
                label="It's still in storage: it was only moved there", required=False
            )
        if any(self.data.get(self.add_prefix(name)) for name in LEFT):
            self._ask_left()

    def _ask_left(self) -> None:
        if not self.asks_left:
            self.layout.insert(0, Fieldset("Out of storage", *self._left()))
        self.asks_left = True

    def _left(self) -> list[str]:
        return [name for name in LEFT if name in self.fields]

    def add_error(self, field, error) -> None:
        if field in LEFT:
            self._ask_left()
        super().add_error(field, error)


class LeftForm(forms.Form):
    left_on = forms.DateField(label="Left storage on", widget=DayInput)


LEFT = ("left_on", "still")


class MeterOrLogField(forms.ModelChoiceField):
    """A meter, or the log of what has none."""

    def label_from_instance(self, obj: Meter) -> str:
        return "Generator hours that day" if obj.by_runs else str(obj)


class ReadingForm(AsksWhenItLeft, GatedForm):
    """One reading, at a fuel stop with the fuel if wanted. A doubtful one is asked
    about once before it is stored."""

    meter = MeterOrLogField(
        label="Meter", queryset=Meter.objects.none(), empty_label=None
    )
    value = MeasureField(label="Reading", unit="mi")
    on = forms.DateField(label="On", widget=DayInput)
    volume = MeasureField(label="Fuel added", unit="gal", step="0.001", required=False)
    price = NumberField(
        label="Total paid",
        min_value=0,
        max_digits=10,
        decimal_places=2,
        required=False,
    )
    full = forms.BooleanField(
        label="Filled up",
        required=False,
        help_text="Mileage is figured from one full tank to the next.",
    )

    def __init__(self, *args, rig: Rig, **kwargs):
        super().__init__(*args, **kwargs)
        meters = (
            rig.meters.exclude(kind=MeterKind.TOWED)
            if not rig.is_trailer
            else (rig.meters.all())
        )
        self.fields["meter"].queryset = meters
        self.fields["value"].unit = _unit_of_meter(self, rig)
        self._name_value(rig, meters)
        self.fields["value"].widget.attrs["data-focus"] = ""
        if len(meters) == 1:
            self.fields["meter"].initial = meters[0].pk
            self.fields["meter"].widget = forms.HiddenInput()
        self.layout = Layout("meter", "value", "on")
        self._with_fuel(rig, meters)
        self.add_left(may_be_still=True)

    def _name_value(self, rig: Rig, meters: Iterable[Meter]) -> None:
        """Where no meter counts what is towed, the miles since are asked for."""
        chosen = str(self.data.get("meter") or self.initial.get("meter") or "")
        for meter in meters:
            if meter.by_trips and chosen in {"", str(meter.pk)}:
                since = day_words(towed_since(rig))
                field = self.fields["value"]
                field.label = f"Distance towed since {since} ({meter.unit})"
                field.help_text = "Leave out miles that trips already count."
                return
            if meter.by_runs and chosen in {"", str(meter.pk)}:
                field = self.fields["value"]
                field.label = "Hours run that day"
                field.help_text = f"No hour meter: {logged_words(meter)}."
                return

    def _with_fuel(self, rig: Rig, meters: Iterable[Meter]) -> None:
        """Fuel goes by the odometer; what has none, burns none."""
        names = ("volume", "price", "full")
        if not any(meter.kind == MeterKind.ODOMETER for meter in meters):
            for name in names:
                del self.fields[name]
            return
        unit = usual_volume_unit(rig.household)
        self.fields["volume"].unit = unit
        self.fields["volume"].label = f"Fuel added ({VolumeUnit(unit).label})"
        symbol = currency_symbol(rig.household.currency)
        self.fields["price"].label = f"Total paid ({symbol})"
        self.initial.setdefault("full", True)
        self.layout.append(Fold("At a fuel stop", *names, now="fuel and price"))

    def clean(self):
        data = super().clean()
        if data.get("price") is not None and not data.get("volume"):
            self.add_error("volume", "Enter how much fuel this price was for.")
        meter = data.get("meter")
        if data.get("volume") and meter and meter.kind != MeterKind.ODOMETER:
            self.add_error("meter", "Enter the odometer reading along with the fuel.")
        return data

    def figure(self, today: date) -> Figure:
        data = self.cleaned_data
        asked = [MeterField("value", data["meter"], data["on"])]
        return self.figures(asked, today=today)["value"]


class RunForm(forms.Form):
    hours = MeasureField(label="Hours run", unit="h")
    on = forms.DateField(label="On", widget=DayInput)

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields[
            "hours"
        ].help_text = f"At most {DAY} h a day. Enter each day separately."
        self.fields["hours"].widget.attrs["data-focus"] = ""


class NotTowedForm(forms.Form):
    since = forms.DateField(label="Not towed since", widget=DayInput)


class HubForm(forms.Form):
    on = forms.DateField(label="Installed on", widget=DayInput)
    value = MeasureField(label="Reading then", unit="mi")

    def __init__(self, *args, rig: Rig, **kwargs):
        super().__init__(*args, **kwargs)
        meter = rig.meters.filter(kind=MeterKind.TOWED).first()
        self.fields["value"].unit = meter.unit if meter else "mi"


class ReplacementForm(GatedForm):
    meter = forms.ModelChoiceField(label="Meter", queryset=Meter.objects.none())
    on = forms.DateField(label="Replaced on", widget=DayInput)
    old_final = MeasureField(label="Old meter's last reading", unit="mi")
    new_start = MeasureField(label="New meter's first reading", unit="mi")

    def __init__(self, *args, rig: Rig, **kwargs):
        super().__init__(*args, **kwargs)
        shown = [meter.pk for meter in meters_asked(rig)]
        self.fields["meter"].queryset = rig.meters.filter(pk__in=shown)
        for name in ("old_final", "new_start"):
            self.fields[name].unit = _unit_of_meter(self, rig)

    def meant(self, today: date) -> dict[str, Decimal]:
        """What the old meter last showed; that of the new one is compared with nothing,
        since nothing came before it."""
        data = self.cleaned_data
        asked = [MeterField("old_final", data["meter"], data["on"])]
        found = self.figures(asked, today=today, fact="replacement", needed=True)
        return {name: one.value for name, one in found.items()}


class MeterForm(forms.Form):
    kind = forms.ChoiceField(label="Meter", choices=MeterKind.choices)
    unit = forms.ChoiceField(label="Unit", choices=MeterUnit.choices)
    value = MeasureField(label="Reading today", unit="h")

    def __init__(self, *args, rig: Rig, **kwargs):
        super().__init__(*args, **kwargs)
        has = {meter.kind for meter in meters_shown(rig)}
        self.fields["kind"].choices = [c for c in MeterKind.choices if c[0] not in has]
        self.fields["value"].unit = self.data.get("unit") or "h"


class StayForm(AsksWhenItLeft, forms.ModelForm):
    """Temperatures are in the household's unit; those left empty are taken from its
    figures by month, where it gave them."""

    class Meta:
        model = Stay
        fields = [
            "start",
            "planned_until",
            "place",
            "roofed",
            "has_power",
            "usual",
            "lowest",
            "humidity",
            "water",
            "batteries",
            "notes",
        ]
        widgets = {
            "start": DayInput,
            "planned_until": DayInput,
            "notes": forms.Textarea(attrs={"rows": 3}),
        }
        labels = {
            "has_power": "Shore power at the site",
            "water": "Protected from freezing",
            "batteries": "Batteries",
            "humidity": "Usual humidity (%)",
        }
        help_texts = {"planned_until": "Leave blank if you don't know yet."}

    def __init__(self, *args, rig: Rig, **kwargs):
        super().__init__(*args, **kwargs)
        self.household = rig.household
        unit = self.instance.temperature_unit
        if not self.instance.pk:
            unit = self.household.temperature_unit
        self.unit = unit
        for name, label in (
            ("usual", "Usual temperature there (%(unit)s)"),
            ("lowest", "Lowest temperature there (%(unit)s)"),
        ):
            self.fields[name] = TemperatureField(
                label=label % {"unit": unit}, unit=unit, required=False
            )
        self.fields[
            "usual"
        ].help_text = "Leave blank to use your months' figures (Household)."
        self.layout = Layout(
            Fieldset("When and where", "start", "planned_until", "place"),
            Fieldset(
                "At the site",
                "roofed",
                "has_power",
                "usual",
                "lowest",
                "humidity",
            ),
            Fieldset("Water and batteries", "water", "batteries"),
            "notes",
        )
        if self.instance.pk is None:
            self.add_left()

    def clean(self):
        data = super().clean()
        start, until = data.get("start"), data.get("planned_until")
        if start and until and until < start:
            self.add_error(
                "planned_until", "The end is before the start. Enter a later end."
            )
        elif start:
            self._take_from_months(data, start, until)
        return data

    def _take_from_months(self, data, start: date, until: date | None) -> None:
        """Five months where no end is known: a winter, common practice."""
        end = until or start + min(timedelta(days=150), date.max - start)
        lowest, usual = expected_between(self.household, start, end)
        data["temperature_unit"] = self.unit
        for name, figure in (("lowest", lowest), ("usual", usual)):
            if (
                data.get(name) is None
                and name not in self.errors
                and figure is not None
            ):
                data[name] = convert(figure, self.household.climate_unit, self.unit)
                data[name] = data[name].quantize(Decimal("0.1"))


class SevereDutyForm(forms.Form):
    start = forms.DateField(label="From", widget=DayInput)
    end = forms.DateField(label="To", widget=DayInput, required=False)
    why = forms.CharField(
        label="Why",
        max_length=120,
        required=False,
        help_text="Like mountain towing, dust, heat, many short runs",
    )


class SellForm(forms.Form):
    on = forms.DateField(label="Sold on", widget=DayInput)
