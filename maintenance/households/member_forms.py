"""Forms of people: joining, passwords, roles."""

from typing import Any

from django import forms
from django.contrib.auth import authenticate
from django.http import HttpRequest

from .models import Member, Role
from .passwords import HINT, check_password
from .refusals import Refused

PERSON = ("name", "username", "email", "password", "again")


def password_field(label: str, *, new: bool = True, hint: str = "") -> forms.CharField:
    """Taken to the letter, and never sent back with a page."""
    filled = "new-password" if new else "current-password"
    return forms.CharField(
        label=label,
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": filled}),
        help_text=hint,
    )


class NewPassword(forms.Form):
    password = password_field("Password", hint=HINT)
    again = password_field("Password again")

    def clean_password(self) -> str:
        """Also here, so that all is said at once; the service knows whose it is."""
        try:
            check_password(self.cleaned_data["password"])
        except Refused as refusal:
            raise forms.ValidationError(refusal.text) from None
        return self.cleaned_data["password"]

    def clean(self) -> dict[str, Any]:
        """What is not alike is asked for at its field; `again` says nothing more."""
        data = super().clean() or {}
        again = data.pop("again", None)
        if again is not None and again != data.get("password", again):
            self.add_error("again", "The two passwords don't match. Type both again.")
        return data


class ChangePasswordForm(NewPassword):
    field_order = ("old", "password", "again")
    old = password_field("Current password", new=False)

    def __init__(self, *args: Any, request: HttpRequest, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.request = request
        self.fields["password"].label = "New password"
        self.fields["again"].label = "New password again"

    def clean_old(self) -> str:
        """By way of the login, which counts the tries that fail."""
        old = self.cleaned_data["old"]
        name = self.request.user.get_username()
        if authenticate(self.request, username=name, password=old) is None:
            raise forms.ValidationError("That's not your password. Type it again.")
        return old


class PersonFields(NewPassword):
    """A new person: how they log in and where mail reaches them."""

    field_order = PERSON
    name = forms.CharField(label="Name", max_length=80)
    username = forms.CharField(
        label="Login name",
        max_length=150,
        widget=forms.TextInput(attrs={"autocomplete": "username"}),
    )
    email = forms.EmailField(
        label="Email address",
        required=False,
        help_text="For reminders. Leave blank for none.",
    )


class InviteForm(forms.Form):
    name = forms.CharField(label="Who is it for?", max_length=80)
    role = forms.ChoiceField(label="Role", choices=Role.choices, initial=Role.CREW)


class RoleForm(forms.Form):
    role = forms.ChoiceField(
        label="Role", choices=Role.choices, widget=forms.RadioSelect
    )


class HandOnForm(forms.Form):
    to = forms.ModelChoiceField(
        label="To",
        queryset=Member.objects.none(),
        empty_label=None,
        widget=forms.RadioSelect,
    )

    def __init__(self, *args: Any, founder: Member, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        others = Member.objects.for_household(founder.household).present()
        keepers = others.filter(role=Role.KEEPER).exclude(pk=founder.pk)
        field: Any = self.fields["to"]
        field.queryset = keepers
