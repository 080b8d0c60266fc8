"""Fields that few need: folded, and open once there is something in them."""

from django import forms

from maintenance.ui.forms import Fieldset, Fold, Layout


class Reading(forms.Form):
    value = forms.IntegerField()
    fuel = forms.IntegerField(required=False)
    full = forms.BooleanField(required=False, initial=True)

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.layout = Layout(
            Fieldset("Meter", "value"), Fold("Fuel", "fuel", "full", now="and price")
        )


def test_fold_says_what_it_holds_and_is_closed_until_needed():
    shown = str(Reading())

    assert '<details class="fold sheet-fold">' in shown
    assert '<span class="now">and price</span>' in shown
    assert 'name="fuel"' in shown


def test_fold_is_open_with_what_was_entered_and_with_what_is_wrong():
    opened = '<details class="fold sheet-fold" open>'

    assert opened in str(Reading(initial={"fuel": 30}))
    assert opened in str(Reading({"value": "1", "fuel": "30"}))
    assert opened in str(Reading({"value": "1", "fuel": "much"}))
    assert opened not in str(Reading({"value": "1", "fuel": ""}))
