"""The forms behind the links of a mail, and of how mail is set up."""

import re
from datetime import date
from email.utils import parseaddr
from typing import Any

from django import forms
from django.core.validators import validate_email

from maintenance.core.facts import TOW_ODOMETER, TOWED, WHEEL_DISTANCE
from maintenance.core.triggers import parse_triggers
from maintenance.core.words import counted
from maintenance.plans.models import Outcome, PlanItem
from maintenance.plans.queries import procedure_of
from maintenance.service_records.wheels_form import AsksWheels
from maintenance.service_records.wheels_told import wheel_work_in
from maintenance.service_records.work import Line, checks_wheels
from maintenance.ui.forms import DayInput, Layout
from maintenance.ui.number_fields import MeasureField
from maintenance.vehicles.gate import Figure
from maintenance.vehicles.gate_forms import GatedForm, MeterField
from maintenance.vehicles.models import MeterKind
from maintenance.vehicles.queries import meters_asked
from maintenance.vehicles.road import tow_meter_on
from maintenance.vehicles.road_form import tow_field

from .models import CalendarFeed
from .queries import meter_of

OFFERED_DAYS = (1, 2, 3, 7, 14, 30)


def follows_event(item: PlanItem) -> bool:
    rules = parse_triggers(item.triggers, item.key)
    return any(rule.follows() for rule in rules)


class DoneForm(AsksWheels, GatedForm):
    """Work done, at a reading. A reading that does not fit is asked about once, and so
    are the wheels that were off where words tell of them."""

    outcome = forms.ChoiceField(label="How it went", widget=forms.RadioSelect)
    on = forms.DateField(label="Done on", widget=DayInput)
    value = MeasureField(label="It shows", unit="mi")
    shop = forms.CharField(label="Which shop did it?", max_length=80)
    note = forms.CharField(
        label="What did you find?",
        required=False,
        max_length=300,
        help_text="Needed if something wasn't right.",
        widget=forms.Textarea(attrs={"rows": 2}),
    )

    def __init__(self, *args: Any, item: PlanItem, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.meter = meter_of(item, meters_asked(item.rig))
        self.fields["outcome"].choices = self._outcomes(item)
        self.initial.setdefault("outcome", self.fields["outcome"].choices[0][0])
        procedure = procedure_of(item)
        names = ["outcome", "on", "value", "shop", "note"]
        if procedure is None or procedure.who != "shop":
            del self.fields["shop"]
            names.remove("shop")
        self.layout = Layout(*names)
        self._ask_for_value(item)
        self._ask_on_the_road(item)
        self.add_wheels(item.rig)
        usual = wheel_work_in(item.rig, [Line(item.title, item)])
        if usual is not None and usual.surely:
            self.ask_wheels(usual)

    def _ask_for_value(self, item: PlanItem) -> None:
        if self.meter is None:
            del self.fields["value"]
            self.layout.remove("value")
            return
        value = self.fields["value"]
        value.unit = self.meter.unit
        value.label = (
            f"The {self.meter.get_kind_display().lower()} shows ({self.meter.unit})"
        )
        # A follow-up by distance is settled by a figure, not by a guess.
        value.required = self.meter.kind != MeterKind.TOWED and follows_event(item)

    def _ask_on_the_road(self, item: PlanItem) -> None:
        """Towed, a rig's distance is told by the odometer of what tows it."""
        rig = item.rig
        towed = any(
            one.meter in {TOWED, WHEEL_DISTANCE}
            for one in parse_triggers(item.triggers, item.key)
            if getattr(one, "meter", None)
        )
        self.tow = None
        if towed or follows_event(item):
            self.tow = tow_meter_on(rig, rig.household.today())
        if self.tow is None:
            return
        self.fields[f"meter_{TOW_ODOMETER}"] = tow_field(rig, self.tow)
        at = self.layout.index("on") + 1
        self.layout.insert(at, f"meter_{TOW_ODOMETER}")

    @staticmethod
    def _outcomes(item: PlanItem) -> list[tuple[str, str]]:
        good = Outcome.HELD if follows_event(item) else Outcome.DONE
        moved = [Outcome.MOVED] if checks_wheels(item) else []
        found = [good, *moved, Outcome.FAULT_FOUND]
        return [(outcome.value, str(outcome.label)) for outcome in found]

    def at(self, on: date, today: date) -> dict[str, Figure]:
        """What its meter and that of the tow vehicle showed, as it was meant."""
        meters = {"value": self.meter, f"meter_{TOW_ODOMETER}": self.tow}
        asked = [MeterField(name, one, on) for name, one in meters.items() if one]
        return self.figures(asked, today=today, fact="record")

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        if data.get("outcome") == Outcome.FAULT_FOUND and not data.get("note"):
            self.add_error("note", "Enter what's wrong, like “left side leaks”.")
        return data


class LaterForm(forms.Form):
    days = forms.TypedChoiceField(
        label="Remind me again", coerce=int, widget=forms.RadioSelect
    )

    def __init__(self, *args: Any, most: int, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        offered = [n for n in OFFERED_DAYS if n <= most]
        self.fields["days"].choices = [(n, _in_days(n)) for n in offered]
        self.initial.setdefault("days", offered[-1] if most <= 3 else 7)
        self.layout = Layout("days")


def _in_days(n: int) -> str:
    if n == 1:
        return "tomorrow"
    return f"in {counted(n, 'day')}"


class ParkedForm(forms.Form):
    """Answered by one of two buttons."""

    parked = forms.ChoiceField(choices=[("yes", "Yes"), ("no", "No")])


class CalendarForm(forms.Form):
    shows = forms.ChoiceField(
        label="Show",
        choices=CalendarFeed.Shows.choices,
        initial=CalendarFeed.Shows.COMING,
        widget=forms.RadioSelect,
    )
    alarm_days = forms.TypedChoiceField(
        label="Alarm",
        required=False,
        coerce=int,
        empty_value=None,
        choices=[
            ("", "None"),
            (0, "The day the window opens"),
            (1, "The day before it opens"),
            (7, "A week before it opens"),
        ],
        help_text="At the hour your email may start.",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.layout = Layout("shows", "alarm_days")


class MailServerForm(forms.Form):
    """Without a password, the one given before stays."""

    host = forms.CharField(
        label="Outgoing mail server",
        max_length=253,
        help_text="Your provider calls it the SMTP server, like smtp.example.org.",
    )
    tls = forms.ChoiceField(
        label="Encryption",
        choices=[
            ("starttls", "STARTTLS, usually port 587"),
            ("ssl", "TLS from the start, usually port 465"),
            ("off", "None: only for a server on this computer"),
        ],
        initial="starttls",
    )
    port = forms.IntegerField(
        label="Port",
        required=False,
        min_value=1,
        max_value=65535,
        help_text="Leave blank for the usual one.",
    )
    user = forms.CharField(label="Login", required=False, max_length=200)
    password = forms.CharField(
        label="Password",
        required=False,
        strip=False,
        max_length=500,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
        help_text="Leave blank to keep the old one, if only the sender changes.",
    )
    sender = forms.CharField(
        label="Sender",
        max_length=200,
        help_text="Like Our rigs &lt;rigs@example.org&gt;.",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.layout = Layout("host", "tls", "port", "user", "password", "sender")

    def clean_host(self) -> str:
        host = self.cleaned_data["host"]
        if not re.fullmatch(r"[A-Za-z0-9.:_-]+", host) or "//" in host:
            raise forms.ValidationError(
                "Enter only the server's name, like smtp.example.org."
            )
        return host

    def clean_password(self) -> str:
        return self._plain("password")

    def clean_user(self) -> str:
        return self._plain("user")

    def _plain(self, name: str) -> str:
        """SMTP's logins know the letters of ASCII alone."""
        text = self.cleaned_data[name]
        if not text.isascii():
            raise forms.ValidationError(
                "Use only plain letters, digits, and signs here."
            )
        return text

    def clean_sender(self) -> str:
        text = " ".join(self.cleaned_data["sender"].split())
        validate_email(parseaddr(text)[1])
        return text
