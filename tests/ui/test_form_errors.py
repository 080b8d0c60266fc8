"""Forms that come back: everything wrong is said, at the top and at its field."""

import re

import pytest
from django import forms
from django.template.loader import render_to_string

from maintenance.ui.forms import DayInput, Fieldset, Layout, problems


class Work(forms.Form):
    on = forms.DateField(label="Done on", widget=DayInput())
    odometer = forms.IntegerField(label="Odometer", help_text="As the dash shows it.")
    who = forms.ChoiceField(
        label="By", choices=[("a", "Us"), ("b", "A shop")], widget=forms.RadioSelect
    )
    wheels = forms.MultipleChoiceField(
        label="Wheels", choices=[("LF", "LF")], widget=forms.CheckboxSelectMultiple
    )
    token = forms.CharField(widget=forms.HiddenInput())

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.layout = Layout(Fieldset("Work", "on", "odometer", "who", "wheels"))

    def clean(self):
        raise forms.ValidationError("Logged an hour ago by Wren. Is it one job?")


class Line(forms.Form):
    torque = forms.IntegerField(label="Torque")

    def clean(self):
        raise forms.ValidationError("A line without its work.")


LINES = {"form-TOTAL_FORMS": "1", "form-INITIAL_FORMS": "0", "form-0-torque": "abc"}
LineSet = forms.formset_factory(Line)


@pytest.fixture
def page() -> str:
    form, formset = Work({"odometer": "4239x"}), LineSet(LINES)
    html = render_to_string("ui/form.html", {"form": form, "formset": formset})
    return html + str(formset.forms[0])


def test_problems_come_in_the_order_of_the_page_with_the_lines_last():
    found = problems(Work({}), LineSet(LINES))
    assert [problem.label for problem in found] == [
        "",
        "Done on",
        "Odometer",
        "By",
        "Wheels",
        "",
        "",
        "Line 1, Torque",
    ]
    assert found[-2].text == "Line 1: A line without its work."


def test_a_form_not_sent_yet_has_no_problems():
    assert problems(Work(), LineSet()) == []


def test_a_hidden_field_is_named_by_no_link():
    hidden = problems(Work({}))[-1]
    assert (hidden.label, hidden.field_id) == ("", "")


def test_every_link_of_the_list_leads_to_a_field(page):
    links = re.findall(r'<a href="#(id_[^"]+)"', page)
    assert len(links) == 5
    assert all(f'id="{link}"' in page for link in links)


def test_every_description_of_a_field_is_on_the_page(page):
    described = " ".join(re.findall(r'aria-describedby="([^"]+)"', page)).split()
    assert len(described) >= 5
    assert all(f'id="{name}"' in page for name in described)


def test_ids_are_used_once(page):
    ids = re.findall(r'\sid="([^"]+)"', page)
    assert sorted(ids) == sorted(set(ids))


def test_what_belongs_to_no_field_is_said_once(page):
    assert page.count("Is it one job?") == 1


def test_what_was_typed_is_still_there(page):
    assert 'value="4239x"' in page
    assert "data-bound" in page


def test_a_fresh_form_is_offered_what_was_kept():
    page = render_to_string("ui/form.html", {"form": Work()})
    assert "data-keep" in page
    assert "data-bound" not in page
    assert "note-error" not in page


def test_a_day_is_given_as_browsers_want_it():
    assert 'value="2026-05-04"' in DayInput().render("on", "2026-05-04")
