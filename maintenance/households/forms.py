"""Forms of the household pages."""

import zoneinfo

from django import forms
from django.contrib.auth.forms import AuthenticationForm
from django.utils.dates import WEEKDAYS

from maintenance.ui import local
from maintenance.ui.forms import Fieldset, Layout
from maintenance.ui.words import currency_name, hour_words, season_words

from .member_forms import PERSON, PersonFields
from .models import DistanceUnit, Household, Member, SeasonsBy

TOLD = [
    ("safety", "Safety, right away"),
    ("overdue", "Overdue"),
    ("due", "Due"),
    ("book", "Time to book a shop"),
    ("heads_up", "Coming"),
]
LOCAL_FORM = "Sets dates, clock, first day of the week, paper and emergency number."


def hours() -> list[tuple[int, str]]:
    return [(hour, hour_words(hour)) for hour in range(24)]


def weekdays() -> list[tuple[int, str]]:
    return [(day, str(WEEKDAYS[day])) for day in local.weekdays()]


def zone_choices() -> list[tuple[str, str]]:
    names = sorted(z for z in zoneinfo.available_timezones() if "/" in z)
    return [(name, name.replace("_", " ")) for name in names]


def currency_choices(also: str = "") -> list[tuple[str, str]]:
    """What the countries pay with, by name; and `also`, which one pays with now."""
    codes = {*local.currencies(), *filter(None, [also])}
    named = sorted((currency_name(code), code) for code in codes)
    return [(code, f"{name[:1].upper()}{name[1:]}") for name, code in named]


class LoginForm(AuthenticationForm):
    error_messages = {
        **AuthenticationForm.error_messages,
        "invalid_login": (
            "That login name and password don't match. Check capital letters, then "
            "try again."
        ),
        "inactive": "This login is closed. Ask a keeper of the household.",
    }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["username"].label = "Login name"


class FirstRunForm(PersonFields):
    household = forms.CharField(
        label="Household name",
        max_length=80,
        help_text="Shown at the top of every page and print.",
    )
    country = forms.ChoiceField(
        label="Country", choices=local.country_choices, help_text=LOCAL_FORM
    )
    timezone = forms.ChoiceField(
        label="Time zone", choices=zone_choices, initial="America/Denver"
    )
    distance_unit = forms.ChoiceField(
        label="Distances in", choices=DistanceUnit.choices
    )
    currency = forms.ChoiceField(
        label="Currency", choices=currency_choices, initial="USD"
    )

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.layout = Layout(
            Fieldset("You", *PERSON),
            Fieldset(
                "Household",
                "household",
                "country",
                "timezone",
                "distance_unit",
                "currency",
            ),
        )

    def founding(self) -> dict:
        """The arguments of `found_household`."""
        data = dict(self.cleaned_data)
        keeper = {field: data.pop(field) for field in PERSON if field in data}
        return {"name": data.pop("household"), "keeper": keeper, **data}


class HouseholdForm(forms.ModelForm):
    country = forms.ChoiceField(
        label="Country", choices=local.country_choices, help_text=LOCAL_FORM
    )
    timezone = forms.ChoiceField(label="Time zone", choices=zone_choices)
    currency = forms.ChoiceField(label="Currency", choices=currency_choices)

    class Meta:
        model = Household
        fields = [
            "name",
            "country",
            "timezone",
            "distance_unit",
            "currency",
            "spring_from",
            "spring_to",
            "autumn_from",
            "autumn_to",
            "horizon_days",
            "shop_wait_days",
        ]
        labels = {"horizon_days": "Show as coming (days ahead)"}

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.layout = Layout(
            Fieldset(
                "Household",
                "name",
                "country",
                "timezone",
                "distance_unit",
                "currency",
            ),
            Fieldset(
                "Seasons (month and day)",
                "spring_from",
                "spring_to",
                "autumn_from",
                "autumn_to",
            ),
            Fieldset("Looking ahead", "horizon_days", "shop_wait_days"),
        )
        self.fields["horizon_days"].min_value = 1
        self.fields["currency"].choices = currency_choices(self.instance.currency)
        autumn = season_words("autumn").capitalize()
        self.fields["autumn_from"].label = f"{autumn} from"
        self.fields["autumn_to"].label = f"{autumn} to"

    def clean(self):
        """Season days typed here are the household's own, whatever they went by."""
        typed = {"spring_from", "spring_to", "autumn_from", "autumn_to"}
        if typed & set(self.changed_data):
            self.instance.seasons_by = SeasonsBy.OWN
            self.instance.cold_from = self.instance.cold_to = ""
        return super().clean()


class MyselfForm(forms.ModelForm):
    email = forms.EmailField(label="Email address", required=False)
    digest_hour = forms.TypedChoiceField(
        label="Send email at", choices=hours, coerce=int
    )
    quiet_days = forms.TypedMultipleChoiceField(
        label="No daily email on",
        choices=weekdays,
        coerce=int,
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text="Safety reminders still come right away on these days.",
    )
    distance_unit = forms.ChoiceField(
        label="Distances in email and calendar",
        choices=[("", "Same as household"), *DistanceUnit.choices],
        required=False,
        help_text=("A meter in the other unit is shown in both."),
    )
    told_stages = forms.MultipleChoiceField(
        label="Remind me about",
        choices=TOLD,
        widget=forms.CheckboxSelectMultiple,
        help_text="Keepers and crew always hear what makes a rig unfit to travel.",
        error_messages={"required": "Tick at least one, or turn email off above."},
    )
    told_rigs = forms.TypedMultipleChoiceField(
        label="For these rigs",
        coerce=int,
        widget=forms.CheckboxSelectMultiple,
        help_text="With all ticked, rigs you add later are included.",
        error_messages={"required": "Tick at least one, or turn email off above."},
    )

    class Meta:
        model = Member
        fields = [
            "name",
            "wants_mail",
            "digest_hour",
            "quiet_days",
            "distance_unit",
            "told_stages",
        ]
        labels = {"wants_mail": "Email me reminders"}

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["email"].initial = self.instance.user.email
        self._offer_rigs()
        self.layout = Layout(
            "name",
            Fieldset("Email", "email", "wants_mail", "digest_hour", "quiet_days"),
            Fieldset("Reminders", "told_stages", "told_rigs", "distance_unit"),
        )

    def _offer_rigs(self) -> None:
        rigs = self.instance.household.rigs.filter(sold_on__isnull=True)
        choices = list(rigs.order_by("name").values_list("pk", "name"))
        if len(choices) < 2:
            del self.fields["told_rigs"]
            return
        told = self.instance.told_rigs
        self.fields["told_rigs"].choices = choices
        self.fields["told_rigs"].initial = told or [pk for pk, _name in choices]

    def clean_quiet_days(self) -> list[int]:
        days = self.cleaned_data["quiet_days"]
        if len(days) == len(WEEKDAYS):
            raise forms.ValidationError(
                "That leaves no day. For no email at all, turn it off above."
            )
        return days

    def clean_told_rigs(self) -> list[int] | None:
        """All of them: nothing is left out, also none that comes later."""
        rigs = self.cleaned_data["told_rigs"]
        return None if len(rigs) == len(self.fields["told_rigs"].choices) else rigs
