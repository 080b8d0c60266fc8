"""From the work sheet into the record, through the pages."""

from decimal import Decimal
from uuid import uuid4

import pytest
from django.urls import reverse
from django.utils import timezone

from maintenance.households.models import Role
from maintenance.library.reading import load_library
from maintenance.plans.services import take_on
from maintenance.service_records.models import ServiceRecord
from maintenance.supplies.models import Supply, Tool
from maintenance.work_sheets.forms.work_sheet import step_field
from maintenance.work_sheets.kept import keep, kept_of
from maintenance.work_sheets.needs import use_supply
from tests import builders
from tests.builders import TODAY

KEYS = ["lug_recheck", "battery_rest_volts", "pump_strainer", "registration_renewal"]


@pytest.fixture
def crew(db):
    return builders.make_member(role=Role.CREW)


@pytest.fixture
def rig(crew):
    keeper = builders.make_member(crew.household)
    rig = builders.make_rig(crew.household)
    take_on(rig, by=keeper, today=TODAY, keys=KEYS)
    return rig


@pytest.fixture
def browser(crew, client_as):
    return client_as(crew)


def item(rig, key):
    return rig.plan_items.get(key=key)


def fill(rig, by, key, **entries):
    for field, value in entries.items():
        keep(item(rig, key), by=by, now=timezone.now(), field=field, value=value)


def page_url(rig, key):
    return reverse("record_work", args=[rig.pk]) + f"?item={item(rig, key).pk}"


def forms_of(browser, rig, key):
    return browser.get(page_url(rig, key)).context["forms"]


def post(browser, rig, key, outcome="done", **more):
    data = {
        "form_token": str(uuid4()),
        "on": rig.household.today().isoformat(),
        "done_by": "member",
        "doer": "Mara",
        "lines-TOTAL_FORMS": 1,
        "used-TOTAL_FORMS": 0,
        "used-INITIAL_FORMS": 0,
        "lines-INITIAL_FORMS": 1,
        "lines-0-item": item(rig, key).pk,
        "lines-0-outcome": outcome,
        "wheels-unit": "ft·lbf",
    }
    return browser.post(page_url(rig, key), data | more)


def test_values_and_notes_of_the_sheet_stand_in_the_form(browser, rig, crew):
    fill(rig, crew, "battery_rest_volts", m_rested_voltage="12.7", note="at rest")

    forms = forms_of(browser, rig, "battery_rest_volts")

    assert forms.measures["m_rested_voltage"].value() == "12.7"
    assert forms.record["notes"].value() == "at rest"
    assert forms.lines[0]["outcome"].value() == "done"


def test_value_outside_its_limit_makes_it_a_fault_until_somebody_says_otherwise(
    browser, rig, crew
):
    fill(rig, crew, "battery_rest_volts", m_rested_voltage="12.1")

    forms = forms_of(browser, rig, "battery_rest_volts")

    assert forms.lines[0]["outcome"].value() == "fault_found"
    said = "rested voltage 12.1 V: below the 12.4 V limit"
    assert forms.lines[0]["note"].value() == said
    page = browser.get(page_url(rig, "battery_rest_volts")).content.decode()
    assert f"Outside its limit:</strong> {said}" in page


def test_torque_below_the_figure_makes_it_a_fault(browser, rig, crew):
    fill(rig, crew, "lug_recheck", figure="110", m_torque_LF="90")

    note = forms_of(browser, rig, "lug_recheck").lines[0]["note"].value()

    assert note == "torque LF 90: below the specified 110 ft·lbf"


def test_lug_work_fills_the_wheels_and_names_the_wrench_that_fits(browser, rig, crew):
    for name, reach in (("Long one", 150), ("Short one", 80)):
        Tool.objects.create(
            household=crew.household,
            kind="torque_wrench",
            name=name,
            drive="1/2",
            unit="ft·lbf",
            full_scale=reach,
        )
    entries = {"figure": "110", "origin": "invoice", "m_torque_LF": "110"}
    fill(rig, crew, "lug_recheck", moved_RF="on", **entries)

    forms = forms_of(browser, rig, "lug_recheck")

    values = {
        name: forms.wheels[name].value()
        for name in ("figure", "origin", "reached_LF", "moved_RF", "tool")
    }
    assert values == {
        "figure": "110",
        "origin": "invoice",
        "reached_LF": "110",
        "moved_RF": True,
        "tool": Tool.objects.get(name="Long one").pk,
    }
    assert not forms.measures.fields


def test_record_keeps_values_and_ticks_and_clears_the_sheet(browser, rig, crew):
    steps = load_library().procedures["battery_rest_volts"].steps
    ticks = {step_field(steps[0]): "on"}
    fill(rig, crew, "battery_rest_volts", m_rested_voltage="12.7", **ticks)

    answer = post(
        browser, rig, "battery_rest_volts", **{"measured-m_rested_voltage": "12.65"}
    )

    text = browser.get(answer["Location"].removesuffix("saved/")).content.decode()
    assert "Rested voltage: 12.65 V" in text
    assert f"1 of {len(steps)} steps ticked." in text
    assert kept_of(item(rig, "battery_rest_volts"), timezone.now()) == {}


def test_wrong_value_is_said_at_its_field_and_nothing_is_recorded(browser, rig):
    answer = post(
        browser, rig, "battery_rest_volts", **{"measured-m_rested_voltage": "full"}
    )

    forms = answer.context["forms"]
    assert "t a number" in str(forms.measures.errors["m_rested_voltage"])
    assert 'href="#id_measured-m_rested_voltage"' in answer.content.decode()
    assert not ServiceRecord.objects.exists()


def test_values_of_a_job_that_was_taken_off_the_form_are_asked_about(browser, rig):
    other = item(rig, "pump_strainer").pk

    answer = post(
        browser,
        rig,
        "battery_rest_volts",
        **{"measured-m_rested_voltage": "12.7", "lines-0-item": other},
    )

    assert "among the jobs" in answer.content.decode()
    assert not ServiceRecord.objects.exists()


def test_new_date_of_a_paper_counts_from_the_record_on(browser, rig):
    today = rig.household.today()
    expires = today.replace(year=today.year + 1, day=28).isoformat()

    post(browser, rig, "registration_renewal", **{"measured-expires": expires})

    window = item(rig, "registration_renewal").standing.result["window"]
    assert window["closes"] == expires


@pytest.fixture
def gasket(rig, crew):
    supply = Supply.objects.create(household=crew.household, name="Gasket", stock=2)
    use_supply(item(rig, "pump_strainer"), by=crew, supply=supply, amount=Decimal(1))
    return supply


def test_what_the_job_uses_is_offered_and_taken_out(browser, rig, gasket):
    field = f"take_{gasket.pk}"
    forms = forms_of(browser, rig, "pump_strainer")
    assert forms.supplies[field].value() == "1"

    answer = post(browser, rig, "pump_strainer", **{f"supplies-{field}": "1"})

    gasket.refresh_from_db()
    assert gasket.stock == 1
    assert (
        "1 piece: Gasket"
        in browser.get(answer["Location"].removesuffix("saved/")).content.decode()
    )


def test_what_another_job_uses_is_offered_without_an_amount(browser, rig, gasket):
    forms = forms_of(browser, rig, "battery_rest_volts")

    assert forms.supplies[f"take_{gasket.pk}"].value() is None


def test_more_than_is_there_is_said_at_the_field(browser, rig, gasket):
    field = f"take_{gasket.pk}"

    answer = post(browser, rig, "pump_strainer", **{f"supplies-{field}": "3"})

    error = str(answer.context["forms"].supplies.errors[field])
    assert "2 pieces in stock, but this job uses 3 pieces" in error
    assert not ServiceRecord.objects.exists()


def test_nothing_is_taken_where_nothing_is_entered(browser, rig, gasket):
    post(browser, rig, "pump_strainer", **{f"supplies-take_{gasket.pk}": ""})

    gasket.refresh_from_db()
    assert gasket.stock == 2
